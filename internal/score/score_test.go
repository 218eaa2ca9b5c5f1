package score

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// mustReadValues reads name and value of testdata/scores/scoring_rules.csv.
func mustReadValues(tb testing.TB) map[string]float64 {
	tb.Helper()
	file, err := os.Open("../../testdata/scores/scoring_rules.csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	values := map[string]float64{}
	for _, row := range rows[1:] {
		value, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			tb.Fatalf("%s: %v", row[0], err)
		}
		values[row[0]] = value
	}
	return values
}

func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// Values: R 4.2.2 from the definitions of Gneiting & Raftery 2007
// (testdata/scores/README.md). Every row of the file must be used.
func TestRulesAgainstReference(t *testing.T) {
	want := mustReadValues(t)
	chi := func(df, p float64) float64 { return distuv.ChiSquared{K: df}.Quantile(p) }
	got := map[string]float64{
		"crps_normal(0,1,x=0)":                    CRPSNormal(0, 1, 0),
		"crps_normal(0,1,x=1)":                    CRPSNormal(0, 1, 1),
		"crps_normal(0,1,x=2)":                    CRPSNormal(0, 1, 2),
		"crps_normal(84,20,x=100)":                CRPSNormal(84, 20, 100),
		"crps_lnorm(log84,0.3,x=48)":              CRPSLogNormal(math.Log(84), 0.3, 48),
		"crps_lnorm(log84,0.3,x=84)":              CRPSLogNormal(math.Log(84), 0.3, 84),
		"crps_lnorm(log84,0.3,x=120)":             CRPSLogNormal(math.Log(84), 0.3, 120),
		"brier_binary p=(.2,.7,.9) y=(0,1,0)":     MeanBrier([]Call{{0.2, false}, {0.7, true}, {0.9, false}}),
		"brier_multicat p=(.5,.3,.2) y=damp(2nd)": BrierCategories([]float64{0.5, 0.3, 0.2}, 1),
		"rps p=(.5,.3,.2) y=2nd (sum sq cum, /2)": RankedProbability([]float64{0.5, 0.3, 0.2}, 1),
		"pinball tau=.9 q=60 x=72":                Pinball(0.9, 60, 72),
		"pinball tau=.9 q=60 x=50":                Pinball(0.9, 60, 50),
		"pinball tau=.1 q=60 x=50":                Pinball(0.1, 60, 50),
		"pinball tau=.5 q=60 x=50 (=|e|/2)":       Pinball(0.5, 60, 50),
		"interval_score l=10 u=20 x=23 alpha=.1":  IntervalWidth(10, 20, 0.1, 23),
		"interval_score l=10 u=20 x=15 alpha=.1":  IntervalWidth(10, 20, 0.1, 15),
		"log_score p=.7":                          Log(0.7),
		"chisq_crit df=19 0.95":                   chi(19, 0.95),
		"chisq_crit df=19 0.99":                   StandardCritical,
		"chisq_crit df=19 0.999":                  chi(19, 0.999),
		"chisq_crit df=9 0.95":                    chi(9, 0.95),
		"chisq_crit df=9 0.99":                    chi(9, 0.99),
		"chisq_crit df=9 0.999":                   chi(9, 0.999),
		"chisq_crit df=1 .95":                     chi(1, 0.95),
		"chisq_crit df=2 .95":                     chi(2, 0.95),
		"chisq_crit df=3 .95":                     chi(3, 0.95),
	}
	for name, value := range want {
		if g, ok := got[name]; !ok {
			t.Errorf("%s: not checked", name)
		} else if !near(g, value, 1e-9*math.Max(1, math.Abs(value))) {
			t.Errorf("%s = %.12f, want %.12f", name, g, value)
		}
	}
	if len(want) != len(got) {
		t.Errorf("%d values in the file, %d computed", len(want), len(got))
	}
}

// The constant that others compare with is the quantile it says it is.
func TestStandardCriticalIsTheQuantile(t *testing.T) {
	if q := (distuv.ChiSquared{K: StandardBins - 1}).Quantile(0.99); !near(q, StandardCritical, 1e-8) {
		t.Errorf("chi-square(19) at 99 %% is %v, constant says %v", q, StandardCritical)
	}
}

