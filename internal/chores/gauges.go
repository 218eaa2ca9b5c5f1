package chores

import (
	"math"
	"time"

	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// worthALook is how many days of a dry damp side are worth one look under the
// lid. The damp side is due to be felt when the odds that it feels dry, times
// the days since anything was last done there, reach that: then to look a
// little later saves as many looks per dry day in a bin that dries in two days
// as in one that takes three weeks, and no other timing has fewer dry hours for
// as many looks. Odds alone would open the quick bins too often and the slow
// ones too late. Who needs damp is looked at early. Judgement, tuned on the
// simulated tuning room.
func worthALook(moisture string) float64 {
	switch moisture {
	case "wet":
		return 0.10
	case "humid":
		return 0.12
	case "arid":
		return 0.24
	default:
		return 0.16
	}
}

// soonestLook keeps the odds right after a reading or a dose from counting for
// nothing.
const soonestLook = 0.25 // days

// Rules of the gauges' windows; judgement.
const (
	couldWater   = 0.50 // feeling can change what you do when water is wanted with these odds
	realRisk     = 0.20 // the window closes when the depth is dry with these odds
	surelyDry    = 0.90 // or the surface with these
	refillTarget = 1.10 // level that a dose refills to
	swampLevel   = 1.05 // level that a dose must not pass
	swampOdds    = 0.10 // but with these odds
	usuallyFound = 1    // the word, barely, at which a bin that is due is watered
	doseAhead    = 36 * time.Hour
	// longestUnfelt is how long a damp side goes unfelt whatever the odds.
	longestUnfelt = 21 * day
	thinOpens     = 0.50
	bareDue       = 0.30
	bareCloses    = 0.70
	frassDue      = 0.50
)

// feelChore says when to feel the damp side, and how much to add if it is
// found as expected.
func (h *Household) feelChore(b *binState, withForecast bool) husbandry.Chore {
	tr, at := b.damp, h.at
	due := h.feelDue(b)
	neverFelt := last(b.past.entries, husbandry.Feel) == nil
	if today := dayStart(at).Add(roundHour); neverFelt && today.Before(due) {
		due = today
	}
	chore := window(b.past.bin.ID, husbandry.ChoreFeel, b.feel.opens, due, b.feel.closes)
	system := units.System(h.Room.Units)
	if found := later(due, at); !b.feel.doseAt.Equal(found) {
		b.feel.doseAt, b.feel.dose = found, tr.dose(usuallyFound, found, anyDay, system)
	}
	chore.DoseML = b.feel.dose
	if due.Before(at.Add(doseAhead)) {
		chore.DoseIfML = tr.dosesIf(at, anyDay, system)
	}
	chore.Odds = tr.odds(at).Dry
	switch dryAt := due; {
	case neverFelt:
		because(&chore, husbandry.Why{Code: husbandry.WhyNeverFelt}, at)
	default:
		if chore.Odds >= 0.5 {
			dryAt = at
		} else if due.Before(at.Add(2 * day)) {
			dryAt = at.Add(day)
		}
		because(&chore, husbandry.Why{Code: husbandry.WhyDry, At: dryAt, Odds: tr.odds(dryAt).Dry}, at)
	}
	if withForecast {
		const points, step = 57, 6 * time.Hour
		for i := range points {
			t := at.Add(time.Duration(i) * step)
			odds := tr.odds(t)
			chore.Forecast = append(chore.Forecast, husbandry.OddsPoint{At: t, Dry: &odds.Dry, Risk: &odds.Risk})
		}
	}
	return chore
}

// feelDue says when the damp side is due to be felt, and fills in when feeling
// it opens and closes.
func (h *Household) feelDue(b *binState) time.Time {
	tr := b.damp
	if b.feel == nil {
		b.feel = &crossings{
			opens: tr.crossing(couldWater, tr.thirst),
			due: tr.crossing(worthALook(b.past.kind.Moisture), func(t time.Time) float64 {
				return tr.dryAt(t) * math.Max(t.Sub(tr.last).Hours()/24, soonestLook)
			}),
			closes: tr.crossing(realRisk, func(t time.Time) float64 { return tr.odds(t).Risk }),
		}
		if longest := tr.felt.Add(longestUnfelt); longest.Before(b.feel.due) {
			b.feel.due = longest
		}
		if late := tr.crossing(surelyDry, tr.dryAt); late.Before(b.feel.closes) {
			b.feel.closes = late
		}
	}
	return b.feel.due
}

// dosesIf returns the dose for each word that the damp side may feel like at an
// instant.
func (tr *track) dosesIf(at time.Time, isBeforeTrip bool, system units.System) map[string]float64 {
	doses := make(map[string]float64, len(husbandry.FeelWords))
	for word, feel := range husbandry.FeelWords {
		doses[feel] = tr.dose(word, at, isBeforeTrip, system)
	}
	return doses
}

// likely puts odds before a state: "likely", "perhaps (1 in 4)".
func likely(p float64) string {
	switch {
	case p >= 0.9:
		return "almost surely"
	case p >= 0.6:
		return "likely"
	case p >= 0.4:
		return "as likely as not"
	default:
		return chance(p)
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// leavesChore says when to top up the leaf litter, and with how many handfuls.
func (h *Household) leavesChore(b *binState) husbandry.Chore {
	tr, at := b.litter, h.at
	if b.leaves == nil {
		b.leaves = &crossings{opens: tr.crossing(thinOpens, tr.thirst), due: tr.crossing(bareDue, tr.dryAt), closes: tr.crossing(bareCloses, tr.dryAt)}
	}
	due := b.leaves.due
	chore := window(b.past.bin.ID, husbandry.ChoreLeaves, b.leaves.opens, due, b.leaves.closes)
	chore.Odds = tr.odds(at).Dry
	chore.Handfuls = math.Max(leastHandfuls, b.handfuls(tr.level(later(due, at)).Mean))
	if b.leaves.opens.Before(at.Add(doseAhead)) {
		chore.HandfulsIf = b.handfulsIf(at)
	}
	if added := last(b.past.entries, husbandry.AddLeaves); added != nil {
		because(&chore, husbandry.Why{Code: husbandry.WhyLeaves, At: added.At, Odds: chore.Odds}, at)
	} else {
		because(&chore, husbandry.Why{Code: husbandry.WhyNoLeaves, Odds: chore.Odds}, at)
	}
	return chore
}

// How much litter is put down: as much as lasts until the usual next top-up,
// but always a cover and never a heap. Judgement.
const (
	topUpDays     = 56.0
	lightCover    = 0.6 // of a full one
	deepCover     = 1.2
	leastHandfuls = 0.5
)

// handfuls is what a bin wants whose litter is at a level, in halves: quick
// eaters get more than slow ones, large floors more than small ones.
func (b *binState) handfuls(level float64) float64 {
	bare := b.litter.params.Cuts[0]
	eaten := topUpDays / fullLitterDays * math.Exp(b.litter.filter.Rate().LogMedian)
	target := min(max(bare+eaten, lightCover), deepCover)
	return math.Max(0, math.Round(2*(target-level)*fullHandfuls(b.past.bin))/2)
}

// handfulsIf is what the bin wants for each word that its leaves may look like
// now; 0 is nothing.
func (b *binState) handfulsIf(at time.Time) map[string]float64 {
	if hour := at.Truncate(time.Hour); !b.leaves.ifAt.Equal(hour) {
		tr := b.litter
		wanted := make(map[string]float64, len(husbandry.LeavesWords))
		for word, name := range husbandry.LeavesWords {
			found := tr.filter.If(tr.tables.Scratch(), tr.future(later(hour, tr.last)), word)
			// Who sees it is believed, whatever was thought before.
			low, high := 0.0, math.Inf(1)
			if word > 0 {
				low = tr.params.Cuts[word-1]
			}
			if word < tr.params.Words-1 {
				high = tr.params.Cuts[word]
			}
			wanted[name] = b.handfuls(min(max(found.Store()[2], low), high))
			if word == 0 {
				wanted[name] = math.Max(leastHandfuls, wanted[name])
			}
		}
		b.leaves.ifAt, b.leaves.handfuls = hour, wanted
	}
	return b.leaves.handfuls
}
