package chores

import (
	"math"
)

// LeavesPerDay is how many handfuls of leaves all bins use up in a day, each at
// the pace that its litter gauge has learnt.
func (r *Room) LeavesPerDay() float64 {
	sum := 0.0
	for _, b := range r.bins {
		sum += fullHandfuls(b.past.bin) / fullLitterDays * math.Exp(b.litter.filter.Rate().LogMedian)
	}
	return sum
}

// SubstratePerDay is how many litres of new substrate the renewals of all bins
// take in a day, each at its goal.
func (r *Room) SubstratePerDay() float64 {
	sum := 0.0
	for _, b := range r.bins {
		sum += b.past.bin.SubstrateLitres() / (goalMonths(b.past.bin) * monthDays)
	}
	return sum
}
