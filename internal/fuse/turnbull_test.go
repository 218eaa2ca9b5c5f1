package fuse

import (
	"fmt"
	"math"
	"sort"
	"testing"
)

// turnbull returns the nonparametric maximum-likelihood masses of interval-
// censored times (Turnbull 1976, J. R. Stat. Soc. B 38:290-295): the innermost
// intervals (left end of one span, right end of the next to close) and their
// masses by self-consistency.
func turnbull(spans []Span, rounds int) (inner []Span, mass []float64, logLikelihood float64) {
	type end struct {
		at   float64
		left bool
	}
	var ends []end
	for _, s := range spans {
		ends = append(ends, end{s.After, true}, end{s.By, false})
	}
	// At one moment right ends come first: spans are open on the left. An
	// exact time is open just before itself.
	sort.SliceStable(ends, func(i, j int) bool {
		if ends[i].at != ends[j].at {
			return ends[i].at < ends[j].at
		}
		return !ends[i].left && ends[j].left
	})
	for i := 1; i < len(ends); i++ {
		if ends[i-1].left && !ends[i].left {
			inner = append(inner, Span{ends[i-1].at, ends[i].at})
		}
	}
	mass = make([]float64, len(inner))
	for j := range mass {
		mass[j] = 1 / float64(len(mass))
	}
	next := make([]float64, len(mass))
	for range rounds {
		clear(next)
		logLikelihood = 0
		for _, s := range spans {
			total := 0.0
			for j, in := range inner {
				if in.After >= s.After && in.By <= s.By {
					total += mass[j]
				}
			}
			logLikelihood += math.Log(total)
			for j, in := range inner {
				if in.After >= s.After && in.By <= s.By {
					next[j] += mass[j] / total / float64(len(spans))
				}
			}
		}
		copy(mass, next)
	}
	return inner, mass, logLikelihood
}

// Turnbull's masses of the breast-cosmesis data (Finkelstein and Wolfe 1985)
// against R's npsurv, to 5e-4. Those of RT are the four digits known for R's
// `interval` package (from memory).
func TestTurnbullMassesOfCosmesis(t *testing.T) {
	checkTurnbull(t, MustRows(t, "breast_cosmesis_turnbull.csv"))
}

func checkTurnbull(t *testing.T, rows []map[string]string) {
	t.Helper()
	for _, arm := range []string{"RT", "RCT"} {
		var spans []Span
		for _, c := range cosmesis(t, arm, false) {
			spans = append(spans, c.Span)
		}
		inner, mass, logLikelihood := turnbull(spans, 4000)
		want := map[Span]float64{}
		reference := math.NaN()
		for _, row := range rows {
			if row["group"] == arm {
				want[Span{MustNumber(t, row["left"]), MustNumber(t, row["right"])}] = MustNumber(t, row["mass"])
				reference = MustNumber(t, row["loglik"])
			}
		}
		within(t, arm+" log likelihood", logLikelihood, reference, 1e-4)
		found := 0
		for j, in := range inner {
			within(t, arm+" mass", mass[j], want[in], 5e-4)
			if want[in] > 0 {
				found++
			}
		}
		if found != len(want) {
			t.Errorf("%s: %d of %d intervals found", arm, found, len(want))
		}
	}
}

// With right-censored data the same estimate is Kaplan and Meier's: 6-MP arm
// of the leukaemia trial (Freireich and others 1963; values as in Klein and
// Moeschberger's book, computed again with R).
func TestTurnbullIsKaplanMeierOf6MP(t *testing.T) {
	var spans []Span
	for _, row := range MustRows(t, "gehan_6mp.csv") {
		if row["treat"] != "6-MP" {
			continue
		}
		at := MustNumber(t, row["time"])
		if row["cens"] == "0" {
			spans = append(spans, NotYet(at))
		} else {
			spans = append(spans, Span{at - 1e-6, at})
		}
	}
	inner, mass, _ := turnbull(spans, 4000)
	want := MustTable(t, "remission_fits.csv")
	for _, at := range []float64{6, 7, 10, 13, 16, 22, 23} {
		survival := 1.0
		for j, in := range inner {
			if in.By <= at {
				survival -= mass[j]
			}
		}
		name := fmt.Sprintf("km %g", at)
		within(t, name, survival, want[name], 5e-6)
	}
}
