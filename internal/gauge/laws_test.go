package gauge

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawEvents draws a history of any kind: fast or slow, wet or dry, honest or
// absurd.
func drawEvents(t *rapid.T, p Params, most int) []Event {
	n := rapid.IntRange(0, most).Draw(t, "events")
	events := make([]Event, n)
	hours, clock := 0.0, 0.0
	for i := range events {
		hours += rapid.Float64Range(0, 400).Draw(t, "wait")
		clock += p.FullClock * rapid.Float64Range(0, 0.4).Draw(t, "drying")
		events[i] = Event{
			Clock: clock, Hours: hours,
			Kind:   EventKind(rapid.IntRange(0, int(Nothing)).Draw(t, "kind")),
			Word:   rapid.IntRange(0, p.Words-1).Draw(t, "word"),
			Person: rapid.IntRange(0, 2).Draw(t, "person"),
			Amount: p.FullDose * rapid.Float64Range(0, 0.6).Draw(t, "amount"),
			Spread: rapid.Float64Range(0.02, 0.3).Draw(t, "spread"),
		}
	}
	return events
}

func drawGauge(t *rapid.T) Params {
	all := everyGauge()
	return all[rapid.SampledFrom([]string{"dampness", "litter", "substrate", "supplies"}).Draw(t, "gauge")]
}

func replayed(p Params, events []Event) *Filter {
	f := New()
	f.Reset(p, p.Rate, nil)
	f.Replay(events)
	return f
}

func futuresOf(f *Filter, p Params) []Future {
	var futures []Future
	for i := range 20 {
		h := float64(i) * 17
		futures = append(futures, Future{Clock: f.clock + p.FullClock*0.002*h, Hours: f.hours + h})
	}
	return futures
}

func TestOddsAreOddsWhateverHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		f := replayed(p, drawEvents(t, p, 60))
		if total := f.total(); math.Abs(total-1) > 1e-6 {
			t.Fatalf("mass is %v", total)
		}
		for i, o := range f.Forecast(nil, futuresOf(f, p)) {
			if !(o.Dry >= 0 && o.Dry <= 1 && o.Risk >= 0 && o.Risk <= 1) {
				t.Fatalf("moment %d: %+v", i, o)
			}
		}
		for _, fan := range f.Fans(nil, futuresOf(f, p)) {
			if !slices.IsSorted(fan[:]) || math.IsNaN(fan[0]) {
				t.Fatalf("fan %v", fan)
			}
		}
		if dose := f.DoseToRefill(1, 1.1, 0.05); !(dose >= 0 && dose <= 2*p.FullDose) {
			t.Fatalf("dose %v", dose)
		}
	})
}

func TestNotANumberIsNoTime(t *testing.T) {
	p := Dampness(0.034, 0.05)
	f := replayed(p, season())
	want := f.Now()
	f.Advance(math.NaN(), math.NaN())
	f.Advance(math.Inf(-1), -5)
	f.Dose(math.NaN())
	f.Dose(-3)
	f.Read(9, 0)
	f.Read(-1, 0)
	if got := f.Now(); got != want {
		t.Errorf("odds %+v, want %+v", got, want)
	}
	f.Advance(math.Inf(1), math.Inf(1))
	if o := f.Now(); !(o.Dry > 0.9 && o.Dry <= 1) {
		t.Errorf("after endless time %+v", o)
	}
}

func TestOddsNeverFallWithTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		f := replayed(p, drawEvents(t, p, 20))
		last := f.Now()
		for i, o := range f.Forecast(nil, futuresOf(f, p)) {
			if o.Dry < last.Dry || o.Risk < last.Risk {
				t.Fatalf("moment %d: %+v after %+v", i, o, last)
			}
			last = o
		}
	})
}

// The more the clock has run by a given hour, the more likely dry, to 0.003:
// process noise grows with the clock and may pull odds near 1 back by that.
func TestMoreClockIsNeverWetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		f := replayed(p, drawEvents(t, p, 20))
		hours := f.hours + rapid.Float64Range(0, 500).Draw(t, "hours")
		less := rapid.Float64Range(0, 1).Draw(t, "less") * p.FullClock
		more := less + rapid.Float64Range(0, 1).Draw(t, "more")*p.FullClock
		a, b := f.at(Future{Clock: f.clock + less, Hours: hours}), f.at(Future{Clock: f.clock + more, Hours: hours})
		if b.Dry < a.Dry-0.003 || b.Risk < a.Risk-0.003 {
			t.Fatalf("more clock: %+v, less: %+v", b, a)
		}
	})
}

