// Package larder says how much is left of what a household keeps for its bins
// and when it runs out at the pace at which they use it.
//
// What is left is a gauge (package gauge) whose clock is what was written down
// as used: its rate is how much a use takes compared with what was written, so
// that a look at the box corrects the sums. Where uses are not written down,
// the clock is the days that so much usually lasts.
//
// The pace is a gamma belief: what the bins' own gauges expect, worth a few
// uses, and what was used. It reaches into the future as a clock that is itself
// a forecast.
package larder
