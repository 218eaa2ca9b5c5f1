package fuse

import "math"

// A Predictive is the distribution of one event's time with the uncertainty
// of the posterior integrated out, as a mixture on log time.
type Predictive struct {
	family   Family
	parts    int
	share    [mostParts]float64
	location [mostParts]float64
	scale    [mostParts]float64
}

const mostParts = 15

// Gauss-Hermite nodes and weights for a standard normal (Abramowitz and
// Stegun 1964, table 25.10, rescaled): exact for polynomials to degree 5 and 9.
var (
	hermite3 = [3][2]float64{{-1.7320508075688772, 1. / 6}, {0, 2. / 3}, {1.7320508075688772, 1. / 6}}
	hermite5 = [5][2]float64{
		{-2.8569700138728056, 0.011257411327720688}, {-1.355626179974266, 0.22207592200561266},
		{0, 0.5333333333333333},
		{1.355626179974266, 0.22207592200561266}, {2.8569700138728056, 0.011257411327720688}}
)

// A centre is the posterior of one case's centre of log time, joint with the
// log of the scale.
type centre struct {
	mean, variance     float64
	logScale, scaleVar float64
	between            float64 // covariance of centre and log scale
	spread             float64
	family             Family
}

// Predict returns the distribution of the time of a case with these terms;
// its Span and Weight do not count. A Bin of NoBin means a bin never seen,
// whose effect is drawn from its prior when the model has one.
func (p *Posterior) Predict(c Case) Predictive {
	work := make([]float64, p.covariance.n)
	return p.centre(c, work).predictive()
}

// centre works out a case's centre; work is scratch of one number a row.
func (p *Posterior) centre(c Case, work []float64) centre {
	last := len(p.Dense) - 1
	clear(work)
	out := centre{mean: c.Offset, logScale: p.Dense[last], family: p.model.Family, spread: c.Spread}
	if out.spread == 0 {
		out.spread = 1
	}
	for _, t := range c.Terms {
		out.mean += t.Value * p.Dense[t.Column]
		work[t.Column] += t.Value
	}
	switch {
	case c.Bin >= 0:
		// Given the dense block, the effect is its mode less cross/weight
		// times the block's deviation.
		out.mean += p.BinEffect[c.Bin]
		weight := p.binWeight[c.Bin]
		for i, cross := range p.binCross.row(c.Bin) {
			work[i] -= cross / weight
		}
		out.variance = 1 / weight
	case p.model.BinSD > 0:
		out.variance = p.model.BinSD * p.model.BinSD
	}
	out.variance += p.covariance.quadratic(work, work)
	out.scaleVar = p.covariance.row(last)[last]
	for i, w := range work {
		out.between += w * p.covariance.row(last)[i]
	}
	return out
}

// predictive integrates the centre and the scale. The log scale is integrated
// on Gauss-Hermite nodes; given it, a normal centre adds to a normal error in
// closed form and is put on nodes too for the other families.
func (c centre) predictive() Predictive {
	out := Predictive{family: c.family}
	slope, rest := 0.0, c.variance
	if c.scaleVar > 0 {
		slope = c.between / c.scaleVar
		rest = math.Max(0, c.variance-slope*c.between)
	}
	sd := math.Sqrt(c.scaleVar)
	for _, outer := range hermite3 {
		away := outer[0] * sd
		scale := math.Exp(c.logScale+away) * c.spread
		mean := c.mean + slope*away
		if c.family == Lognormal {
			out.add(outer[1], mean, math.Sqrt(scale*scale+rest))
			continue
		}
		for _, inner := range hermite5 {
			out.add(outer[1]*inner[1], mean+inner[0]*math.Sqrt(rest), scale)
		}
	}
	return out
}

func (p *Predictive) add(share, location, scale float64) {
	p.share[p.parts], p.location[p.parts], p.scale[p.parts] = share, location, scale
	p.parts++
}

// CDF is the probability that the event has happened by t.
func (p *Predictive) CDF(t float64) float64 {
	return 1 - p.Survival(t)
}

// Survival is the probability that the event has not happened by t.
func (p *Predictive) Survival(t float64) float64 {
	if !(t > 0) {
		return 1
	}
	return p.survivalAtLog(math.Log(t))
}

func (p *Predictive) survivalAtLog(logT float64) float64 {
	sum := 0.0
	for i := 0; i < p.parts; i++ {
		z := (logT - p.location[i]) / p.scale[i]
		switch p.family {
		case Lognormal, Loglogistic: // symmetric
			sum += p.share[i] * p.family.cdf(-z)
		default:
			sum += p.share[i] * math.Exp(-math.Exp(z))
		}
	}
	return math.Min(1, sum)
}

// CDFAfter is the probability that the event has happened by t, given that it
// had not by survived.
func (p *Predictive) CDFAfter(t, survived float64) float64 {
	if t <= survived {
		return 0
	}
	before := p.Survival(survived)
	if before < 1e-300 {
		return 1
	}
	return math.Max(0, math.Min(1, 1-p.Survival(t)/before))
}
