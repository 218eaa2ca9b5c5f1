package gauge

import (
	"math"
	"math/rand/v2"
	"testing"

	"underlog/internal/score"
)

// Simulation-based calibration: Talts, Betancourt, Simpson, Vehtari and Gelman
// 2018, arXiv 1804.06788. Truths from the prior, words from the truth; the
// truth's rank among 99 draws from the posterior must be uniform, chi-square of
// 20 bins below 36.19 (99 % of 19 degrees of freedom). A rank among independent
// draws is binomial in the truth's place in the posterior, so the draws
// themselves need not be made.
const chiSquare99 = 36.1909

type rankings struct{ rate, store, surface *score.Ranks }

// calibrate follows n truths over the given looks. shrink 1 is honest, 2 halves
// the spread of the posterior.
func calibrate(seed uint64, p Params, n, looks int, shrink float64) rankings {
	random := rand.New(rand.NewPCG(seed, 7))
	ranks := rankings{score.NewStandardRanks(), score.NewStandardRanks(), score.NewStandardRanks()}
	f := New()
	for range n {
		truth := drawTruth(p, p.Rate, random)
		f.Reset(p, p.Rate, nil)
		truth.season(looks, 0.4*p.FullClock/442, 0, func(e Event) { f.Take(&e) })

		add := func(r *score.Ranks, below func(float64) float64, median, value float64) {
			place := clamp(below(median+shrink*(value-median)), 0, 1)
			rank := 0
			for range r.Draws {
				if random.Float64() < place {
					rank++
				}
			}
			r.AddRank(rank)
		}

		// At the last look, up to which the grid has let the rate drift.
		add(ranks.rate, f.rateBelow, f.Rate().LogMedian, truth.logRate)
		// Days later: the posterior's, not the last look's, and away from the
		// saturated states in which ranks would tie.
		f.Advance(f.clock+30*p.FullClock/442, f.hours+72)
		truth.wait(30*p.FullClock/442, 72)
		add(ranks.store, f.StoreBelow, f.Store()[2], truth.x)
		add(ranks.surface, f.SurfaceBelow, f.Surface()[2], truth.surface())
	}
	return ranks
}

// rateBelow is the probability of a lower log rate: the rows' weights as a
// density, its logarithm interpolated by parabolas.
func (f *Filter) rateBelow(logR float64) float64 {
	f.prepare()
	logDensity := func(at float64) float64 {
		r := min(max(int(math.Round(at)), 1), rateRows-2)
		l := func(k int) float64 { return math.Log(f.mass(k) + 1e-300) }
		t := at - float64(r)
		return l(r) + 0.5*t*(l(r+1)-l(r-1)) + 0.5*t*t*(l(r+1)-2*l(r)+l(r-1))
	}
	const fine = 16
	below, total := 0.0, 0.0
	for i := range (rateRows - 1) * fine {
		at := (float64(i) + 0.5) / fine
		w := math.Exp(logDensity(at))
		total += w
		if -rateSpan+at*rateStep < logR {
			below += w
		}
	}
	return below / total
}

func checkRanks(tb testing.TB, name string, r *score.Ranks, uniform bool) {
	tb.Helper()
	chi := r.ChiSquare()
	tb.Logf("%s: chi-square %.2f of %d ranks", name, chi, r.N())
	if uniform && chi >= chiSquare99 {
		tb.Errorf("%s: ranks are not uniform, chi-square %.2f, want below %.2f: %v", name, chi, chiSquare99, r.Counts)
	}
	if !uniform && chi < 2*chiSquare99 {
		tb.Errorf("%s: a posterior of half the spread passes, chi-square %.2f: %v", name, chi, r.Counts)
	}
}

func TestCalibration(t *testing.T) {
	p := Dampness(0.034, 0.05)
	r := calibrate(20261125, p, 1000, 16, 1)
	checkRanks(t, "rate", r.rate, true)
	checkRanks(t, "store", r.store, true)
	checkRanks(t, "surface", r.surface, true)
}

func TestCalibrationSeesATooNarrowPosterior(t *testing.T) {
	p := Dampness(0.034, 0.05)
	r := calibrate(20261125, p, 1000, 16, 2)
	checkRanks(t, "rate", r.rate, false)
	checkRanks(t, "store", r.store, false)
	checkRanks(t, "surface", r.surface, false)
}
