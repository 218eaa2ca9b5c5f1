package fuse

import (
	"fmt"
	"math"
)

// A Term is one known number of a case and the column whose coefficient it
// multiplies.
type Term struct {
	Column int
	Value  float64
}

// A Case is one event as far as it was seen.
type Case struct {
	Span
	Terms  []Term
	Bin    int     // whose random effect counts; NoBin for none
	Offset float64 // known part of log time
	Spread float64 // known multiple of the scale; 0 counts as 1
	Weight float64 // how many cases this one counts for; 0 counts as 1
}

// NoBin is the Bin of a case without a random effect.
const NoBin = -1

// A Model is log time = Offset + Terms·coefficients + bin effect + scale·error.
type Model struct {
	Family   Family
	Columns  []Gaussian // prior of each coefficient
	Bins     int        // number of random effects, each N(0, BinSD²)
	BinSD    float64
	LogScale Gaussian // prior of the log of the scale; ignored by Exponential
	// Slip is the chance that a look was misread or miswritten, so that its
	// span says nothing: it bounds what one odd entry can do. With 0 the
	// likelihood is log-concave and the fit the classical one.
	Slip float64
	// Marginal puts the scale at the mode of its own posterior instead of that
	// of scale and coefficients together, which is too small when there are
	// many effects (a sum of squares divided by n, not by n - p).
	Marginal bool
}

// A Posterior is Laplace's Gaussian around the mode of the coefficients, the
// bin effects and the log of the scale.
type Posterior struct {
	model Model
	// Dense holds the coefficients in the order of the columns, then the log
	// of the scale.
	Dense []float64
	// BinEffect holds the random effects.
	BinEffect []float64
	// LogLikelihood is that of the cases at the mode, without priors.
	LogLikelihood float64

	covariance square    // of Dense, bins integrated out
	binWeight  []float64 // precision of each bin effect given Dense
	binCross   square2   // precision between bin effects and Dense
}

// square2 is a plain rectangular matrix in row order.
type square2 struct {
	columns int
	a       []float64
}

func (r square2) row(i int) []float64 { return r.a[i*r.columns : (i+1)*r.columns] }

// Coefficient returns the mode and the standard error of a column.
func (p *Posterior) Coefficient(column int) (mode, sd float64) {
	return p.Dense[column], math.Sqrt(p.covariance.row(column)[column])
}

// LogScale returns the mode and the standard error of the log of the scale;
// 0 and 0 for Exponential.
func (p *Posterior) LogScale() (mode, sd float64) {
	return p.Coefficient(len(p.Dense) - 1)
}

// Bin returns the mode and the standard error of a bin's random effect.
func (p *Posterior) Bin(bin int) (mode, sd float64) {
	cross, weight := p.binCross.row(bin), p.binWeight[bin]
	variance := 1/weight + p.covariance.quadratic(cross, cross)/(weight*weight)
	return p.BinEffect[bin], math.Sqrt(variance)
}

const (
	mostSteps = 60
	// settled is twice the rise of the log posterior that Newton's step
	// promises when there is nothing left to gain: 1e-5 of a standard error.
	// Two machines stop at the same step, since the promise falls by orders of
	// magnitude from one to the next.
	settled = 1e-10
	// trusted is the rise below which rounding hides whether a step climbed;
	// there the step is simply taken.
	trusted = 1e-10
)

// Fit finds the mode and the curvature of the posterior. The error names a
// case or prior that makes no sense, or says that the cases and priors do not
// determine the coefficients.
func (m Model) Fit(cases []Case) (*Posterior, error) {
	fitter, err := newFitter(m, cases)
	if err != nil {
		return nil, err
	}
	fitter.start()
	posterior, err := fitter.climb()
	if err != nil || !m.Marginal {
		return posterior, err
	}
	fitter.freedom = posterior.freedom()
	return fitter.climb()
}

// fitter holds the working memory of one fit, so that refitting with other
// priors allocates next to nothing.
type fitter struct {
	model Model
	cases []logCase
	n     int // columns and log scale

	dense, bins         []float64 // where we are
	stepDense, stepBins []float64
	gradient, binSlope  []float64
	precision, factor   square
	binWeight           []float64
	cross               square2
	value               float64 // log posterior
	likelihood          float64
	// freedom is how many coefficients the cases pay for: the p of n - p when
	// the scale's mode is to be marginal, 0 for the joint mode. Integrating
	// the coefficients out multiplies the density of the scale by the root of
	// their posterior's determinant, which grows as scale^p.
	freedom float64
}

// A logCase is a case as the inner loop wants it.
type logCase struct {
	after, by, offset, spread, weight float64
	bin                               int
	terms                             []Term
}

func newFitter(m Model, cases []Case) (*fitter, error) {
	for i, c := range m.Columns {
		if !(c.SD > 0) || math.IsNaN(c.Mean) {
			return nil, fmt.Errorf("prior of column %d: mean %g, sd %g: sd must be above 0 (or +Inf), mean finite", i, c.Mean, c.SD)
		}
	}
	if m.Bins > 0 && !(m.BinSD > 0) {
		return nil, fmt.Errorf("sd of bins is %g: must be above 0", m.BinSD)
	}
	if !(m.LogScale.SD > 0) {
		return nil, fmt.Errorf("sd of the log scale's prior is %g: must be above 0 (or +Inf)", m.LogScale.SD)
	}
	if !(m.Slip >= 0 && m.Slip < 1) {
		return nil, fmt.Errorf("slip is %g: must be at least 0 and below 1", m.Slip)
	}
	n := len(m.Columns) + 1
	f := &fitter{model: m, n: n, cases: make([]logCase, len(cases))}
	for i, c := range cases {
		made, err := m.logCase(c)
		if err != nil {
			return nil, fmt.Errorf("case %d: %w", i, err)
		}
		f.cases[i] = made
	}
	block := make([]float64, 3*n+4*m.Bins)
	take := func(k int) []float64 {
		out := block[:k:k]
		block = block[k:]
		return out
	}
	f.dense, f.stepDense, f.gradient = take(n), take(n), take(n)
	f.bins, f.stepBins, f.binSlope, f.binWeight = take(m.Bins), take(m.Bins), take(m.Bins), take(m.Bins)
	f.precision, f.factor = newSquare(n), newSquare(n)
	f.cross = square2{n, make([]float64, n*m.Bins)}
	return f, nil
}

