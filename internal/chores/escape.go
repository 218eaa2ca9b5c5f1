package chores

import (
	"time"

	"underlog/internal/husbandry"
)

// What the escape check rests on. That a stem or a leaf that reaches the rim is
// a ramp is common practice, no source; the figures are judgement.
const (
	escapeSoon     = 24 * time.Hour // a way out that was found, or that an animal found, is looked at again by then
	climbersRamp   = 24 * time.Hour // after leaves, wood or substrate came in
	othersRamp     = 72 * time.Hour
	climbersCheck  = 30 * day // between checks
	othersCheck    = 120 * day
	leastBetween   = 7 * day
	rampForgotten  = 14 * day // a bin that was never checked is not asked about what came in before
	escapesCount   = 180 * day
	escapesOneLook = time.Hour // what is logged at one stop is one finding
)

// A wayOut belief is how often a check of this bin finds a way out, or an
// animal does: a beta law, from a prior of so many checks.
const (
	priorChecks   = 20.0
	climbersFound = 2.0 // of those
	othersFound   = 1.0
)

// escapeOdds is the chance that a way out is there after something came in, and
// how many times the usual that is.
func escapeOdds(climbs bool, entries []*husbandry.Entry, at time.Time) (odds, times float64) {
	found, checks := othersFound, priorChecks
	if climbs {
		found = climbersFound
	}
	usual := found / checks
	var counted time.Time
	for _, e := range entries {
		if at.Sub(e.At) > escapesCount {
			continue
		}
		escaped := e.What == husbandry.Seen && e.Seen == husbandry.SeenEscaped
		if e.What == husbandry.Escape || escaped {
			checks++
		}
		if (escaped || e.FoundAWay()) && (counted.IsZero() || e.At.Sub(counted) > escapesOneLook) {
			found++
			counted = e.At
		}
	}
	return found / checks, found / checks / usual
}

// escapeChore says when to look for ways out: at once after an escape, soon
// after a check found one, at the next round after something came in that may
// reach the rim, and now and then; bins of climbing kinds, and those where ways
// out were found, more often. ok is false for a bin that was never checked and
// to which nothing came of late.
func escapeChore(bin husbandry.Bin, kind husbandry.Kind, entries []*husbandry.Entry, at time.Time) (chore husbandry.Chore, ok bool) {
	var check, escaped, came *husbandry.Entry
	for _, e := range entries {
		switch {
		case e.What == husbandry.Escape:
			check, escaped, came = e, nil, nil
		case e.What == husbandry.Seen && e.Seen == husbandry.SeenEscaped:
			escaped = e
		case e.What == husbandry.AddLeaves || e.What == husbandry.AddWood || e.What == husbandry.Renew:
			came = e
		}
	}
	odds, times := escapeOdds(kind.Climbs, entries, at)
	between, ramp := othersCheck, othersRamp
	if kind.Climbs {
		between, ramp = climbersCheck, climbersRamp
	}
	between = max(leastBetween, time.Duration(float64(between)/max(1, times)))
	why := husbandry.Why{Odds: odds}
	switch {
	case escaped != nil:
		why.Code, why.At = husbandry.WhyEscaped, escaped.At
		chore = window(bin.ID, husbandry.ChoreEscape, escaped.At, escaped.At, escaped.At.Add(escapeSoon))
	case check != nil && check.FoundAWay():
		why.Code, why.At, why.Word = husbandry.WhyWayOut, check.At, check.WayOut()
		due := check.At.Add(escapeSoon)
		chore = window(bin.ID, husbandry.ChoreEscape, due.Add(-escapeSoon/4), due, due.Add(2*escapeSoon))
	case came != nil && (check != nil || at.Sub(came.At) < rampForgotten):
		why.Code, why.At = husbandry.WhyRamp, came.At
		due := came.At.Add(ramp)
		chore = window(bin.ID, husbandry.ChoreEscape, came.At, due, due.Add(7*day))
	case check != nil:
		why.Code, why.At = husbandry.WhyUnchecked, check.At
		due := check.At.Add(between)
		chore = window(bin.ID, husbandry.ChoreEscape, due.Add(-between/8), due, due.Add(between))
	default:
		return chore, false
	}
	chore.Odds = odds
	because(&chore, why, at)
	return chore, true
}