// To 0.003: a larger dose is also a less certain one.
func TestMoreWaterNeverDriesSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		events := drawEvents(t, p, 20)
		little, much := replayed(p, events), replayed(p, events)
		amount := rapid.Float64Range(0, 0.5).Draw(t, "amount") * p.FullDose
		little.Dose(amount)
		much.Dose(amount + rapid.Float64Range(0, 0.5).Draw(t, "more")*p.FullDose)
		for i, future := range futuresOf(little, p) {
			a, b := little.at(future), much.at(future)
			if b.Dry > a.Dry+0.003 || b.Risk > a.Risk+0.003 {
				t.Fatalf("moment %d: more water %+v, less %+v", i, b, a)
			}
		}
	})
}

// At the moment of the reading, a driest word leaves the surface at no level
// less likely to be below it than it was, and a wettest word at none more. Not
// so for later moments: a dry word may teach that the bin started drier.
func TestADryWordNeverRaisesTheSurface(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		events := drawEvents(t, p, 20)
		wait := Event{Clock: 1e9, Hours: 0, Kind: Nothing}
		if n := len(events); n > 0 {
			wait.Clock, wait.Hours = events[n-1].Clock+0.1*p.FullClock, events[n-1].Hours+50
		} else {
			wait.Clock = 0
		}
		events = append(events, wait)
		before, dry, wet := replayed(p, events), replayed(p, events), replayed(p, events)
		before.settle()
		dry.settle()
		wet.settle()
		dry.Read(0, 0)
		wet.Read(p.Words-1, 0)
		for level := 0.1; level < 2; level += 0.06 {
			b := before.SurfaceBelow(level)
			if d := dry.SurfaceBelow(level); d < b-0.003 {
				t.Fatalf("after a dry word %v below %.2f, before %v", d, level, b)
			}
			if w := wet.SurfaceBelow(level); w > b+0.003 {
				t.Fatalf("after a wet word %v below %.2f, before %v", w, level, b)
			}
		}
	})
}

func TestAskingChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		events := drawEvents(t, p, 30)
		silent, asked := replayed(p, events), New()
		asked.Reset(p, p.Rate, nil)
		for i := range events {
			asked.Take(&events[i])
			asked.Forecast(nil, futuresOf(asked, p))
			asked.Surface()
			asked.Rate()
			asked.DoseToRefill(1, 1, 0.1)
		}
		if silent.Now() != asked.Now() || silent.weight != asked.weight {
			t.Fatal("a filter that was asked differs from one that was not")
		}
	})
}

func TestAFilterMayBeReused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawGauge(t), drawGauge(t)
		events := drawEvents(t, p, 20)
		fresh := replayed(p, events)
		used := replayed(q, drawEvents(t, q, 20))
		used.Reset(p, p.Rate, nil)
		used.Replay(events)
		if fresh.weight != used.weight || fresh.Now() != used.Now() || fresh.Evidence() != used.Evidence() {
			t.Fatal("what the filter followed before shows")
		}
	})
}

// The grid takes short cuts where the way of an edge is simple; a forecast does not.
func TestMovingTheGridIsTheForecastOfItsEdges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawGauge(t)
		f := replayed(p, drawEvents(t, p, 10))
		f.settle()
		f.Dose(rapid.SampledFrom([]float64{0, 0.02, 0.3, 1.5}).Draw(t, "dose") * p.FullDose)
		clock, hours := rapid.Float64Range(0, 0.8).Draw(t, "clock"), rapid.Float64Range(0.1, 230).Draw(t, "hours")
		f.p.DriftPerMonth = 0
		f.Advance(f.clock+clock*p.FullClock, f.hours+hours)
		var want [levelCells]float64
		v := f.view(Future{Clock: f.clock, Hours: f.hours})
		for j := 1; j < levelCells; j++ {
			want[j] = v.below(float64(j)*cell, 0)
		}
		f.settle()
		below := 0.0
		for j := 1; j < levelCells; j++ {
			for r := f.first; r < f.end; r++ {
				below += f.row(r)[j-1] / v.total
			}
			if math.Abs(below-want[j]) > 1e-9 {
				t.Fatalf("edge %d: grid %.12f, forecast %.12f", j, below, want[j])
			}
		}
	})
}

