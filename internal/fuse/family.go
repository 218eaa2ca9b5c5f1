package fuse

import "math"

// A Family is the distribution of the error of log time.
type Family uint8

const (
	Lognormal   Family = iota // normal error
	Weibull                   // smallest-extreme-value error
	Loglogistic               // logistic error
	Exponential               // Weibull with scale 1
)

const (
	logSqrt2Pi = 0.91893853320467274178032973640562
	// farTail is where erfc would soon underflow; beyond it the asymptotic
	// series of the normal tail is exact to 1e-12.
	farTail = 30
	// narrow is the width in error units under which a difference of two
	// distribution functions loses too many digits and the density is used.
	narrow = 1e-6
)

// logS is the log probability that the error exceeds z.
func (f Family) logS(z float64) float64 {
	switch f {
	case Lognormal:
		return logNormalTail(z)
	case Loglogistic:
		return -softplus(z)
	default:
		return -math.Exp(z)
	}
}

// logF is the log probability that the error is at most z.
func (f Family) logF(z float64) float64 {
	switch f {
	case Lognormal:
		return logNormalTail(-z)
	case Loglogistic:
		return -softplus(-z)
	default:
		e := math.Exp(z)
		if e < 1e-300 {
			return z // also where exp underflows
		}
		return math.Log(-math.Expm1(-e))
	}
}

// density returns the log density at z and the derivative of the log density.
func (f Family) density(z float64) (log, slope float64) {
	switch f {
	case Lognormal:
		return -0.5*z*z - logSqrt2Pi, -z
	case Loglogistic:
		return -softplus(z) - softplus(-z), -math.Tanh(z / 2)
	default:
		e := math.Exp(z)
		return z - e, 1 - e
	}
}

// cdf is the probability that the error is at most z.
func (f Family) cdf(z float64) float64 {
	switch f {
	case Lognormal:
		return 0.5 * math.Erfc(-z/math.Sqrt2)
	case Loglogistic:
		return 1 / (1 + math.Exp(-z))
	default:
		return -math.Expm1(-math.Exp(z))
	}
}

func logNormalTail(z float64) float64 {
	if z < farTail {
		return math.Log(0.5 * math.Erfc(z/math.Sqrt2))
	}
	q := 1 / (z * z)
	return -0.5*z*z - math.Log(z) - logSqrt2Pi + math.Log1p(-q*(1-q*(3-q*(15-105*q))))
}

func softplus(x float64) float64 {
	if x > 0 {
		return x + math.Log1p(math.Exp(-x))
	}
	return math.Log1p(math.Exp(x))
}

// slopes are a log likelihood and its derivatives in the location m (the
// centre of log time) and in l, the log of the scale.
type slopes struct{ value, m, l, mm, ml, ll float64 }

// spanOrSlip is span with the chance slip that the span says nothing.
func (f Family) spanOrSlip(after, by, location, scale, slip float64) slopes {
	if f == Lognormal {
		if s, ok := normalSpan(after, by, location, scale, slip); ok {
			return s
		}
	}
	s := f.span(after, by, location, scale)
	if slip > 0 {
		s = s.withSlip(slip)
	}
	return s
}

// span returns the log likelihood of a log-time interval from after (-Inf:
// left-censored) to by (+Inf: right-censored), given location and scale.
// Equal ends are an exact time, whose density is that of time, not log time,
// as survreg counts it.
func (f Family) span(after, by, location, scale float64) slopes {
	if after == by {
		return f.exact(after, location, scale, -after)
	}
	zb := (by - location) / scale
	za := (after - location) / scale
	if zb-za < narrow {
		return f.exact(0.5*(after+by), location, scale, math.Log(by-after))
	}
	var logP float64
	switch {
	case math.IsInf(after, -1) && math.IsInf(by, 1):
		return slopes{}
	case math.IsInf(after, -1):
		logP = f.logF(zb)
	case math.IsInf(by, 1):
		logP = f.logS(za)
	case za+zb > 0: // work in the nearer tail, where nothing cancels
		sa := f.logS(za)
		logP = sa + math.Log(-math.Expm1(f.logS(zb)-sa))
	default:
		fb := f.logF(zb)
		logP = fb + math.Log(-math.Expm1(f.logF(za)-fb))
	}
	if !(logP > math.Inf(-1)) {
		return slopes{value: math.Inf(-1)} // too rare to tell how rare
	}
	out := slopes{value: logP}
	add := func(z, sign float64) {
		if math.IsInf(z, 0) {
			return
		}
		log, slope := f.density(z)
		r := sign * math.Exp(log-logP)
		out.m -= r
		out.l -= r * z
		out.mm += r * slope
		out.ml += r * (1 + z*slope)
		out.ll += r * z * (1 + z*slope)
	}
	add(zb, 1)
	add(za, -1)
	out.m /= scale
	out.mm = out.mm/(scale*scale) - out.m*out.m
	out.ml = out.ml/scale - out.m*out.l
	out.ll -= out.l * out.l
	return out
}

