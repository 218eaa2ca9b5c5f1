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
	// topUpAfter is how long a dose is left to sink in: until then a surface
	// that is still damp says nothing about the depth.
	topUpAfter = 60 * time.Hour
	// soonAfter a dose there is no more than a top-up for a surface that seems
	// to have dried already: two full doses would meet in the depth.
	soonAfter = 36 * time.Hour
	// A surface that is watered before it ever feels dry hides a depth that
	// fills up a little with each dose. When longUndry full stores have been
	// poured, doses are heldBack and damp sides not topped up, until it feels
	// dry once.
	longUndry = 4
	heldBack  = 0.8
)

// Why a damp side is watered: for the days to come, or before a trip.
const (
	anyDay     = false
	beforeTrip = true
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
			if e.Feel == husbandry.FeelWords[0] {
				tr.poured = 0
			}
			tr.event(e.At, gauge.Event{Kind: gauge.Word, Word: slices.Index(husbandry.FeelWords, e.Feel), Person: h.person(e.By)})
		case husbandry.Water:
			tr.poured += e.WaterML
			tr.event(e.At, gauge.Event{Kind: gauge.Dose, Amount: e.WaterML})
		case husbandry.Renew:
			tr.poured = 0
			// New substrate is put in moist (common practice, no source).
			tr.event(e.At, gauge.Event{Kind: gauge.Renew, Amount: 0.85, Spread: 0.2})
		}
	}
	h.begin(tr)
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

// dose returns the water to add, mL, if the damp side is found to feel like
// word at an instant: for a damp side nothing, unless much is missing and the
// last dose has sunk in. Before a trip there is no time to be careful of a depth
// that nobody feels, and drying out is the greater harm. It is rounded to what
// is measured out in the household's units.
func (tr *track) dose(word int, at time.Time, isBeforeTrip bool, system units.System) float64 {
	since, filling := at.Sub(tr.dosed), word > 0 && tr.poured > longUndry*tr.params.FullDose
	if word > 2 || word == 2 && !isBeforeTrip && (since < topUpAfter || filling) {
		return 0
	}
	ml := tr.refill(tr.filter.If(tr.tables.Scratch(), tr.future(later(at, tr.last)), word))
	switch {
	case word == 2 && ml < topUpFrom*tr.mm:
		return 0
	case word == 2, !isBeforeTrip && since < soonAfter:
		ml = math.Min(ml, topUpMost*tr.mm)
	}
	if filling && !isBeforeTrip {
		ml = math.Max(heldBack*ml, leastDose*tr.mm)
	}
	ml = math.Max(system.RoundDose(ml), system.DoseStep())
	return math.Round(10*ml) / 10
}

// refill is the dose, in mL, that tops up the store of the damp side in its
// depth too, held back so that it is hardly ever swamped.
func (tr *track) refill(found *gauge.Filter) float64 {
	missing := (refillTarget - found.Store()[2]) * tr.params.FullDose
	unswamped := found.DoseToRefill(math.MaxFloat32, swampLevel, swampOdds)
	ml := min(missing, unswamped, largestDose*tr.mm)
	return max(ml, leastDose*tr.mm)
}

func hoursLong(hours float64) time.Duration { return time.Duration(hours * float64(time.Hour)) }
