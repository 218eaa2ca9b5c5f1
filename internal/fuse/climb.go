package fuse

import (
	"errors"
	"math"
)

// climb goes uphill by Newton's method from where we are. Without slips the
// likelihood is log-concave in (coefficients/scale, 1/scale) (Burridge 1981,
// from memory), so in any parametrisation it has one stationary point: the
// damping below only has to keep every step uphill.
func (f *fitter) climb() (*Posterior, error) {
	f.value = f.measure(true)
	if !finite(f.value) {
		return nil, errors.New("the cases are impossible at the prior means")
	}
	damping := 0.0
	for step := 0; step < mostSteps; step++ {
		rise, ok := f.direction(damping)
		if !ok {
			damping = math.Max(4*damping, 1e-3)
			if damping > 1e12 {
				return nil, errors.New("the cases and priors do not determine the coefficients")
			}
			continue
		}
		if rise <= settled && damping < 1e-3 {
			break
		}
		if !f.move(rise) {
			if damping > 1e12 {
				break
			}
			damping = math.Max(16*damping, 1e-3)
			continue
		}
		if damping *= 0.1; damping < 1e-4 {
			damping = 0
		}
	}
	return f.posterior()
}

// approach climbs on a sample of many cases first: the long way from the
// priors is walked cheaply.
func (f *fitter) approach() {
	const every, fewest = 8, 800
	if len(f.cases) < fewest {
		return
	}
	all := f.cases
	f.cases = make([]logCase, 0, len(all)/every+1)
	for i := 0; i < len(all); i += every {
		f.cases = append(f.cases, all[i])
	}
	if _, err := f.climb(); err != nil {
		f.start()
	}
	f.cases = all
}

// direction solves for Newton's step, the bins eliminated first: their block
// is diagonal. It returns twice the promised rise and whether the damped
// precision was positive definite.
func (f *fitter) direction(damping float64) (rise float64, ok bool) {
	if !f.schur(damping) {
		return 0, false
	}
	copy(f.stepDense, f.gradient)
	for b, slope := range f.binSlope {
		ratio := slope / f.dampedBin(b, damping)
		for i, c := range f.cross.row(b) {
			f.stepDense[i] -= c * ratio
		}
	}
	f.factor.forward(f.stepDense)
	f.factor.backward(f.stepDense)
	for b, slope := range f.binSlope {
		sum := slope
		for i, c := range f.cross.row(b) {
			sum -= c * f.stepDense[i]
		}
		f.stepBins[b] = sum / f.dampedBin(b, damping)
		rise += f.stepBins[b] * slope
	}
	for i, g := range f.gradient {
		rise += f.stepDense[i] * g
	}
	return rise, rise >= 0
}

func (f *fitter) dampedBin(b int, damping float64) float64 {
	if damping == 0 {
		return f.binWeight[b]
	}
	tie := 1 / (f.model.BinSD * f.model.BinSD)
	return f.binWeight[b] + damping*(math.Abs(f.binWeight[b])+tie)
}

// schur factors the precision of the dense block with the bins integrated out.
func (f *fitter) schur(damping float64) bool {
	copy(f.factor.a, f.precision.a)
	last := f.n - 1
	if f.model.Family == Exponential {
		f.factor.row(last)[last] = 1
	}
	for i := 0; i < f.n; i++ {
		d := &f.factor.row(i)[i]
		*d += damping * (math.Abs(*d) + 1e-6)
	}
	for b := range f.bins {
		weight := f.dampedBin(b, damping)
		if !(weight > 0) {
			return false
		}
		cross := f.cross.row(b)
		for i, ci := range cross {
			if ci == 0 {
				continue
			}
			ratio := ci / weight
			row := f.factor.row(i)
			for j, cj := range cross[:i+1] {
				row[j] -= ratio * cj
			}
		}
	}
	return f.factor.factor()
}

// move takes the step, halved until it climbs enough (Armijo), and says
// whether any did.
func (f *fitter) move(rise float64) bool {
	share := f.cappedShare()
	f.shift(share)
	if rise < trusted && share == 1 {
		f.value = f.measure(true)
		return true
	}
	taken := share
	for halvings := 0; halvings < 30; halvings++ {
		value := f.measure(halvings == 0) // the first usually stands
		if value >= f.value+1e-4*taken*rise {
			if halvings > 0 {
				value = f.measure(true)
			}
			f.value = value
			return true
		}
		f.shift(-taken / 2)
		taken /= 2
	}
	f.shift(-taken)
	f.measure(true)
	return false
}

// cappedShare keeps one step from leaving the region where doubles can tell
// likelihoods apart: no effect and no log scale moves by more than 3.
func (f *fitter) cappedShare() float64 {
	largest := math.Abs(f.stepDense[f.n-1])
	for _, s := range f.stepBins {
		largest = math.Max(largest, math.Abs(s))
	}
	if largest > 3 {
		return 3 / largest
	}
	return 1
}

func (f *fitter) shift(share float64) {
	for i, s := range f.stepDense {
		f.dense[i] += share * s
	}
	for b, s := range f.stepBins {
		f.bins[b] += share * s
	}
}

func (f *fitter) posterior() (*Posterior, error) {
	if !f.schur(0) {
		return nil, errors.New("the cases and priors do not determine the coefficients")
	}
	p := &Posterior{
		model:         f.model,
		Dense:         append([]float64(nil), f.dense...),
		BinEffect:     append([]float64(nil), f.bins...),
		LogLikelihood: f.likelihood,
		covariance:    f.factor.inverse(),
		binWeight:     append([]float64(nil), f.binWeight...),
		binCross:      square2{f.n, append([]float64(nil), f.cross.a...)},
	}
	if f.model.Family == Exponential {
		p.covariance.row(f.n - 1)[f.n-1] = 0
	}
	return p, nil
}

// freedom is how many of the coefficients and bin effects the cases, rather
// than the priors, determine.
func (p *Posterior) freedom() float64 {
	sum := 0.0
	for i, prior := range p.model.Columns {
		sum += 1 - prior.precision()*p.covariance.row(i)[i]
	}
	for b := range p.BinEffect {
		_, sd := p.Bin(b)
		sum += 1 - sd*sd/(p.model.BinSD*p.model.BinSD)
	}
	return math.Max(0, sum)
}
