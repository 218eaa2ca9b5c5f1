package fuse

import (
	"math"
	"testing"
)

var families = map[string]Family{
	"lognormal": Lognormal, "weibull": Weibull, "loglogistic": Loglogistic, "exponential": Exponential,
}

// Interval-, left- and right-censored fits of the breast-cosmesis data
// (Finkelstein and Wolfe 1985, Biometrics 41:933-945) against R's survreg
// (survival 3.5-3): 16 fits, coefficients, scale and their standard errors to
// 1e-4 relative, log likelihood to 1e-5.
func TestFlatPriorsGiveSurvreg(t *testing.T) {
	checkSurvreg(t, MustRows(t, "breast_cosmesis_survreg.csv"))
}

func checkSurvreg(t *testing.T, rows []map[string]string) {
	t.Helper()
	if len(rows) != 16 {
		t.Fatalf("%d reference fits, want 16", len(rows))
	}
	for _, row := range rows {
		t.Run(row["dist"]+", "+row["set"], func(t *testing.T) {
			grouped := row["set"] == "both+group"
			arm := map[string]string{"RT": "RT", "RCT": "RCT"}[row["set"]]
			cases := cosmesis(t, arm, grouped)
			model := Model{Family: families[row["dist"]], Columns: []Gaussian{Flat()}, LogScale: Flat()}
			if grouped {
				model.Columns = append(model.Columns, Flat())
			}
			p := MustFit(t, model, cases)
			number := func(column string) float64 { return MustNumber(t, row[column]) }
			intercept, se := p.Coefficient(0)
			near(t, "intercept", intercept, number("intercept"), 1e-4)
			near(t, "its standard error", se, number("se_int"), 1e-4)
			if grouped {
				group, se := p.Coefficient(1)
				near(t, "group", group, number("coefRCT"), 1e-4)
				near(t, "its standard error", se, number("se_coef"), 1e-4)
			}
			logScale, se := p.LogScale()
			near(t, "scale", math.Exp(logScale), number("scale"), 1e-4)
			if model.Family != Exponential {
				near(t, "standard error of log scale", se, number("logscale_se"), 1e-4)
			}
			within(t, "log likelihood", p.LogLikelihood, number("loglik"), 1e-5)
		})
	}
}

// Quantiles of the Weibull fit with group, and the fit as proportional
// hazards: hazard ratio 2.4867, likelihood ratio 10.8205 (R survival 3.5-3).
func TestCosmesisWeibullQuantiles(t *testing.T) {
	p := MustFit(t, Model{Family: Weibull, Columns: []Gaussian{Flat(), Flat()}, LogScale: Flat()}, cosmesis(t, "", true))
	pooled := MustFit(t, Model{Family: Weibull, Columns: []Gaussian{Flat()}, LogScale: Flat()}, cosmesis(t, "", false))
	logScale, _ := p.LogScale()
	scale := math.Exp(logScale)
	for _, c := range []struct {
		name     string
		location float64
		share    float64
		want     float64
	}{
		{"radiotherapy, 10 %", p.Dense[0], 0.1, 12.2346},
		{"radiotherapy, 50 %", p.Dense[0], 0.5, 39.3338},
		{"radiotherapy, 90 %", p.Dense[0], 0.9, 82.7903},
		{"with chemotherapy, 10 %", p.Dense[0] + p.Dense[1], 0.1, 6.9558},
		{"with chemotherapy, 50 %", p.Dense[0] + p.Dense[1], 0.5, 22.3625},
		{"with chemotherapy, 90 %", p.Dense[0] + p.Dense[1], 0.9, 47.0690},
	} {
		near(t, c.name, math.Exp(c.location+scale*math.Log(-math.Log1p(-c.share))), c.want, 1e-4)
	}
	near(t, "hazard ratio", math.Exp(-p.Dense[1]/scale), 2.4867, 1e-4)
	within(t, "likelihood ratio", 2*(p.LogLikelihood-pooled.LogLikelihood), 10.8205, 1e-4)
}

// remission returns the 6-MP leukaemia trial (Freireich and others 1963, table
// gehan of R's MASS): weeks, seen exactly or right-censored.
func remission(tb testing.TB) []Case {
	tb.Helper()
	var cases []Case
	for _, row := range MustRows(tb, "gehan_6mp.csv") {
		at := MustNumber(tb, row["time"])
		c := Case{Bin: NoBin, Span: Span{at, at}, Terms: []Term{{0, 1}}}
		if row["cens"] == "0" {
			c.Span = NotYet(at)
		}
		if row["treat"] == "control" {
			c.Terms = append(c.Terms, Term{1, 1})
		}
		cases = append(cases, c)
	}
	return cases
}

// Exact and right-censored times, Weibull with treatment, against survreg.
func TestRemissionWeibull(t *testing.T) {
	want := MustTable(t, "remission_fits.csv")
	p := MustFit(t, Model{Family: Weibull, Columns: []Gaussian{Flat(), Flat()}, LogScale: Flat()}, remission(t))
	near(t, "intercept", p.Dense[0], want["weibull intercept"], 1e-4)
	near(t, "control", p.Dense[1], want["weibull control"], 1e-4)
	near(t, "scale", math.Exp(p.Dense[2]), want["weibull scale"], 1e-4)
	within(t, "log likelihood", p.LogLikelihood, want["weibull loglik"], 1e-5)
}

// feltChecks returns "dry or not" at so many hours after watering: current-
// status data, left-censored when dry and right-censored when not.
func feltChecks(tb testing.TB) []Case {
	tb.Helper()
	var cases []Case
	for _, row := range MustRows(tb, "felt_checks_synthetic.csv") {
		at := MustNumber(tb, row["hours"])
		c := Case{Bin: NoBin, Span: NotYet(at), Terms: []Term{{0, 1}}}
		if row["felt"] == "dry" {
			c.Span = Span{0, at}
		}
		cases = append(cases, c)
	}
	return cases
}

// Lognormal and Weibull current-status fits against survreg; the same models
// are probit and complementary log-log regression on log time (R's glm).
func TestFeltChecksAsCurrentStatus(t *testing.T) {
	want := MustTable(t, "felt_checks_fits.csv")
	for _, name := range []string{"lognormal", "weibull"} {
		t.Run(name, func(t *testing.T) {
			p := MustFit(t, Model{Family: families[name], Columns: []Gaussian{Flat()}, LogScale: Flat()}, feltChecks(t))
			scale := math.Exp(p.Dense[1])
			near(t, "intercept", p.Dense[0], want[name+" intercept"], 1e-4)
			near(t, "scale", scale, want[name+" scale"], 1e-4)
			within(t, "log likelihood", p.LogLikelihood, want[name+" loglik"], 1e-5)
			if name == "lognormal" {
				near(t, "glm's location", p.Dense[0], want["probit glm location"], 1e-4)
				near(t, "glm's scale", scale, want["probit glm scale"], 1e-4)
			} else {
				near(t, "glm's shape", 1/scale, want["cloglog glm shape"], 1e-4)
				near(t, "glm's hours", math.Exp(p.Dense[0]), want["cloglog glm hours"], 1e-4)
			}
		})
	}
}
