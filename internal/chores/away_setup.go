package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/away"
	"underlog/internal/fuse"
	"underlog/internal/husbandry"
	"underlog/internal/renewal"
	"underlog/internal/units"
)

// wants is what a bin wants before a trip.
type wants struct {
	water    bool    // to be felt, and given a dose for what is felt
	handfuls float64 // of leaves
	risk     float64 // odds of harm before the return if nobody does anything
}

// wants works out what a bin still wants before a trip. Both the list of the
// trip and the chore come from here.
func (h *Household) wants(b *binState, j *journey) (w wants) {
	if j.setUp.IsZero() {
		return w
	}
	opens := j.setUpOpens()
	since := func(whats ...string) bool {
		return slices.ContainsFunc(b.past.entries, func(e *husbandry.Entry) bool {
			return !e.At.Before(opens) && slices.Contains(whats, e.What)
		})
	}
	w.risk = b.damp.riskBy(j.from, j.home())
	w.water = (w.risk > away.Tolerance || h.isDryFor(away.LidWorth, b, j)) && !since(husbandry.Feel, husbandry.Water, husbandry.Renew)
	if !since(husbandry.AddLeaves, husbandry.Renew) {
		w.handfuls = h.leavesFor(b, j.setUp, j.home())
	}
	return w
}

// isDryFor says whether a bin's surface is expected to feel dry on more than so
// many days of a trip if nobody does anything. The last days say so soonest.
func (h *Household) isDryFor(days float64, b *binState, j *journey) bool {
	sum := 0.0
	for _, end := range slices.Backward(j.ends) {
		if !end.After(h.at) {
			break
		}
		if sum += b.damp.dryAt(end); sum > days {
			return true
		}
	}
	return false
}

// setUpOpens is when it begins to count that a bin is got ready.
func (j *journey) setUpOpens() time.Time { return j.leaves.AddDate(0, 0, -1) }

// setUpShown is how long before that the chore is shown.
const setUpShown = day

// setUpChore says what a bin wants before the next trip; ok is false where
// there is none soon, or it wants nothing.
func (h *Household) setUpChore(b *binState) (chore husbandry.Chore, ok bool) {
	for _, trip := range h.Trips {
		j, readable := h.journey(trip)
		if !readable || j.setUp.IsZero() || !trip.Has(b.past.bin.ID) || h.at.Before(j.setUpOpens().Add(-setUpShown)) {
			continue
		}
		w := h.wants(b, &j)
		if !w.water && w.handfuls == 0 {
			continue
		}
		chore = window(b.past.bin.ID, husbandry.ChoreSetUp, j.setUpOpens(), j.setUpOpens().Add(roundHour), j.leaves.Add(LeftBy))
		chore.Of, chore.Handfuls, chore.Odds = trip.ID, w.handfuls, w.risk
		if w.water {
			h.feelDue(b)
			if !b.feel.readyAt.Equal(j.setUp) {
				b.feel.readyAt, b.feel.ready = j.setUp, b.damp.dosesIf(later(j.setUp, b.damp.last), beforeTrip, units.System(h.Room.Units))
			}
			chore.DoseIfML = b.feel.ready
			chore.DoseML = chore.DoseIfML[husbandry.FeelWords[usuallyFound]]
		}
		because(&chore, husbandry.Why{Code: husbandry.WhyTrip, At: j.leaves, Odds: w.risk}, h.at)
		return chore, true
	}
	return chore, false
}

// leavesFor is the handfuls of leaves that a bin is given at an instant so that
// its ground is not bare before the return.
func (h *Household) leavesFor(b *binState, at, home time.Time) float64 {
	if b.litter.odds(home).Dry < bareAway {
		return 0
	}
	missing := 1 - b.litter.level(at).Mean
	return math.Max(0.5, math.Round(2*missing*fullHandfuls(b.past.bin))/2)
}

// turning lists what lies in a bin and would turn mouldy before the return.
func (h *Household) turning(past *history, j *journey, home time.Time) []Lying {
	var list []Lying
	at := j.setUp
	if at.IsZero() {
		return nil
	}
	for _, f := range lying(past.feedings, at) {
		piece := h.piece(past, f)
		if mouldy := h.mouldyUntil(piece, f.At, at, home); mouldy >= mouldAway {
			list = append(list, Lying{Of: f.ID, Food: f.food.Slug, Since: f.At, Pieces: max(1, f.Pieces), Mouldy: math.Round(mouldy*1e4) / 1e4})
		}
	}
	return list
}

// mouldyUntil is the highest odds that a piece is mouldy and not gone between
// two instants.
func (h *Household) mouldyUntil(piece fuse.Piece, fed, from, to time.Time) float64 {
	var hours []float64
	for t := from; t.Before(to); t = t.Add(day) {
		if after := t.Sub(fed).Hours(); after > 0 {
			hours = append(hours, after)
		}
	}
	hours = append(hours, math.Max(1, to.Sub(fed).Hours()))
	highest := 0.0
	for _, odds := range h.food.Forecast(piece, hours) {
		highest = math.Max(highest, odds.Mouldy)
	}
	return highest
}

// slowFood is the food that is least likely to be mouldy before an end if it
// is put in at an instant, where any may be left so long.
func (h *Household) slowFood(springtails bool, from, to time.Time) AwayFood {
	best := AwayFood{Mouldy: mouldAway}
	slugs := make([]string, 0, len(h.Foods))
	for slug := range h.Foods {
		slugs = append(slugs, slug)
	}
	slices.Sort(slugs)
	for _, slug := range slugs {
		food := h.Foods[slug]
		if food.Deleted || food.OffMenu || !isMeal(food) {
			continue
		}
		piece := h.pieceAnywhere(food, from, h.drying.temperature(from.Add(12*time.Hour)), springtails)
		if mouldy := h.mouldyUntil(piece, from, from, to); mouldy < best.Mouldy {
			best = AwayFood{food.Slug, mouldy}
		}
	}
	best.Mouldy = math.Round(best.Mouldy*1e4) / 1e4
	return best
}

// renewals are the renewals that would fall into a trip, by bin, with the weeks
// that the levelling has for them if it keeps off the trip. One that is overdue
// already is left to the plan of renewals.
func (r *Room) renewals(j *journey) map[string]*AwayRenewal {
	if j.setUp.IsZero() {
		return nil
	}
	moved := map[string]*AwayRenewal{}
	h := r.household
	for _, b := range r.bins {
		on, planned := h.plannedRenewal(b)
		if !planned {
			on, _ = h.wantsRenewal(b)
		}
		on = dayStart(on.In(j.leaves.Location()))
		if !on.Before(j.leaves) && !on.After(j.returns) {
			moved[b.past.bin.ID] = &AwayRenewal{Was: on.Format(time.DateOnly)}
		}
	}
	if len(moved) == 0 {
		return nil
	}
	calendar, err := r.renewalsAround(renewal.Steady, append(slices.Clone(h.Trips), j.trip))
	if err != nil { // a trip that leaves no week: then the plan stays as it is
		return nil
	}
	for _, block := range calendar.Blocks {
		if one := moved[block.Bin]; one != nil && block.Nth == 0 {
			if calendar.Away[block.Week] { // a hand has put it there
				delete(moved, block.Bin)
				continue
			}
			week := calendar.Weeks[block.Week]
			one.Week, one.Before = week.Format(time.DateOnly), week.Before(j.leaves)
		}
	}
	return moved
}
