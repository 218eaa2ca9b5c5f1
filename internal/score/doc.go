// Package score says how good forecasts were: scoring rules, reliability,
// coverage, and the rank histogram of simulation-based calibration.
//
// Every score is a penalty: smaller is better and 0 is perfect (an interval
// score is at least the width of its interval). Quantile, interval and CRPS
// scores are in the unit of the outcome (hours for a drying time), the others
// have none. Probabilities lie in 0-1. The rules are those of T. Gneiting and
// A. E. Raftery, "Strictly proper scoring rules, prediction, and estimation",
// J. Am. Stat. Assoc. 102 (2007) 359-378; each is proper: a forecaster can
// only lose by saying anything but what it believes.
//
// Real drying times are only bracketed between two looks. Score them with
// Brier at each look or with IntervalLog, not with CRPS against a midpoint.
//
// A single-number rule given a forecast that is none (a probability outside
// 0-1, a negative spread) answers NaN; those that take slices of unequal
// length panic, because that is a mistake in the program.
package score
