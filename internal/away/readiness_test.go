package away

import (
	"math"
	"slices"
	"testing"
)

// falling makes a bin whose odds of harm double daily, after a service anew.
func falling(id string, untouched, ready, served float64) Bin {
	rise := func(begin float64, days int) float64 { return math.Min(1, begin*math.Pow(2, float64(days))) }
	b := Bin{ID: id, Served: func(from, by int) float64 { return rise(served, by-from) }}
	for day := range 15 {
		b.Untouched = append(b.Untouched, rise(untouched, day))
		b.SetUp = append(b.SetUp, rise(ready, day))
	}
	return b
}

func everyDay(last int, bins ...Bin) *Trip {
	t := &Trip{Last: last, Bins: bins}
	for day := range last {
		t.Days = append(t.Days, day)
	}
	return t
}

func TestVerdicts(t *testing.T) {
	tests := []struct {
		name         string
		bin          Bin
		word         string
		visits, last int
	}{
		{"slow", falling("a", 0.0001, 0.0001, 0.0001), Lasts, 0, 7},
		{"saved by a dose", falling("a", 0.001, 0.0001, 0.0001), LastsSetUp, 0, 7},
		{"one visit", falling("a", 0.01, 0.001, 0.001), Visits, 1, 7},
		{"two visits", falling("a", 0.01, 0.002, 0.002), Visits, 2, 12},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			word, visits := everyDay(test.last).Verdict(&test.bin, 0.05)
			if word != test.word || visits != test.visits {
				t.Errorf("%s, %d visits; want %s, %d", word, visits, test.word, test.visits)
			}
		})
	}
}

func TestHarmAddsUpOverTheServices(t *testing.T) {
	b := falling("a", 0.01, 0.01, 0.001)
	served := []int{2}
	want := 1 - (1-0.04)*(1-0.008)
	if got := b.By(served, 5); math.Abs(got-want) > 1e-12 {
		t.Errorf("harm by day 5 is %v, want %v", got, want)
	}
	if got := b.By(served, 1); math.Abs(got-0.02) > 1e-12 {
		t.Errorf("harm by day 1 is %v, want 0.02: the visit has not been", got)
	}
	if got := b.By(served, 2); math.Abs(got-0.04) > 1e-12 {
		t.Errorf("harm by the day of the visit is %v, want 0.04", got)
	}
}

func TestNoPlanPassesTheToleranceBetweenServices(t *testing.T) {
	trip := everyDay(14, falling("a", 0.01, 0.002, 0.002), falling("b", 0.001, 0.001, 0.004), falling("c", 0.0001, 0.00001, 0.001))
	plan := trip.Plan(0.05, 0)
	for i := range trip.Bins {
		from := -1
		for _, day := range append(slices.Clone(plan.Served[i]), trip.Last) {
			odds := at(trip.Bins[i].first(), day)
			if from >= 0 {
				odds = trip.Bins[i].Served(from, day)
			}
			if odds > 0.05 {
				t.Errorf("bin %s has odds of %.3f from day %d to %d", trip.Bins[i].ID, odds, from, day)
			}
			from = day
		}
	}
}

func TestMoreVisitsAreATradeForLessRisk(t *testing.T) {
	trip := everyDay(14, falling("a", 0.01, 0.002, 0.002), falling("b", 0.001, 0.001, 0.004))
	trades := trip.Trades(trip.Plan(0.05, 0))
	if len(trades) < 3 || trades[0].Visits != 0 {
		t.Fatalf("trades %+v", trades)
	}
	for i := 1; i < len(trades); i++ {
		if trades[i].Visits <= trades[i-1].Visits || trades[i].Harmed >= trades[i-1].Harmed {
			t.Errorf("%+v after %+v is no trade", trades[i], trades[i-1])
		}
	}
}
