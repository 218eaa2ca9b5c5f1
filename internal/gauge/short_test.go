package gauge

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// plainBelow is the probability of a level below the given one without any
// short cut: each row is asked where it came from.
func plainBelow(f *Filter, future Future, level, lagShare float64) float64 {
	v := f.view(future)
	odds := 0.0
	for i := range f.ladders {
		r := f.first + i
		y := level - lagShare*v.lag[r]
		switch {
		case y >= topLevel:
			odds += f.ladders[i].total()
		case y > 0:
			m := v.moves[r]
			m.fading()
			odds += f.ladders[i].below(m.sources(y, math.Min(math.Log(y/f.p.Knee), 0)))
		}
	}
	return clamp(odds/v.total, 0, 1)
}

// What is worked out the short way is what the long way comes to.
func TestShortCutsComeOutWhereTheLongWayDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		f := replayed(p, drawEvents(t, p, 30))
		for range 6 {
			if rapid.Bool().Draw(t, "dosed") {
				f.Dose(p.FullDose * rapid.Float64Range(0, 0.8).Draw(t, "dose"))
			}
			hours := rapid.SampledFrom([]float64{0, 1, 30, 300, 3000}).Draw(t, "ahead")
			future := Future{Clock: f.clock + p.FullClock*hours*rapid.Float64Range(0, 0.01).Draw(t, "drying"), Hours: f.hours + hours}
			future.ClockSpread = 0.3 * (future.Clock - f.clock) * rapid.Float64Range(0, 1).Draw(t, "doubt")
			level := rapid.Float64Range(1e-4, topLevel).Draw(t, "level")
			odds := f.OddsAt(future, level)
			for what, both := range map[string][2]float64{
				"risk":    {odds.Risk, plainBelow(f, future, level, 0)},
				"dry":     {odds.Dry, plainBelow(f, future, p.DryLevel(), 1)},
				"store":   {f.StoreBelowAt(future, level), plainBelow(f, future, level, 0)},
				"surface": {f.SurfaceBelowAt(future, level), plainBelow(f, future, level, 1)},
				"now":     {f.StoreBelow(level), plainBelow(f, Future{Clock: f.clock, Hours: f.hours}, level, 0)},
			} {
				if math.Abs(both[0]-both[1]) > 1e-12 {
					t.Fatalf("%s: %v, the long way %v", what, both[0], both[1])
				}
			}
			for range 3 {
				word := rapid.IntRange(0, p.Words-1).Draw(t, "word")
				into, plain := f.If(New(), future, word), New()
				f.CopyTo(plain)
				plain.Advance(future.Clock, future.Hours)
				plain.Read(word, -1)
				if into.evidence != plain.evidence || into.first != plain.first || into.end != plain.end || into.outer != plain.outer {
					t.Fatalf("if %d were read: %v, the long way %v", word, into.evidence, plain.evidence)
				}
				for r := into.first; r < into.end; r++ {
					for j, mass := range into.row(r) {
						if mass != plain.row(r)[j] {
							t.Fatalf("if %d were read: row %d, level %d: %v, the long way %v", word, r, j, mass, plain.row(r)[j])
						}
					}
				}
				if rapid.Bool().Draw(t, "read") {
					f.Read(word, 0)
				}
			}
		}
	})
}

func TestExpAndLnAreThoseOfPackageMath(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-700, 700).Draw(t, "x")
		for _, x := range []float64{x, x / 700, x / 7e9, 0} {
			if got, want := exp(x), math.Exp(x); math.Abs(got-want) > 4e-16*want {
				t.Fatalf("exp(%v) is %v, not %v", x, got, want)
			}
		}
		y := math.Exp(x)
		for _, y := range []float64{y, math.Abs(x) + 1e-300, 1} {
			if got, want := ln(y), math.Log(y); math.Abs(got-want) > 4e-16*math.Max(math.Abs(want), 1e-3) {
				t.Fatalf("ln(%v) is %v, not %v", y, got, want)
			}
		}
	})
}
