package fuse

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

var allFamilies = []Family{Lognormal, Weibull, Loglogistic, Exponential}

// anySpan draws a span in log time around a location, of every censoring.
func anySpan(t *rapid.T, location, scale float64) (after, by float64) {
	a := location + scale*rapid.Float64Range(-6, 4).Draw(t, "z")
	switch rapid.SampledFrom([]string{"left", "right", "between", "exact"}).Draw(t, "censoring") {
	case "left":
		return math.Inf(-1), a
	case "right":
		return a, math.Inf(1)
	case "exact":
		return a, a
	default:
		return a, a + scale*rapid.Float64Range(0.01, 4).Draw(t, "width")
	}
}

// The derivatives agree with differences of the value.
func TestSlopesAreDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(allFamilies).Draw(t, "family")
		location := rapid.Float64Range(-2, 5).Draw(t, "location")
		logScale := rapid.Float64Range(-1.5, 1).Draw(t, "log scale")
		after, by := anySpan(t, location, math.Exp(logScale))
		at := func(m, l float64) slopes { return f.span(after, by, m, math.Exp(l)) }
		s := at(location, logScale)
		const h = 1e-5
		up, down := at(location+h, logScale), at(location-h, logScale)
		wide, tight := at(location, logScale+h), at(location, logScale-h)
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"m", s.m, (up.value - down.value) / (2 * h)},
			{"l", s.l, (wide.value - tight.value) / (2 * h)},
			{"mm", s.mm, (up.m - down.m) / (2 * h)},
			{"ml", s.ml, (wide.m - tight.m) / (2 * h)},
			{"ll", s.ll, (wide.l - tight.l) / (2 * h)},
		} {
			if math.Abs(c.got-c.want) > 1e-4*math.Max(1, math.Abs(c.want)) {
				t.Errorf("%s: %g, by differences %g", c.name, c.got, c.want)
			}
		}
	})
}

// The fast path of the normal family is the same function, with and without
// slips.
func TestFastNormalIsTheNormal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		location := rapid.Float64Range(-2, 5).Draw(t, "location")
		scale := rapid.Float64Range(0.2, 3).Draw(t, "scale")
		slip := rapid.SampledFrom([]float64{0, 0.002, 0.1}).Draw(t, "slip")
		after, by := anySpan(t, location, scale)
		fast, ok := normalSpan(after, by, location, scale, slip)
		if !ok {
			return
		}
		slow := Lognormal.span(after, by, location, scale)
		if slip > 0 {
			slow = slow.withSlip(slip)
		}
		for name, pair := range map[string][2]float64{
			"value": {fast.value, slow.value}, "m": {fast.m, slow.m}, "l": {fast.l, slow.l},
			"mm": {fast.mm, slow.mm}, "ml": {fast.ml, slow.ml}, "ll": {fast.ll, slow.ll},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-6*math.Max(1, math.Abs(pair[1])) {
				t.Errorf("%s: fast %g, slow %g", name, pair[0], pair[1])
			}
		}
	})
}

// log Phi(-z): z = 5 and 10 from Abramowitz and Stegun 1964, table 26.2
// (-log10 of the tail is 6.54265 and 23.11805); the tail is one function on
// both sides of where its formula changes.
func TestFarNormalTail(t *testing.T) {
	within(t, "z=5", -logNormalTail(5)/math.Ln10, 6.54265, 1e-5)
	within(t, "z=10", -logNormalTail(10)/math.Ln10, 23.11805, 1e-5)
	below, above := logNormalTail(farTail-1e-9), logNormalTail(farTail+1e-9)
	near(t, "where the formula changes", above, below, 1e-9)
	if far := logNormalTail(200); !finite(far) || math.Abs(far+20006.2173) > 1e-3 {
		t.Errorf("log tail at 200: %v", far)
	}
}

// No span and no scale, however odd, gives a value that is not a number.
func TestSpansStayNumbers(t *testing.T) {
	for _, f := range allFamilies {
		for _, location := range []float64{-50, 0, 50} {
			for _, scale := range []float64{0.02, 1, 40} {
				for _, span := range [][2]float64{{math.Inf(-1), 3}, {3, math.Inf(1)}, {3, 3.0000000001}, {-2, 9}, {3, 3}, {math.Inf(-1), math.Inf(1)}} {
					name := fmt.Sprint(f, location, scale, span)
					s := f.span(span[0], span[1], location, scale)
					if math.IsNaN(s.value) || math.IsInf(s.value, 1) {
						t.Errorf("%s: value %v", name, s.value)
					}
					fast, ok := normalSpan(span[0], span[1], location, scale, 0.01)
					if ok && !finite(fast.value, fast.m, fast.l, fast.mm, fast.ml, fast.ll) {
						t.Errorf("%s: fast %+v", name, fast)
					}
				}
			}
		}
	}
}
