package gauge

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/optimize"
)

// A check is one felt check: hours after watering and the word found,
// 0 dry, 1 damp, 2 wet.
type check struct {
	hours float64
	word  int
}

func MustReadChecks(tb testing.TB) []check {
	tb.Helper()
	raw, err := os.ReadFile("../../testdata/gauge/felt_checks_synthetic.csv")
	if err != nil {
		tb.Fatal(err)
	}
	var checks []check
	for _, line := range strings.Fields(string(raw))[1:] {
		hours, felt, _ := strings.Cut(line, ",")
		h, err := strconv.ParseFloat(hours, 64)
		if err != nil {
			tb.Fatal(err)
		}
		word := map[string]int{"dry": 0, "damp": 1, "wet": 2}[felt]
		checks = append(checks, check{h, word})
	}
	if len(checks) != 120 {
		tb.Fatalf("%d checks, want 120", len(checks))
	}
	return checks
}

// logTime makes the reading's likelihood a probit on log hours: a level that
// is minus the logarithm of the time since watering lies below the cut at
// -medianDry when the side has dried.
func logTime(medianWet, medianDry, spread float64) Params {
	return Params{Words: 3, Cuts: [3]float64{-medianDry, -medianWet}, TouchSpread: spread}
}

func logLikelihood(p *Params, checks []check) float64 {
	sum := 0.0
	for _, c := range checks {
		sum += math.Log(p.WordOdds(c.word, -math.Log(c.hours)))
	}
	return sum
}

// MustClimb maximises f from start and returns where.
func MustClimb(tb testing.TB, f func(x []float64) float64, start ...float64) []float64 {
	tb.Helper()
	problem := optimize.Problem{Func: func(x []float64) float64 { return -f(x) }}
	settings := &optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-13, Iterations: 400}}
	result, err := optimize.Minimize(problem, start, settings, &optimize.NelderMead{})
	if err != nil {
		tb.Fatal(err)
	}
	return result.X
}

func near(tb testing.TB, what string, got, want, tolerance float64) {
	tb.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		tb.Errorf("%s is %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// R 4.2.2, ordinal::clm 2022.11-16, link = probit, on log hours; MASS::polr agrees.
func TestWordsAreACumulativeProbit(t *testing.T) {
	checks := MustReadChecks(t)
	x := MustClimb(t, func(x []float64) float64 {
		p := logTime(x[0], x[1], math.Exp(x[2]))
		return logLikelihood(&p, checks)
	}, math.Log(36), math.Log(84), math.Log(0.3))
	p := logTime(x[0], x[1], math.Exp(x[2]))
	beta := 1 / p.TouchSpread
	near(t, "log-likelihood", logLikelihood(&p, checks), -49.439931, 1e-5)
	near(t, "slope", beta, 3.887314, 1e-4*3.887)
	near(t, "cut wet|damp", x[0]*beta, 14.175066, 1e-4*14.18)
	near(t, "cut damp|dry", x[1]*beta, 17.563932, 1e-4*17.56)
	near(t, "median hours to damp", math.Exp(x[0]), 38.33999, 1e-4*38.3)
	near(t, "median hours to dry", math.Exp(x[1]), 91.67678, 1e-4*91.7)
}

// R 4.2.2, survival::survreg 3.5-3, dist = "lognormal", on "dry or not".
func TestTwoWordsAreIntervalCensoredTimes(t *testing.T) {
	checks := MustReadChecks(t)
	for i := range checks {
		checks[i].word = min(checks[i].word, 1)
	}
	two := func(median, spread float64) Params {
		return Params{Words: 2, Cuts: [3]float64{-median}, TouchSpread: spread}
	}
	x := MustClimb(t, func(x []float64) float64 {
		p := two(x[0], math.Exp(x[1]))
		return logLikelihood(&p, checks)
	}, math.Log(84), math.Log(0.3))
	p := two(x[0], math.Exp(x[1]))
	near(t, "log-likelihood", logLikelihood(&p, checks), -37.0141316, 1e-5)
	near(t, "mu", x[0], 4.5129619, 1e-4*4.5)
	near(t, "sigma", p.TouchSpread, 0.2785617, 1e-4*0.28)
}

// The exact posterior on a 401 x 401 grid, computed with R from the same priors:
// median time to dry ~ log 72 +/- 0.5, log s ~ log 0.35 +/- 0.4, and a fixed
// ratio 36:84 between the medians of damp and dry.
func TestExactPosteriorOfFeltChecks(t *testing.T) {
	checks := MustReadChecks(t)
	type group struct {
		level float64
		words [3]float64 // how often
	}
	var groups []group
	index := map[float64]int{}
	for _, c := range checks {
		i, seen := index[c.hours]
		if !seen {
			i = len(groups)
			index[c.hours] = i
			groups = append(groups, group{level: -math.Log(c.hours)})
		}
		groups[i].words[c.word]++
	}
	const n = 401
	horizons := []float64{48, 72, 96, 120}
	var total, mean, square, meanLogS, meanHours float64
	var dry [4]float64
	for i := range n {
		m2 := math.Log(84) + 0.6*(2*float64(i)/(n-1)-1)
		for k := range n {
			logS := math.Log(0.3) + 1.2*(2*float64(k)/(n-1)-1)
			p := logTime(m2+math.Log(36.0/84), m2, math.Exp(logS))
			z, y := (m2-math.Log(72))/0.5, (logS-math.Log(0.35))/0.4
			l := -0.5*z*z - 0.5*y*y
			for _, g := range groups {
				for w, count := range g.words {
					if count > 0 {
						l += count * math.Log(p.WordOdds(w, g.level))
					}
				}
				if l < -130 { // 80 below the top: no mass
					break
				}
			}
			w := math.Exp(l + 50)
			total += w
			mean += w * m2
			square += w * m2 * m2
			meanLogS += w * logS
			meanHours += w * math.Exp(m2)
			for h, hours := range horizons {
				dry[h] += w * p.WordOdds(0, -math.Log(hours))
			}
		}
	}
	mean /= total
	near(t, "E m2", mean, 4.505843, 1e-5)
	near(t, "sd m2", math.Sqrt(square/total-mean*mean), 0.039635, 1e-5)
	near(t, "E log s", meanLogS/total, -1.306663, 1e-5)
	near(t, "E exp m2", meanHours/total, 90.61566, 1e-3)
	for h, want := range []float64{0.013039, 0.200153, 0.583640, 0.848319} {
		near(t, "odds of dry by "+strconv.Itoa(int(horizons[h]))+" h", dry[h]/total, want, 2e-5)
	}
}

func TestWordOddsSumToOne(t *testing.T) {
	for name, p := range everyGauge() {
		for s := -2.0; s < 3; s += 0.05 {
			sum := 0.0
			for w := -1; w <= MaxWords; w++ {
				sum += p.WordOdds(w, s)
			}
			if math.Abs(sum-1) > 1e-12 {
				t.Errorf("%s: words at level %.2f sum to %v", name, s, sum)
			}
		}
	}
}

func everyGauge() map[string]Params {
	return map[string]Params{
		"dampness":  Dampness(0.034, 0.05),
		"litter":    Litter(75, 3),
		"substrate": Substrate(8),
		"supplies":  Supplies(60, 100),
	}
}
