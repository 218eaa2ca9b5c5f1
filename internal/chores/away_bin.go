package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/away"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// A traveller is one bin on a trip.
type traveller struct {
	*binState
	untouched *bearing
	ready     *bearing // after the set-up; nil if there is none
	served    *bearing // after a visit; nil if none is needed
	handfuls  float64
	takeOut   []Lying
	renew     *AwayRenewal // out of the way; nil if none is in it
}

// first is what the bin bears until somebody comes.
func (t *traveller) first() *bearing {
	if t.ready != nil {
		return t.ready
	}
	return t.untouched
}

// gained is what the clock of the damp side gains.
func (t *traveller) gained(from, to time.Time) float64 {
	if !to.After(from) {
		return 0
	}
	return t.damp.clock(from, to)
}

// harm is the odds of a bearing by an instant, in air that dries so many times
// as fast as the season's.
func (t *traveller) harm(b *bearing, by time.Time, faster float64) float64 {
	return b.harmBy(faster * t.gained(b.from, by))
}

// traveller forecasts one bin until the return.
func (h *Household) traveller(b *binState, j *journey, system units.System) *traveller {
	t := &traveller{binState: b}
	home := j.home()
	wants := h.wants(b, j)
	t.handfuls, t.takeOut = wants.handfuls, h.turning(b.past, j, home)
	if due, long := h.caredFor(b, j); long {
		// Until then it is cared for as usual, and somewhere between two doses
		// when the trip begins.
		between := min(max(due.Sub(b.damp.last), day), longestUnfelt)
		t.served = b.damp.served(due, b.damp.clock(j.setUp.Add(-between/2), home), home.Sub(j.setUp), nil, system)
		cared, ready := *t.served, *t.served
		cared.from, ready.from = j.setUp.Add(-between/2), j.setUp
		if t.untouched = &cared; t.harm(&cared, home, 1) > away.Tolerance || t.dryDays(j) > away.LidWorth {
			t.ready = &ready
		}
		return t
	}
	reach, span := t.gained(j.from, home), home.Sub(j.from)
	t.untouched = b.damp.untouched(j.from, reach, span)
	var doses map[string]float64
	if wants.water {
		t.ready = b.damp.served(j.setUp, reach, span, nil, system)
		doses = t.ready.doses
	}
	if t.harm(t.first(), home, 1) > away.LeastTolerance || t.dryDays(j) > away.LidWorth || j.last >= away.LongestUnseen {
		t.served = b.damp.served(t.foreseen(home), reach, span, doses, system)
	}
	return t
}

// caredFor is when a bin is due to be felt, and says whether it is cared for so
// long before it is got ready that this counts.
func (h *Household) caredFor(b *binState, j *journey) (due time.Time, long bool) {
	if !h.at.Add(day).Before(j.setUp) {
		return due, false
	}
	due = later(h.feelDue(b), h.at)
	return due, due.Add(day).Before(j.setUp)
}

// dryDays is on how many days of the trip the surface is expected to feel dry
// if nobody comes. A lid that spares all of them is worth no more.
func (t *traveller) dryDays(j *journey) float64 {
	sum := 0.0
	for _, end := range j.ends {
		sum += t.first().dryAt(t.gained(t.first().from, end))
	}
	return sum
}

// foreseen is when the first visit is reckoned to come.
func (t *traveller) foreseen(home time.Time) time.Time {
	b := t.first()
	low, high := b.from, home
	for high.Sub(low) > time.Hour {
		middle := low.Add(high.Sub(low) / 2)
		if t.harm(b, middle, 1) <= away.Tolerance {
			low = middle
		} else {
			high = middle
		}
	}
	return b.from.Add(time.Duration(serviceShare * float64(low.Sub(b.from))))
}

// asBin is the bin as the planner sees it. A visit is reckoned as early as it
// can be for what follows it, and as late as it can be for what it prevents, so
// that the plan holds whenever in their hours the sitter comes.
func (t *traveller) asBin(j *journey) away.Bin {
	bin := away.Bin{ID: t.past.bin.ID, Closed: slices.Contains(j.trip.Closed, t.past.bin.ID), Seen: -1, Untouched: t.byDay(t.untouched, j)}
	if opened := lastOpened(t.past.entries); opened != nil && opened.After(j.left()) {
		bin.Seen = daysBetween(j.leaves, dayStart(opened.In(j.leaves.Location())))
	}
	for _, end := range j.ends {
		bin.Dry = append(bin.Dry, t.first().dryAt(t.gained(t.first().from, end)))
	}
	if t.ready != nil {
		bin.SetUp = t.byDay(t.ready, j)
	}
	if t.served != nil {
		clocks := make([]float64, 2*(j.last+1))
		for day := range j.last + 1 {
			clocks[2*day] = t.gained(j.leaves, later(j.hour(day, j.trip.FromHour), j.from))
			clocks[2*day+1] = t.gained(j.leaves, j.ends[day])
		}
		bin.Served = func(from, by int) float64 { return t.served.harmBy(clocks[2*by+1] - clocks[2*from]) }
		bin.ServedDry = func(from, on int) float64 { return t.served.dryAt(clocks[2*on+1] - clocks[2*from]) }
	}
	return bin
}

func (t *traveller) byDay(b *bearing, j *journey) []float64 {
	odds := make([]float64, len(j.ends))
	for day, end := range j.ends {
		odds[day] = t.harm(b, end, 1)
	}
	return odds
}

func (t *traveller) answer(j *journey, problem *away.Trip, i int, plan *away.Outcome) AwayBin {
	bin := &problem.Bins[i]
	a := AwayBin{
		Bin: bin.ID, Late: plan.Late[i], Closed: bin.Closed, Served: plan.Served[i],
		Untouched: short(bin.Untouched), Cases: []float64{},
	}
	a.Verdict, a.Visits = problem.Verdict(bin, away.Tolerance)
	for day := range j.ends {
		a.Planned = append(a.Planned, bin.By(a.Served, day))
	}
	a.Planned = short(a.Planned)
	if t.ready == nil && t.handfuls == 0 && len(t.takeOut) == 0 && t.renew == nil {
		return a
	}
	a.SetUp = &AwaySetUp{Handfuls: t.handfuls, TakeOut: t.takeOut, Renew: t.renew}
	if t.ready != nil {
		a.Ready = short(bin.SetUp)
		a.SetUp.DoseIfML = t.ready.doses
		a.SetUp.DoseML = t.ready.doses[husbandry.FeelWords[usuallyFound]]
	}
	return a
}

// short rounds odds to what anybody can use.
func short(odds []float64) []float64 {
	rounded := make([]float64, len(odds))
	for i, p := range odds {
		rounded[i] = math.Round(p*1e4) / 1e4
	}
	return rounded
}

// Told is the odds that a bin's damp side feels dry, and is dry in depth, at an
// instant, as they are told at the room's own time; ok is false for a bin that
// is not in the room.
func (r *Room) Told(bin string, at time.Time) (dry, risk float64, ok bool) {
	i := slices.IndexFunc(r.bins, func(b *binState) bool { return b.past.bin.ID == bin })
	if i < 0 {
		return 0, 0, false
	}
	odds := r.bins[i].damp.odds(at)
	return odds.Dry, odds.Risk, true
}
