package chores

import (
	"math"
	"time"

	"underlog/internal/husbandry"
	"underlog/internal/renewal"
)

// usualRenewMonths is the usual goal between renewals: common practice, no
// source; three months is better for production.
const usualRenewMonths = 6

// renewalRest is the time after a renewal in which a plan for the next one is
// taken for the plan of the one that was done (judgement).
const renewalRest = 28 * day

func goalMonths(bin husbandry.Bin) float64 {
	if bin.RenewMonths > 0 {
		return bin.RenewMonths
	}
	return usualRenewMonths
}

// wantsRenewal is when a bin's substrate should be renewed: at the goal after
// the last renewal, earlier if it is mostly frass before.
func (h *Household) wantsRenewal(b *binState) (due time.Time, early bool) {
	from := b.renewed
	if from.IsZero() { // nothing at all is known of the bin
		from = h.at
	}
	whole, part := math.Modf(goalMonths(b.past.bin))
	goal := dayStart(from.In(h.at.Location())).AddDate(0, int(whole), int(part*monthDays)).Add(roundHour)
	if last(b.past.entries, husbandry.Substrate) == nil {
		return goal, false
	}
	if b.frass == nil {
		used := b.fresh.crossing(frassDue, b.frassOdds)
		b.frass = &used
	}
	if b.frass.Before(goal.Add(-14 * day)) {
		return *b.frass, true
	}
	return goal, false
}

func (b *binState) frassOdds(t time.Time) float64 { return b.fresh.odds(t).Dry }

// plannedRenewal is the day on which the keeper's plan has the bin's next
// renewal; ok is false where there is none.
func (h *Household) plannedRenewal(b *binState) (on time.Time, ok bool) {
	on, err := time.ParseInLocation(time.DateOnly, b.past.bin.RenewOn, h.at.Location())
	if err != nil || b.renewedKnown && on.Before(b.renewed.Add(renewalRest)) {
		return time.Time{}, false
	}
	return on, true
}

// renewChore says when to renew the substrate: in the week in which the plan
// has it, and without a plan when the bin wants it. Much frass does not wait
// for a plan.
func (h *Household) renewChore(b *binState) husbandry.Chore {
	at, bin := h.at, b.past.bin
	due, early := h.wantsRenewal(b)
	odds := b.frassOdds(at)
	on, planned := h.plannedRenewal(b)
	var chore husbandry.Chore
	var why husbandry.Why
	switch {
	case planned && !(early && due.Before(on)):
		chore = window(bin.ID, husbandry.ChoreRenew, on, on.AddDate(0, 0, 6).Add(roundHour), on.Add(60*day))
		why = husbandry.Why{Code: husbandry.WhyPlanned, At: on}
	case early:
		why = husbandry.Why{Code: husbandry.WhyFrass, Odds: odds}
	default:
		why = husbandry.Why{Code: husbandry.WhyAge, Months: goalMonths(bin)}
	}
	if chore.Bin == "" {
		chore = window(bin.ID, husbandry.ChoreRenew, due.Add(-14*day), due, due.Add(60*day))
		if b.renewedKnown {
			why.At = b.renewed
		}
	}
	chore.Odds = odds
	because(&chore, why, at)
	return chore
}

// Renewals lays out the coming year's renewals of all bins, off the weeks of
// trips. Young that were seen keep their bin's substrate where it is for a
// fortnight.
func (r *Room) Renewals(order renewal.Order) (renewal.Calendar, error) {
	return r.renewalsAround(order, r.household.Trips)
}

func (r *Room) renewalsAround(order renewal.Order, trips []husbandry.Trip) (renewal.Calendar, error) {
	h := r.household
	var away []renewal.Span
	for _, trip := range trips {
		from, err := time.ParseInLocation(time.DateOnly, trip.Leaves, h.at.Location())
		to, err2 := time.ParseInLocation(time.DateOnly, trip.Returns, h.at.Location())
		if err == nil && err2 == nil {
			away = append(away, renewal.Span{From: from, To: to})
		}
	}
	bins := make([]renewal.Bin, 0, len(r.bins))
	for _, b := range r.bins {
		wants, _ := h.wantsRenewal(b)
		every := time.Duration(goalMonths(b.past.bin) * monthDays * float64(day))
		bin := renewal.Bin{ID: b.past.bin.ID, Wants: dayStart(wants.In(h.at.Location())), Every: every}
		if young := last(b.past.entries, husbandry.Young); young != nil {
			bin.Young = dayStart(young.At.In(h.at.Location()))
		}
		if on, planned := h.plannedRenewal(b); planned {
			bin.On, bin.Moved = on, b.past.bin.RenewMoved
		}
		bins = append(bins, bin)
	}
	return renewal.Year(bins, away, dayStart(h.at), order)
}
