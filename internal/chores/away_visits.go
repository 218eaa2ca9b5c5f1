package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/away"
	"underlog/internal/husbandry"
)

func (r *Room) visits(j *journey, all []*traveller, problem *away.Trip, plan *away.Outcome) []AwayVisit {
	visits := []AwayVisit{}
	for _, day := range plan.Days {
		visit := AwayVisit{
			Day: day, Date: j.hour(day, 0).Format(time.DateOnly), From: j.hour(day, j.trip.FromHour), To: j.hour(day, j.trip.ToHour),
			Stops: []AwayStop{},
		}
		foods := map[bool]AwayFood{}
		for _, springtails := range []bool{true, false} {
			foods[springtails] = r.household.slowFood(springtails, visit.To, j.home())
		}
		for i, t := range all {
			if !slices.Contains(plan.Served[i], day) {
				continue
			}
			stop := AwayStop{
				Bin: t.past.bin.ID, End: t.past.bin.DampEnd, DoseIfML: t.served.doses,
				DoseML: t.served.doses[husbandry.FeelWords[usuallyFound]], Closed: problem.Bins[i].Closed,
				Harm: math.Round(problem.Bins[i].By(plan.Served[i], day)*1e4) / 1e4,
			}
			if t.hungry(visit.To) {
				stop.Food = foods[t.past.bin.Springtails].Slug
			}
			visit.Stops = append(visit.Stops, stop)
		}
		visits = append(visits, visit)
	}
	return visits
}

// hungry says whether a bin has had no meal for long.
func (t *traveller) hungry(at time.Time) bool {
	for i := len(t.past.feedings) - 1; i >= 0; i-- {
		if f := t.past.feedings[i]; !f.food.Stays {
			return at.Sub(f.At) >= hungryDays*day
		}
	}
	return true
}
