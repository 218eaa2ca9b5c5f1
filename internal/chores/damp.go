package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// How the damp side of a bin takes up and gives off water. All of these are
// judgement, tuned on the simulated tuning room: chosen so that the words which
// keepers of four habits found there were least surprising to the gauge, then
// rounded.
const (
	// dampFromVents is how much of the clock is what the vents let out of the
	// tub; the rest is what the damp side alone hands to the headspace.
	dampFromVents = 0.8
	// dampRate is the natural logarithm of how much faster a full damp side
	// dries than the physics of still vents says.
	dampRate = 0.6
	// Of deeper substrate a smaller share takes part in a cycle of drying and
	// watering: the capacity is this share of the volume that lies between the
	// damp side's depth and usualDepth, their geometric mean.
	dampShare  = 0.156
	usualDepth = 0.06 // m
	feltDepth  = 0.015
	leastFelt  = 0.10 // least share of the capacity that a finger feels

	dampKnee       = 0.60
	dampTouch      = 0.075
	dampLapse      = 0.025
	dampUnseen     = 0.01 // of readings that follow water which nobody wrote down
	dampDrainNoise = 0.05
	dampDayNoise   = 0.005
)

// dampCuts lie between dry, barely, damp and soaked; as above.
var dampCuts = [gauge.MaxWords - 1]float64{0.30, 0.50, 1.10}

// Doses, in mm of water over the damp side: what a bin is given if nothing
// else is known (three US tablespoons on the damp half of a 6-quart tub are
// 1.3 mm, common practice, no source). Judgement, tuned on the simulated
// tuning room.
const (
	largestDose = 2.5 // more stands on the surface
	leastDose   = 0.9 // less does not reach below it
	topUpFrom   = 1.2 // a damp side is topped up if that much is missing
	topUpMost   = 1.4 // and with no more than that
	// keptDose is how much of a dose stays within the reach of a finger where
	// the rest runs past.
	keptDose = 0.9
)

// Some substrates let a large dose run past the surface to the floor, where it
// stays: they feel dry again soon and drown from below. Whether a bin is one of
// them is learned from how long its doses last. Judgement, tuned on the
// simulated tuning room.
const (
	runsPast      = 0.15 // odds of it before anything is known
	trustRunsPast = 0.30 // from these odds on doses stay small
	clearRunsPast = 0.03 // below these the bin's own rate is trusted without limit
	// More than a bin may have lost is not given: over balanceSpan the doses
	// may exceed the loss by this share of the damp side's volume, the loss
	// being reckoned at a rate that is at most e to balanceTrust times what the
	// room teaches.
	balanceShare = 0.14
	balanceSpan  = 45 * day
	balanceTrust = 0.3
)

// dampTrack follows the dampness of a bin's damp side. Its clock is the
// potential loss of the damp side, in mL.
func (h *Household) dampTrack(past *history) *track {
	vents := tubOf(past.bin).Prepare()
	both := vents.Loss(referenceAir)
	loss := dampFromVents*both.TubMLPerHour + (1-dampFromVents)*both.DampMLPerHour
	area, depth := dampArea(past.bin), past.bin.SubstrateDepthMM/1000
	tr := &track{
		params: dampParams(area, depth), tables: h.tables,
		clock: func(from, to time.Time) float64 { return loss * past.drying.between(from, to) },
		mm:    area * 1000, depth: depth,
	}
	for i := range past.entries {
		e := past.entries[i]
		switch e.What {
		case husbandry.Feel:
			tr.event(e.At, gauge.Event{Kind: gauge.Word, Word: slices.Index(husbandry.FeelWords, e.Feel), Person: h.person(e.By)})
		case husbandry.Water:
			tr.event(e.At, gauge.Event{Kind: gauge.Dose, Amount: e.WaterML})
		case husbandry.Renew:
			// New substrate is put in moist (common practice, no source).
			tr.event(e.At, gauge.Event{Kind: gauge.Renew, Amount: 0.85, Spread: 0.2})
		}
	}
	h.begin(tr)
	tr.shallow.tell(tr.events, keptDose*tr.mm)
	return tr
}