// plain is the smallest probability of a span that the normal family works
// out directly; rarer ones go through logarithms.
const plain = 1e-7

// normalSpan is span for the normal family, with the chance slip that the
// span says nothing. It is the inner loop of a room: probabilities instead of
// logarithms save two thirds of its time. ok is false where it would lose
// digits.
func normalSpan(after, by, location, scale, slip float64) (out slopes, ok bool) {
	var fa, fb, p float64 // densities at the ends, probability between them
	za, zb := (after-location)/scale, (by-location)/scale
	switch {
	case zb-za < 1e-3:
		return out, false
	case math.IsInf(after, -1) && math.IsInf(by, 1):
		return out, true
	case math.IsInf(after, -1):
		za = 0
		p = 0.5 * math.Erfc(-zb/math.Sqrt2)
		fb = math.Exp(-0.5*zb*zb - logSqrt2Pi)
	case math.IsInf(by, 1):
		zb = 0
		p = 0.5 * math.Erfc(za/math.Sqrt2)
		fa = math.Exp(-0.5*za*za - logSqrt2Pi)
	default:
		if za+zb > 0 {
			p = 0.5 * (math.Erfc(za/math.Sqrt2) - math.Erfc(zb/math.Sqrt2))
		} else {
			p = 0.5 * (math.Erfc(-zb/math.Sqrt2) - math.Erfc(-za/math.Sqrt2))
		}
		fa, fb = math.Exp(-0.5*za*za-logSqrt2Pi), math.Exp(-0.5*zb*zb-logSqrt2Pi)
	}
	if !(p > plain) {
		return out, false
	}
	whole := slip + (1-slip)*p
	ra, rb := fa*(1-slip)/whole, fb*(1-slip)/whole
	out.value = math.Log(whole)
	m, l := ra-rb, ra*za-rb*zb
	out.m, out.l = m/scale, l
	out.mm = (ra*za-rb*zb)/(scale*scale) - out.m*out.m
	out.ml = (rb*(1-zb*zb)-ra*(1-za*za))/scale - out.m*out.l
	out.ll = rb*zb*(1-zb*zb) - ra*za*(1-za*za) - l*l
	return out, true
}

// exact is the log density at log time at, plus a constant.
func (f Family) exact(at, location, scale, constant float64) slopes {
	z := (at - location) / scale
	log, slope := f.density(z)
	curve := f.densityCurve(z)
	return slopes{
		value: log - math.Log(scale) + constant,
		m:     -slope / scale,
		l:     -1 - z*slope,
		mm:    curve / (scale * scale),
		ml:    (slope + z*curve) / scale,
		ll:    z*slope + z*z*curve,
	}
}

// densityCurve is the second derivative of the log density.
func (f Family) densityCurve(z float64) float64 {
	switch f {
	case Lognormal:
		return -1
	case Loglogistic:
		c := math.Cosh(z / 2)
		return -0.5 / (c * c)
	default:
		return -math.Exp(z)
	}
}

// withSlip mixes in the chance that the span says nothing.
func (s slopes) withSlip(slip float64) slopes {
	value := math.Log(slip + (1-slip)*math.Exp(s.value))
	share := (1 - slip) * math.Exp(s.value-value) // that the span is meant
	s.value = value
	doubt := share * (1 - share)
	s.mm = share*s.mm + doubt*s.m*s.m
	s.ml = share*s.ml + doubt*s.m*s.l
	s.ll = share*s.ll + doubt*s.l*s.l
	s.m *= share
	s.l *= share
	return s
}