func (m Model) logCase(c Case) (logCase, error) {
	switch {
	case !(c.After >= 0) || !(c.By >= c.After) || c.By == 0 || math.IsInf(c.After, 1):
		return logCase{}, fmt.Errorf("span from %g to %g: must be 0 <= after <= by and by above 0", c.After, c.By)
	case c.Bin < NoBin || c.Bin >= m.Bins:
		return logCase{}, fmt.Errorf("bin %d: must be %d (none) to %d", c.Bin, NoBin, m.Bins-1)
	case c.Spread < 0 || c.Weight < 0 || !finite(c.Spread, c.Weight, c.Offset):
		return logCase{}, fmt.Errorf("spread %g, weight %g, offset %g: must be finite, the first two not negative", c.Spread, c.Weight, c.Offset)
	}
	for _, t := range c.Terms {
		if t.Column < 0 || t.Column >= len(m.Columns) || !finite(t.Value) {
			return logCase{}, fmt.Errorf("term %g of column %d: must be finite, of column 0 to %d", t.Value, t.Column, len(m.Columns)-1)
		}
	}
	made := logCase{after: math.Log(c.After), by: math.Log(c.By), offset: c.Offset,
		spread: c.Spread, weight: c.Weight, bin: c.Bin, terms: c.Terms}
	if made.spread == 0 {
		made.spread = 1
	}
	if made.weight == 0 {
		made.weight = 1
	}
	return made, nil
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// start goes to the prior means; flat ones count as 0.
func (f *fitter) start() {
	for i, c := range f.model.Columns {
		f.dense[i] = c.Mean
	}
	f.dense[f.n-1] = f.model.LogScale.Mean
	if f.model.Family == Exponential {
		f.dense[f.n-1] = 0
	}
	clear(f.bins)
}

// measure evaluates the log posterior where we are, with slopes and precision
// (the negative second derivatives) when curved is set.
func (f *fitter) measure(curved bool) float64 {
	last := f.n - 1
	logScale := f.dense[last]
	scale := math.Exp(logScale)
	if curved {
		clear(f.gradient)
		clear(f.binSlope)
		clear(f.binWeight)
		clear(f.precision.a)
		clear(f.cross.a)
	}
	sum := 0.0
	for i := range f.cases {
		c := &f.cases[i]
		location := c.offset
		for _, t := range c.terms {
			location += t.Value * f.dense[t.Column]
		}
		if c.bin >= 0 {
			location += f.bins[c.bin]
		}
		s := f.model.Family.spanOrSlip(c.after, c.by, location, scale*c.spread, f.model.Slip)
		sum += c.weight * s.value
		if curved {
			f.accumulate(c, s)
		}
	}
	f.likelihood = sum
	for i, prior := range f.model.Columns {
		sum += prior.penalty(f.dense[i])
		if curved {
			f.gradient[i] -= (f.dense[i] - prior.Mean) * prior.precision()
			f.precision.row(i)[i] += prior.precision()
		}
	}
	if f.model.Family != Exponential {
		sum += f.model.LogScale.penalty(logScale) + f.freedom*logScale
		if curved {
			f.gradient[last] += f.freedom
			f.gradient[last] -= (logScale - f.model.LogScale.Mean) * f.model.LogScale.precision()
			f.precision.row(last)[last] += f.model.LogScale.precision()
		}
	}
	if f.model.Bins > 0 {
		tie := 1 / (f.model.BinSD * f.model.BinSD)
		for b, effect := range f.bins {
			sum -= 0.5 * effect * effect * tie
			if curved {
				f.binSlope[b] -= effect * tie
				f.binWeight[b] += tie
			}
		}
	}
	return sum
}

// accumulate adds one case to the slopes and to the lower triangle of the
// precision.
func (f *fitter) accumulate(c *logCase, s slopes) {
	last := f.n - 1
	w := c.weight
	for k, t := range c.terms {
		f.gradient[t.Column] += w * s.m * t.Value
		for _, u := range c.terms[:k+1] {
			i, j := t.Column, u.Column
			if i < j {
				i, j = j, i
			}
			f.precision.row(i)[j] -= w * s.mm * t.Value * u.Value
		}
	}
	free := f.model.Family != Exponential
	if free {
		bottom := f.precision.row(last)
		for _, t := range c.terms {
			bottom[t.Column] -= w * s.ml * t.Value
		}
		f.gradient[last] += w * s.l
		bottom[last] -= w * s.ll
	}
	if c.bin >= 0 {
		f.binSlope[c.bin] += w * s.m
		f.binWeight[c.bin] -= w * s.mm
		cross := f.cross.row(c.bin)
		for _, t := range c.terms {
			cross[t.Column] -= w * s.mm * t.Value
		}
		if free {
			cross[last] -= w * s.ml
		}
	}
}
