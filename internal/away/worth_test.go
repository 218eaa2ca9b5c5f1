package away

import (
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drying makes a bin that dries at some pace, its surface before its depth.
func drying(id string, chance *rand.Rand, last int) Bin {
	pace := 0.02 + 0.15*chance.Float64()
	begin := 0.5 * chance.Float64()
	harm := func(days float64) float64 { return min(1, max(0, pace*(days-4)/4)) }
	dry := func(days float64) float64 { return min(1, max(0, pace*days*2)) }
	b := Bin{ID: id,
		Served:    func(from, by int) float64 { return harm(float64(by - from)) },
		ServedDry: func(from, on int) float64 { return dry(float64(on - from)) },
	}
	for day := range last + 1 {
		b.Untouched = append(b.Untouched, harm(float64(day)+begin*8))
		b.Dry = append(b.Dry, dry(float64(day)+begin*8))
	}
	return b
}

// Of all ways to open a bin on the days of the visits that keep its deadlines
// none costs less.
func TestLidsAreOpenedWhereTheyAreWorthIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		trip := Trip{Last: rapid.IntRange(1, 14).Draw(t, "last")}
		for day := range trip.Last {
			if chance.Float64() < 0.6 {
				trip.Days = append(trip.Days, day)
			}
		}
		for range 4 {
			trip.Bins = append(trip.Bins, drying("b", chance, trip.Last))
		}
		plan := trip.Plan(0.05, rapid.IntRange(0, 2).Draw(t, "more"))
		lids := 0
		for i := range trip.Bins {
			b := &trip.Bins[i]
			lids += len(plan.Served[i])
			chain := trip.chain(b, 0.05).seen(b.Seen)
			cost := func(served []int) float64 {
				sum, from := LidWorth*float64(len(served)), -1
				for day := range trip.Last + 1 {
					sum += b.dryOn(from, day)
					if slices.Contains(served, day) {
						from = day
					}
				}
				return sum
			}
			if !mayBe(trip, chain, plan.Days, plan.Served[i]) {
				t.Fatalf("served on %v of %v, which keeps no deadlines %+v", plan.Served[i], plan.Days, chain)
			}
			for set := range 1 << len(plan.Days) {
				served := pick(plan.Days, set)
				if mayBe(trip, chain, plan.Days, served) && cost(served) < cost(plan.Served[i])-1e-9 {
					t.Fatalf("served on %v of %v for %.3f; %v costs %.3f (%d bits)", plan.Served[i], plan.Days, cost(plan.Served[i]), served, cost(served), bits.OnesCount(uint(set)))
				}
			}
		}
		if plan.Lids != lids {
			t.Fatalf("%d lids, %d counted", plan.Lids, lids)
		}
	})
}

// mayBe says whether services keep deadlines, or come on the next of the visits.
func mayBe(trip Trip, c Chain, days, served []int) bool {
	from, by := -1, c.First
	for _, day := range append(slices.Clone(served), trip.Last) {
		next := trip.Last
		for _, d := range days {
			if d > from {
				next = d
				break
			}
		}
		if day > by && day != next {
			return false
		}
		if from = day; day < trip.Last {
			by = max(c.First, c.Next[day])
		}
	}
	return true
}

// A bin that is better left shut is opened for its deadlines alone.
func TestAClosedBinIsNotOpenedForItsSurface(t *testing.T) {
	pressing, slow := falling("pressing", 0.001, 0.001, 0.001), falling("slow", 0.0001, 0.0001, 0.0001)
	for _, b := range []*Bin{&pressing, &slow} {
		b.ServedDry = func(from, on int) float64 { return min(1, float64(on-from)/4) }
		for day := range 15 {
			b.Dry = append(b.Dry, min(1, float64(day)/4))
		}
	}
	closed := slow
	closed.ID, closed.Closed = "closed", true
	plan := everyDay(8, pressing, slow, closed).Plan(0.05, 0)
	if len(plan.Days) == 0 || len(plan.Served[1]) == 0 || len(plan.Served[2]) != 0 {
		t.Errorf("visits on %v; open on %v, closed on %v", plan.Days, plan.Served[1], plan.Served[2])
	}
}
