package score

import "math"

// Brier is the squared error of the probability p of something that happened
// or did not, 0-1. A constant p = 0.5 scores 0.25.
func Brier(p float64, happened bool) float64 {
	if !isProbability(p) {
		return math.NaN()
	}
	if happened {
		return (1 - p) * (1 - p)
	}
	return p * p
}

// MeanBrier is the mean of Brier over many calls, NaN for none.
func MeanBrier(calls []Call) float64 {
	sum := 0.0
	for _, c := range calls {
		sum += Brier(c.Probability, c.Happened)
	}
	return sum / float64(len(calls))
}

// BrierCategories is the multi-category Brier score, 0-2: the squared error
// summed over all categories, of which the one at index observed came true.
// With two categories it is twice Brier.
func BrierCategories(p []float64, observed int) float64 {
	if !isDistribution(p) || observed < 0 || observed >= len(p) {
		return math.NaN()
	}
	sum := 0.0
	for i, pi := range p {
		if i == observed {
			pi--
		}
		sum += pi * pi
	}
	return sum
}

// RankedProbability is the ranked probability score of ordered categories
// (dry, damp, wet), 0-1: the squared error of the cumulative probabilities,
// divided by the number of categories less one. Unlike BrierCategories it
// forgives a near miss. It needs at least two categories.
func RankedProbability(p []float64, observed int) float64 {
	if !isDistribution(p) || len(p) < 2 || observed < 0 || observed >= len(p) {
		return math.NaN()
	}
	sum, cumulative := 0.0, 0.0
	for i := range len(p) - 1 {
		cumulative += p[i]
		step := cumulative
		if i >= observed {
			step--
		}
		sum += step * step
	}
	return sum / float64(len(p)-1)
}

// Pinball is the quantile score of q, the forecast's tau-quantile (0 < tau <
// 1), for the outcome x, in the unit of x. At tau = 0.5 it is half the
// absolute error.
func Pinball(tau, q, x float64) float64 {
	if !(tau > 0 && tau < 1) {
		return math.NaN()
	}
	if x >= q {
		return tau * (x - q)
	}
	return (1 - tau) * (q - x)
}

// IntervalWidth is the interval score of the central (1-alpha) interval
// lower-upper for the outcome x, in the unit of x: its width, and 2/alpha
// times the distance by which x lies outside.
func IntervalWidth(lower, upper, alpha, x float64) float64 {
	if !(alpha > 0 && alpha < 1) || !(lower <= upper) {
		return math.NaN()
	}
	return upper - lower + 2/alpha*(math.Max(0, lower-x)+math.Max(0, x-upper))
}

// Log is the logarithmic score -ln p of the probability p that was given to
// what came true. It is +Inf where that was called impossible.
func Log(p float64) float64 {
	if !isProbability(p) {
		return math.NaN()
	}
	return math.Abs(math.Log(p)) // Abs turns the -0 of a certain call into 0
}

// IntervalLog is the logarithmic score -ln(F(R)-F(L)) of an outcome that is
// known only to lie in (L, R], from the forecast's cumulative probabilities
// there. An outcome not yet seen at L has F(R) = 1; one already there at the
// first look R has F(L) = 0. It is +Inf where the forecast gave that span no
// chance. In the far upper tail pass survival probabilities the other way
// round, IntervalLog(S(R), S(L)), to keep their digits.
func IntervalLog(cdfLeft, cdfRight float64) float64 {
	if !isProbability(cdfLeft) || !isProbability(cdfRight) || cdfLeft > cdfRight {
		return math.NaN()
	}
	return Log(cdfRight - cdfLeft)
}

// CRPSNormal is the continuous ranked probability score of a normal forecast
// for the outcome x, in the unit of x (Gneiting & Raftery 2007, section 4.2).
// A spread of 0 gives the absolute error.
func CRPSNormal(mean, sd, x float64) float64 {
	switch {
	case !(sd >= 0):
		return math.NaN()
	case sd == 0:
		return math.Abs(x - mean)
	}
	z := (x - mean) / sd
	return sd * (z*(2*normalCDF(z)-1) + 2*normalDensity(z) - 1/math.SqrtPi)
}

// CRPSLogNormal is the continuous ranked probability score of a log-normal
// forecast (mean and standard deviation of the logarithm) for the outcome x,
// in the unit of x. Closed form: S. Baran and S. Lerch, Q. J. R. Meteorol.
// Soc. 141 (2015) 2289-2299, from memory, checked against quadrature.
func CRPSLogNormal(logMean, logSD, x float64) float64 {
	switch {
	case !(logSD >= 0):
		return math.NaN()
	case logSD == 0:
		return math.Abs(x - math.Exp(logMean))
	}
	z := math.Inf(-1)
	if x > 0 {
		z = (math.Log(x) - logMean) / logSD
	}
	mean := math.Exp(logMean + logSD*logSD/2)
	return x*(2*normalCDF(z)-1) - 2*mean*(normalCDF(z-logSD)+normalCDF(logSD/math.Sqrt2)-1)
}

func normalCDF(z float64) float64     { return math.Erfc(-z/math.Sqrt2) / 2 }
func normalDensity(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

func isProbability(p float64) bool { return p >= 0 && p <= 1 }

// isDistribution allows for rounding in probabilities that were summed or printed.
func isDistribution(p []float64) bool {
	sum := 0.0
	for _, pi := range p {
		if !isProbability(pi) {
			return false
		}
		sum += pi
	}
	return math.Abs(sum-1) < 1e-6
}
