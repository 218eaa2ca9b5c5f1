package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/away"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// LeftBy is the hour on the day of leaving from which on nobody is at home
// (judgement).
const LeftBy = 12 * time.Hour

// Rules of a trip; judgement.
const (
	homeHour   = 20   // by when one is back on the last day
	mouldAway  = 0.15 // odds of mould that food left lying may have
	hungryDays = 7    // after so many days without a meal the sitter brings one
	bareAway   = 0.30 // odds of bare ground from which leaves are added
	// A service is foreseen for when this share of the clock to the deadline is
	// gone: visits mostly come late in their windows.
	serviceShare = 0.75
)

// A journey is a trip that is being reckoned with.
type journey struct {
	trip            husbandry.Trip
	leaves, returns time.Time // midnights
	setUp           time.Time // zero if that is past
	from            time.Time // from when on it is reckoned
	ends            []time.Time
	last            int
}

func (h *Household) journey(trip husbandry.Trip) (j journey, ok bool) {
	j.trip = trip
	if j.leaves, j.returns, ok = trip.Span(h.at.Location()); !ok {
		return j, false
	}
	j.last = daysBetween(j.leaves, j.returns)
	for day := range j.last + 1 {
		j.ends = append(j.ends, j.hour(day, trip.ToHour))
	}
	j.ends[j.last] = j.hour(j.last, homeHour)
	if latest := j.leaves.Add(LeftBy); h.at.Before(latest) {
		j.setUp = later(h.at.Truncate(time.Hour), j.leaves.AddDate(0, 0, -1).Add(roundHour))
	}
	j.from = h.at
	return j, true
}

func daysBetween(from, to time.Time) int { return int(math.Round(to.Sub(from).Hours() / 24)) }

// hour is a full hour of one of the trip's days.
func (j *journey) hour(day, hour int) time.Time {
	year, month, date := j.leaves.Date()
	return time.Date(year, month, date+day, hour, 0, 0, 0, j.leaves.Location())
}

func (j *journey) home() time.Time { return j.ends[j.last] }

// comes lists the days, from 0, on which the sitter can still come.
func (j *journey) comes() []int {
	var list []int
	for _, text := range j.trip.Days {
		date, err := time.ParseInLocation(time.DateOnly, text, j.leaves.Location())
		if err != nil {
			continue
		}
		if day := daysBetween(j.leaves, date); day >= 0 && day <= j.last && j.hour(day, j.trip.ToHour).After(j.from) {
			list = append(list, day)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// Away works a trip out. ok is false where its days cannot be read.
func (r *Room) Away(trip husbandry.Trip) (a Away, ok bool) {
	h := r.household
	j, ok := h.journey(trip)
	if !ok {
		return a, false
	}
	a = Away{Stage: StageBefore, SetUpAt: j.setUp, Days: j.ends, Bins: []AwayBin{}, Visits: []AwayVisit{}, Foods: map[string]AwayFood{}, UseUp: []AwayUseUp{}}
	switch {
	case !h.at.Before(j.home()):
		a.Stage = StageBack
	case j.setUp.IsZero():
		a.Stage = StageAway
	}
	system := units.System(h.Room.Units)
	problem := away.Trip{Last: j.last, Days: j.comes()}
	var all []*traveller
	for _, b := range r.bins {
		if !trip.Has(b.past.bin.ID) {
			continue
		}
		t := h.traveller(b, &j, system)
		all = append(all, t)
		problem.Bins = append(problem.Bins, t.asBin(&j))
	}
	r.done(&a, &j)
	a.UseUp = h.useUp(&j)
	moved := r.renewals(&j)
	plan := problem.Plan(away.Tolerance, 0)
	a.Nobody, a.Plan, a.Trades = problem.Nobody().Trade(), plan.Trade(), problem.Trades(plan)
	for i, t := range all {
		t.renew = moved[t.past.bin.ID]
		a.Bins = append(a.Bins, t.answer(&j, &problem, i, &plan))
	}
	a.Visits = r.visits(&j, all, &problem, &plan)
	h.bringLeaves(a.Visits, all, &j)
	a.Cases = h.cases(&j, all, &plan, a.Bins)
	for _, springtails := range []bool{true, false} {
		a.Foods[group(springtails)] = h.slowFood(springtails, later(j.from, j.setUp), j.home())
	}
	return a, true
}

func group(springtails bool) string {
	if springtails {
		return "springtails"
	}
	return "none"
}
