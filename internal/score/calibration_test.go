package score

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestReliability(t *testing.T) {
	table := Reliability([]Call{{0.81, true}, {0.83, false}, {0.85, true}, {0.1, false}, {1, true}, {math.NaN(), true}}, 5)
	want := []ReliabilityBin{
		{0, 0.2, 1, 0.1, 0}, {0.2, 0.4, 0, 0, 0}, {0.4, 0.6, 0, 0, 0}, {0.6, 0.8, 0, 0, 0},
		{0.8, 1, 4, (0.81 + 0.83 + 0.85 + 1) / 4, 0.75},
	}
	for i, w := range want {
		g := table[i]
		if g.N != w.N || !near(g.From, w.From, 1e-12) || !near(g.To, w.To, 1e-12) ||
			!near(g.MeanCalled, w.MeanCalled, 1e-12) || !near(g.ObservedShare, w.ObservedShare, 1e-12) {
			t.Errorf("bin %d: got %+v, want %+v", i, g, w)
		}
	}
}

func TestReliabilityKeepsEveryCallInItsBin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bins := rapid.IntRange(1, 30).Draw(t, "bins")
		tenths := rapid.SliceOf(rapid.IntRange(0, 10)).Draw(t, "tenths")
		calls := make([]Call, len(tenths))
		for i, k := range tenths {
			calls[i] = Call{Probability: float64(k) / 10, Happened: k%2 == 0}
		}
		n := 0
		for _, b := range Reliability(calls, bins) {
			n += b.N
			if b.N > 0 && (b.MeanCalled < b.From-1e-12 || b.MeanCalled > b.To+1e-12) {
				t.Fatalf("mean %v outside %v-%v", b.MeanCalled, b.From, b.To)
			}
		}
		if n != len(calls) {
			t.Fatalf("%d of %d calls kept", n, len(calls))
		}
	})
}

func TestCoverage(t *testing.T) {
	got := Coverage([]Band{
		{10, 20, 15, 15},          // seen exactly, inside
		{10, 20, 12, 25},          // bracket sticks out
		{10, 20, 21, 25},          // after the band
		{10, 20, 18, math.Inf(1)}, // not yet at 18
	})
	if got != (Covered{N: 4, Surely: 0.25, Possibly: 0.75}) {
		t.Errorf("got %+v", got)
	}
	if none := Coverage(nil); none.N != 0 || !math.IsNaN(none.Surely) || !math.IsNaN(none.Possibly) {
		t.Errorf("no bands: got %+v", none)
	}
}

// calibrate runs simulation-based calibration of the mean of a normal with a
// standard normal prior and one observation of unit variance, whose posterior
// is normal with mean y/2 and variance 1/2. The posterior's spread is
// multiplied by spread and its mean moved by shift to make it wrong.
func calibrate(n int, spread, shift float64) float64 {
	random := rand.New(rand.NewPCG(2018, 99))
	ranks := NewStandardRanks()
	draws := make([]float64, StandardDraws)
	for range n {
		truth := random.NormFloat64()
		y := truth + random.NormFloat64()
		for i := range draws {
			draws[i] = y/2 + shift + spread*math.Sqrt(0.5)*random.NormFloat64()
		}
		ranks.Add(truth, draws, random.Float64())
	}
	return ranks.ChiSquare()
}

// Talts et al. 2018: uniform ranks for the right posterior; the negative
// controls must fail.
func TestRanksTellRightFromWrongPosteriors(t *testing.T) {
	if chi := calibrate(1000, 1, 0); chi >= StandardCritical {
		t.Errorf("right posterior: chi-square %.2f, want below %.2f", chi, StandardCritical)
	}
	for name, chi := range map[string]float64{
		"half the spread":  calibrate(1000, 0.5, 0),
		"twice the spread": calibrate(1000, 2, 0),
		"moved":            calibrate(1000, 1, 0.3),
	} {
		if chi <= StandardCritical {
			t.Errorf("%s: chi-square %.2f, want above %.2f", name, chi, StandardCritical)
		}
	}
}

func TestRankBreaksTies(t *testing.T) {
	draws := []float64{1, 2, 2, 2, 3}
	for _, c := range []struct {
		truth, tie float64
		want       int
	}{{2, 0, 1}, {2, 0.26, 2}, {2, 0.999, 4}, {2, 1, 4}, {0, 0.5, 0}, {9, 0.5, 5}} {
		if got := Rank(c.truth, draws, c.tie); got != c.want {
			t.Errorf("rank of %v with tie %v: got %d, want %d", c.truth, c.tie, got, c.want)
		}
	}
}

func TestRanksFillBinsEvenly(t *testing.T) {
	ranks := NewStandardRanks()
	if ranks.ChiSquare() != 0 {
		t.Error("an empty histogram has a statistic")
	}
	for rank := range StandardDraws + 1 {
		ranks.AddRank(rank)
	}
	for i, c := range ranks.Counts {
		if c != 5 {
			t.Errorf("bin %d has %d of the 100 ranks, want 5", i, c)
		}
	}
	if ranks.N() != 100 || ranks.ChiSquare() != 0 {
		t.Errorf("n %d, chi-square %v", ranks.N(), ranks.ChiSquare())
	}
	// 40 ranks, all in one of 20 bins: 38²/2 + 19·2²/2 = 760.
	lump := NewStandardRanks()
	for range 40 {
		lump.AddRank(0)
	}
	if !near(lump.ChiSquare(), 760, 1e-9) {
		t.Errorf("lump: chi-square %v, want 760", lump.ChiSquare())
	}
}
