package fuse

import (
	"math"
	"math/rand/v2"
	"testing"

	"underlog/internal/score"
)

// Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari and Gelman
// 2018, arXiv 1804.06788): truths from the prior, looks from the truth, and the
// truth's rank among draws from the Laplace posterior must be uniform.

// calibrated is the model under test: a centre, one covariate, bins and a
// scale, all with priors such as a room's.
var calibrated = Model{
	Family:   Lognormal,
	Columns:  []Gaussian{{math.Log(40), 0.4}, {0.3, 0.3}},
	Bins:     6,
	BinSD:    0.4,
	LogScale: Gaussian{math.Log(0.5), 0.2},
	Marginal: true,
}

// quantities are what is ranked.
var quantities = []string{"centre", "covariate", "log scale", "a bin's effect", "median of a piece"}

// simulate draws a truth and cases of it: pieces that are looked at at two
// irregular moments each.
func simulate(random *rand.Rand, m Model, n int) (truth []float64, cases []Case) {
	centre := m.Columns[0].Mean + m.Columns[0].SD*random.NormFloat64()
	slope := m.Columns[1].Mean + m.Columns[1].SD*random.NormFloat64()
	logScale := m.LogScale.Mean + m.LogScale.SD*random.NormFloat64()
	bins := make([]float64, m.Bins)
	for b := range bins {
		bins[b] = m.BinSD * random.NormFloat64()
	}
	for i := range n {
		x := float64(i % 2)
		event := math.Exp(centre + slope*x + bins[i%m.Bins] + math.Exp(logScale)*random.NormFloat64())
		first := 10 + 40*random.Float64()
		second := first + 10 + 40*random.Float64()
		c := Case{Bin: i % m.Bins, Terms: []Term{{0, 1}, {1, x}}}
		switch {
		case event <= first:
			c.Span = Span{0, first}
		case event <= second:
			c.Span = Span{first, second}
		default:
			c.Span = NotYet(second)
		}
		cases = append(cases, c)
	}
	return []float64{centre, slope, logScale, bins[0], centre + slope + bins[0]}, cases
}

// draw is one sample from the posterior: the dense block by Cholesky's factor
// of its covariance, a bin's effect given it. narrow shrinks the spread.
func (p *Posterior) draw(random *rand.Rand, factor square, narrow float64, out []float64) {
	n := factor.n
	noise := make([]float64, n)
	for i := range noise {
		noise[i] = narrow * random.NormFloat64()
	}
	bin := p.BinEffect[0] + narrow*random.NormFloat64()/math.Sqrt(p.binWeight[0])
	for i := range n {
		away := 0.0
		for k := 0; k <= i; k++ {
			away += factor.row(i)[k] * noise[k]
		}
		out[i] = p.Dense[i] + away
		bin -= p.binCross.row(0)[i] / p.binWeight[0] * away
	}
	out[n] = bin
	out[n+1] = out[0] + out[1] + bin
}

// ranks runs the calibration: one histogram a quantity. narrow shrinks the posterior.
func ranks(tb testing.TB, m Model, seed uint64, simulations int, narrow float64) []*score.Ranks {
	tb.Helper()
	random := rand.New(rand.NewPCG(2018, seed))
	histograms := make([]*score.Ranks, len(quantities))
	for q := range histograms {
		histograms[q] = score.NewStandardRanks()
	}
	sample := make([]float64, len(quantities))
	for range simulations {
		truth, cases := simulate(random, m, 120)
		p := MustFit(tb, m, cases)
		factor := newSquare(p.covariance.n)
		copy(factor.a, p.covariance.a)
		if !factor.factor() {
			tb.Fatal("covariance is not positive definite")
		}
		draws := make([][]float64, len(quantities))
		for range score.StandardDraws {
			p.draw(random, factor, narrow, sample)
			for q, value := range sample {
				draws[q] = append(draws[q], value)
			}
		}
		for q := range quantities {
			histograms[q].Add(truth[q], draws[q], random.Float64())
		}
	}
	return histograms
}

func TestPosteriorIsCalibrated(t *testing.T) {
	for q, histogram := range ranks(t, calibrated, 4, 1000, 1) {
		chi := histogram.ChiSquare()
		t.Logf("%s: chi-square(19) %.2f over %d simulations", quantities[q], chi, histogram.N())
		if chi > score.StandardCritical {
			t.Errorf("%s: ranks are not uniform: chi-square(19) %.2f, critical %.2f; %v", quantities[q], chi, score.StandardCritical, histogram.Counts)
		}
	}
}

// The negative control: half the spread must be found out.
func TestHalvedPosteriorFailsCalibration(t *testing.T) {
	for q, histogram := range ranks(t, calibrated, 4, 300, 0.5) {
		if chi := histogram.ChiSquare(); chi < 2*score.StandardCritical {
			t.Errorf("%s: chi-square(19) %.2f although the posterior is half as wide as it should be", quantities[q], chi)
		}
	}
}

// A second control: with the joint mode of scale and effects the scale is too
// small, and its ranks show it.
func TestJointModeFailsCalibration(t *testing.T) {
	joint := calibrated
	joint.Marginal = false
	scale := ranks(t, joint, 4, 1000, 1)[2]
	if chi := scale.ChiSquare(); chi < 2*score.StandardCritical {
		t.Errorf("log scale: chi-square(19) %.2f although its mode is the joint one", chi)
	}
}