func TestForecastAgreesWithStepping(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 3))
	p := Dampness(0.034, 0.05)
	for range 60 {
		truth := drawTruth(p, p.Rate, random)
		f := New()
		f.Reset(p, p.Rate, nil)
		truth.season(random.IntN(12), 0.4, 0, func(e Event) { f.Take(&e) })
		var futures []Future
		for day := 3.5; day <= 14; day += 3.5 {
			futures = append(futures, Future{Clock: f.clock + 9.6*day, Hours: f.hours + 24*day})
		}
		forecast := f.Forecast(nil, futures)
		for i, future := range futures {
			f.Advance(future.Clock, future.Hours)
			f.settle()
			near(t, "odds of dry", forecast[i].Dry, f.at(future).Dry, 0.01)
			near(t, "odds of risk", forecast[i].Risk, f.at(future).Risk, 0.01)
		}
	}
}

func TestNoDataLeavesThePrior(t *testing.T) {
	for name, p := range everyGauge() {
		f := New()
		f.Reset(p, p.Rate, nil)
		if r := f.Rate(); math.Abs(r.LogMedian-p.Rate.LogMedian) > 1e-9 || math.Abs(r.LogSpread-p.Rate.LogSpread) > 0.01 {
			t.Errorf("%s: rate %+v at the start, want %+v", name, r, p.Rate)
		}
		start := f.Rate()
		f.Advance(3*p.FullClock, 5000)
		f.settle()
		if r := f.Rate(); math.Abs(r.LogMedian-start.LogMedian) > 1e-9 || math.Abs(r.LogSpread-start.LogSpread) > 1e-9 {
			t.Errorf("%s: rate %+v after 200 days without a look, want %+v", name, r, start)
		}
		if f.Evidence() != 0 {
			t.Errorf("%s: evidence %v without a word", name, f.Evidence())
		}
	}
}

// A rate far from its prior's centre drifts as widely as any, and back by half
// the slope of the prior's log density: the diffusion whose rest is the prior.
func TestARateDriftsAsWidelyFarFromThePriorAsNearIt(t *testing.T) {
	p := Dampness(0.034, 0.05)
	for _, from := range []int{rateRows / 2, rateRows/2 + 4, rateRows/2 + 8} {
		f := New()
		f.Reset(p, p.Rate, nil)
		for r := range rateRows {
			row := f.row(r)
			for j := range row {
				row[j] = 0
				if r == from {
					row[j] = 1.0 / levelCells
				}
			}
		}
		const hours = 100.0
		f.drift(hours)
		f.fresh = false
		got, v := f.Rate(), square(p.DriftPerMonth)*hours/720
		pull := -0.5 * v * (logRate(from) - p.Rate.LogMedian) / square(p.Rate.LogSpread)
		if ratio := square(got.LogSpread) / v; math.Abs(ratio-1) > 0.02 {
			t.Errorf("from %.2f: %.3f of the variance", logRate(from), ratio)
		}
		if moved := got.LogMedian - logRate(from); math.Abs(moved-pull) > 0.05*math.Abs(pull)+1e-9 {
			t.Errorf("from %.2f: moved by %.6f, want %.6f", logRate(from), moved, pull)
		}
	}
}

// total is all of the posterior mass.
func (f *Filter) total() float64 {
	total := 0.0
	for r := range rateRows {
		if r >= f.first && r < f.end {
			total += sumOf(f.row(r))
		} else {
			total += f.outer[r]
		}
	}
	return total
}

// Rows that hold hardly anything are followed by their mass alone. That must
// not be seen in any odds, nor in what is believed of the rate.
func TestRowsLetGoAreNotMissed(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	fewest := rateRows
	gauges := everyGauge()
	for _, name := range slices.Sorted(maps.Keys(gauges)) {
		p := gauges[name]
		for range 20 {
			whole, kept := New(), New()
			whole.least = 0
			whole.Reset(p, p.Rate, nil)
			kept.Reset(p, p.Rate, nil)
			truth := drawTruth(p, p.Rate, random)
			truth.season(60, p.FullClock/300, 0, func(e Event) {
				whole.Take(&e)
				kept.Take(&e)
				want, got := whole.Now(), kept.Now()
				if math.Abs(got.Dry-want.Dry) > 5e-4 || math.Abs(got.Risk-want.Risk) > 5e-4 {
					t.Fatalf("%s: %+v with the rows kept, %+v with all", name, got, want)
				}
			})
			whole.prepare()
			kept.prepare()
			for r := range rateRows {
				if a, b := kept.mass(r), whole.mass(r); math.Abs(a-b) > 5e-4 {
					t.Fatalf("%s: mass %g of row %d, %g with all", name, a, r, b)
				}
			}
			fewest = min(fewest, kept.end-kept.first)
		}
	}
	if fewest > 16 {
		t.Errorf("at least %d rows were kept: nothing was saved", fewest)
	}
}