// dampParams is the dampness gauge of a damp side of the given area (m2) and
// depth (m), as tuned.
func dampParams(area, depth float64) gauge.Params {
	p := gauge.Dampness(area, depth)
	p.FullDose = dampShare * area * math.Sqrt(depth*usualDepth) * 1e6
	p.FullClock = p.FullDose
	p.SurfaceShare = clamp(feltDepth/depth, leastFelt, 1)
	p.Cuts, p.TouchSpread, p.Lapse = dampCuts, dampTouch, dampLapse
	p.Knee, p.NoisePerDrain, p.NoisePerDay = dampKnee, dampDrainNoise, dampDayNoise
	p.Unseen, p.Rate.LogMedian = dampUnseen, dampRate
	return p
}

// A shallow hypothesis is a track's other story: that all of a dose beyond
// keptDose runs past to the floor.
type shallow struct {
	events       []gauge.Event // nil if no dose is large enough to tell
	taught, told story
	filter       *gauge.Filter
	odds         float64 // of this story, given all words
}

// tell makes the other story of events, if there is one.
func (s *shallow) tell(events []gauge.Event, kept float64) {
	for i := range events {
		if e := &events[i]; e.Kind == gauge.Dose && e.Amount > kept {
			if s.events == nil {
				s.events = slices.Clone(events)
			}
			s.events[i].Amount = kept
		}
	}
}

// weighed returns the odds of this story by how well the two foresaw the words.
func (s *shallow) weighed(usual, other *gauge.Filter) float64 {
	against := math.Exp(usual.Evidence() - other.Evidence())
	return runsPast / (runsPast + (1-runsPast)*against)
}

// likelier returns the story that is more likely to be true.
func (tr *track) likelier() (*gauge.Filter, []gauge.Event) {
	if tr.shallow.events != nil && tr.shallow.odds > 0.5 {
		return tr.shallow.filter, tr.shallow.events
	}
	return tr.filter, tr.events
}

// dose returns the water to add, mL, if the damp side is found to feel like
// word at an instant: for a damp side nothing, unless much is missing. It is
// rounded to what is measured out in the household's units.
func (tr *track) dose(word int, at time.Time, system units.System) float64 {
	if word > 2 || word == 2 && tr.shallow.odds > trustRunsPast {
		return 0
	}
	filter, _ := tr.likelier()
	ml := tr.refill(filter.If(tr.tables.Scratch(), tr.future(later(at, tr.last)), word), at)
	if word == 2 {
		if ml < topUpFrom*tr.mm {
			return 0
		}
		ml = math.Min(ml, topUpMost*tr.mm)
	}
	ml = math.Max(system.RoundDose(ml), system.DoseStep())
	return math.Round(10*ml) / 10
}

// refill is the dose, in mL, that tops up the store of the damp side in its
// depth too, held back so that it is hardly ever swamped.
func (tr *track) refill(found *gauge.Filter, at time.Time) float64 {
	missing := (refillTarget - found.Store()[2]) * tr.params.FullDose
	unswamped := found.DoseToRefill(math.MaxFloat32, swampLevel, swampOdds)
	ml := min(missing, unswamped, largestDose*tr.mm, tr.spare(at))
	if tr.shallow.odds > trustRunsPast {
		ml = min(ml, keptDose*tr.mm)
	}
	return max(ml, leastDose*tr.mm)
}

// spare is how much may be given, mL, before the doses of the last weeks exceed
// what the bin has lost and its damp side can hold.
func (tr *track) spare(at time.Time) float64 {
	from := later(at.Add(-balanceSpan), tr.from)
	given := 0.0
	for i := range tr.events {
		if e := &tr.events[i]; e.Kind == gauge.Dose && tr.from.Add(hoursLong(e.Hours)).After(from) {
			given += e.Amount
		}
	}
	rate := tr.filter.Rate().LogMedian
	if tr.shallow.odds > clearRunsPast {
		rate = min(rate, tr.prior.LogMedian+balanceTrust)
	}
	lost := math.Exp(rate) * tr.clock(from, at)
	return balanceShare*tr.depth*1000*tr.mm + lost - given
}

func hoursLong(hours float64) time.Duration { return time.Duration(hours * float64(time.Hour)) }