// CRPS is the integral of the squared distance between the forecast's
// distribution and the step at x (Gneiting & Raftery 2007, section 4.2).
func TestCRPSIsItsIntegral(t *testing.T) {
	logNormal := func(x float64) float64 {
		if x <= 0 {
			return 0
		}
		return distuv.LogNormal{Mu: 1, Sigma: 0.7}.CDF(x)
	}
	cases := []struct {
		name     string
		cdf      func(float64) float64
		from, to float64
		x, got   float64
	}{
		{"normal", distuv.Normal{Mu: 3, Sigma: 2}.CDF, -20, 30, 4.5, CRPSNormal(3, 2, 4.5)},
		{"normal, far", distuv.Normal{Mu: 3, Sigma: 2}.CDF, -20, 30, 12, CRPSNormal(3, 2, 12)},
		{"log-normal, wide", logNormal, 0, 200, 9, CRPSLogNormal(1, 0.7, 9)},
		{"log-normal, impossible outcome", logNormal, -2, 200, -2, CRPSLogNormal(1, 0.7, -2)},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			midpoints := func(from, to, step float64) float64 {
				const n = 200000
				h, sum := (to-from)/n, 0.0
				for i := range n {
					d := c.cdf(from+(float64(i)+0.5)*h) - step
					sum += d * d * h
				}
				return sum
			}
			want := midpoints(c.from, c.x, 0) + midpoints(c.x, c.to, 1)
			if !near(c.got, want, 1e-6) {
				t.Errorf("got %.9f, integral %.9f", c.got, want)
			}
		})
	}
}

func TestEdges(t *testing.T) {
	cases := []struct {
		name      string
		got, want float64
	}{
		{"certain and right", Log(1), 0},
		{"called impossible", Log(0), math.Inf(1)},
		{"interval, all of it", IntervalLog(0, 1), 0},
		{"interval, not yet", IntervalLog(0.25, 1), -math.Log(0.75)},
		{"interval called impossible", IntervalLog(0.4, 0.4), math.Inf(1)},
		{"interval backwards", IntervalLog(0.5, 0.4), math.NaN()},
		{"no probability", Brier(1.2, true), math.NaN()},
		{"NaN probability", Brier(math.NaN(), true), math.NaN()},
		{"probabilities that do not sum", BrierCategories([]float64{0.5, 0.4}, 0), math.NaN()},
		{"no such category", BrierCategories([]float64{0.5, 0.5}, 2), math.NaN()},
		{"one category is not ordered", RankedProbability([]float64{1}, 0), math.NaN()},
		{"no quantile", Pinball(1, 2, 3), math.NaN()},
		{"interval the wrong way round", IntervalWidth(3, 2, 0.1, 2.5), math.NaN()},
		{"negative spread", CRPSNormal(0, -1, 0), math.NaN()},
		{"no spread", CRPSNormal(2, 0, 5), 3},
		{"no spread, log", CRPSLogNormal(math.Log(2), 0, 5), 3},
		{"no calls", MeanBrier(nil), math.NaN()},
	}
	for _, c := range cases {
		if !near(c.got, c.want, 1e-12) && !(math.IsNaN(c.want) && math.IsNaN(c.got)) && c.got != c.want {
			t.Errorf("%s: got %v, want %v", c.name, c.got, c.want)
		}
	}
}

// A proper score is least, in expectation, for the forecast that is true.
func TestRulesAreProper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := rapid.Float64Range(0.01, 0.99).Draw(t, "truth")
		said := rapid.Float64Range(0.01, 0.99).Draw(t, "said")
		rules := map[string]func(p float64, happened bool) float64{
			"Brier": Brier,
			"BrierCategories": func(p float64, happened bool) float64 {
				return BrierCategories([]float64{p, 1 - p}, index(happened))
			},
			"RankedProbability": func(p float64, happened bool) float64 {
				return RankedProbability([]float64{p, 1 - p}, index(happened))
			},
			"IntervalLog": func(p float64, happened bool) float64 {
				if happened {
					return IntervalLog(0, p)
				}
				return IntervalLog(p, 1)
			},
		}
		for name, rule := range rules {
			expected := func(p float64) float64 { return truth*rule(p, true) + (1-truth)*rule(p, false) }
			if expected(said) < expected(truth)-1e-12 {
				t.Fatalf("%s rewards saying %v where %v is true", name, said, truth)
			}
		}
	})
}

func index(happened bool) int {
	if happened {
		return 0
	}
	return 1
}
