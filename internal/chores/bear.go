package chores

import (
	"math"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// A damp side has come to harm when nowhere in its depth is damp any more. Dry
// substrate hardly passes water on: under a dry top the bottom of a deep bin
// stays damp for weeks, while in a shallow one the drying front soon comes to the
// floor. So the level of the store at which it is so falls steeply with the depth
// of the substrate. Judgement, tuned on the simulated tuning room so that odds
// come true as often as they say.
const (
	harmAtReference = 0.03
	harmReference   = 0.045 // m
	harmSteepness   = 4
	// harmDoubt is what the clock is doubted by beside the climate: how the last
	// of the water goes is not seen by any finger.
	harmDoubt = 0.20
)

func (tr *track) harmLevel() float64 {
	return harmAtReference * math.Pow(harmReference/tr.depth, harmSteepness)
}

// seasonDoubt is how far the drying power of days far ahead may be from what
// the season says, beside climateDoubt, as a share: reached as the last
// readings fade (judgement).
const seasonDoubt = 0.10

// doubt is the standard deviation of what the clock will have done to the depth
// over so many hours, as a share.
func doubt(hours float64) float64 {
	return harmDoubt + climateDoubt + seasonDoubt*(1-math.Exp(-hours/24/fadeDays))
}

// A bearing is what a damp side bears from an instant on: the odds that its
// surface feels dry, and that its depth has come to be dry, by what its clock
// has gained since. A hot spell is more clock in as much time, so one bearing
// tells of every sort of air.
type bearing struct {
	from  time.Time
	step  float64 // clock from one knot to the next
	harm  curve
	dry   curve
	doses map[string]float64 // that begin it, by word; nil if nothing is done

	// worked fills in the knots up to one. Those that only air drier than the
	// season's can reach are left until they are wanted.
	worked func(b *bearing, last int)
	whole  bool // all knots are filled in
}

// A curve is odds by knots.
type curve [bearingKnots + 1]float64

const (
	// Between its knots a curve is straight, which errs toward too much risk
	// where small odds begin to rise.
	bearingKnots = 24
	// hottestSpell is how much more than usual the clock may gain.
	hottestSpell = 2.0
	usualKnots   = bearingKnots/hottestSpell + 1
	// surelyAtRisk odds need not be followed further.
	surelyAtRisk = 0.999
)

// at is the odds so many knots on.
func (c *curve) at(place float64) float64 {
	if !(place > 0) {
		return c[0]
	}
	i := int(place)
	if i >= bearingKnots {
		return c[bearingKnots]
	}
	return c[i] + (place-float64(i))*(c[i+1]-c[i])
}

// harmBy is the odds of harm after the clock has gained so much.
func (b *bearing) harmBy(gained float64) float64 { return b.harm.at(b.place(gained)) }

// dryAt is the odds that the surface then feels dry.
func (b *bearing) dryAt(gained float64) float64 { return b.dry.at(b.place(gained)) }

// place is how many knots on the clock has gained so much.
func (b *bearing) place(gained float64) float64 {
	place := gained / b.step
	if place > usualKnots && !b.whole {
		b.harm, b.dry = curve{}, curve{}
		b.worked(b, bearingKnots)
		b.whole = true
	}
	return place
}

// untouched is what a damp side bears from an instant on if nobody does
// anything. Its clock is expected to gain reach in so long a span.
func (tr *track) untouched(from time.Time, reach float64, span time.Duration) *bearing {
	b := tr.bearing(from, reach)
	from = b.from // a copy may have another
	b.worked = func(b *bearing, last int) {
		now, into := tr.at(from), tr.tables.Scratch()
		tr.filter.CopyTo(into)
		into.Advance(now.Clock, now.Hours)
		tr.follow(b, 1, into, now, span, last)
	}
	b.worked(b, usualKnots)
	return b
}

// served is what it bears after somebody has felt it at an instant and given it
// the dose for what was felt. Words are taken with the odds that they have.
// doses are by word; nil are those of that instant.
func (tr *track) served(from time.Time, reach float64, span time.Duration, doses map[string]float64, system units.System) *bearing {
	b := tr.bearing(from, reach)
	if b.doses = doses; doses == nil {
		b.doses = tr.dosesIf(b.from, beforeTrip, system)
	}
	from = b.from
	b.worked = func(b *bearing, last int) {
		now, into := tr.at(from), tr.tables.Scratch()
		const unlikely = 0.02
		followed := 0.0
		for word, feel := range husbandry.FeelWords {
			tr.filter.If(into, now, word)
			odds := math.Exp(into.Evidence() - tr.filter.Evidence())
			if odds < unlikely {
				continue
			}
			followed += odds
			into.Dose(b.doses[feel])
			tr.follow(b, odds, into, now, span, last)
		}
		for i := range b.harm {
			b.harm[i] /= followed
			b.dry[i] /= followed
		}
	}
	b.worked(b, usualKnots)
	return b
}

func (tr *track) bearing(from time.Time, reach float64) *bearing {
	return &bearing{from: later(from, tr.last), step: math.Max(hottestSpell*reach/bearingKnots, 1e-9)}
}

// at is an instant as the gauge counts.
func (tr *track) at(t time.Time) gauge.Future {
	return gauge.Future{Clock: tr.clock(tr.from, t), Hours: t.Sub(tr.from).Hours()}
}

// follow adds what a filter that stands at the bearing's beginning, now, foresees
// up to a knot, weighed by its odds.
func (tr *track) follow(b *bearing, odds float64, filter *gauge.Filter, now gauge.Future, long time.Duration, last int) {
	span, level := hottestSpell*math.Max(0, long.Hours())/bearingKnots, tr.harmLevel()
	var highest gauge.Odds // a depth that has once been dry has done its harm
	for i := range last + 1 {
		if highest.Risk < surelyAtRisk {
			gained, passed := float64(i)*b.step, float64(i)*span
			then := filter.OddsAt(gauge.Future{
				Clock: now.Clock + gained, Hours: now.Hours + passed, ClockSpread: gained * doubt(passed),
			}, level)
			highest.Dry, highest.Risk = math.Max(highest.Dry, then.Dry), math.Max(highest.Risk, then.Risk)
		}
		b.harm[i] += odds * highest.Risk
		b.dry[i] += odds * highest.Dry
	}
}

// riskBy is what untouched comes to at its end.
func (tr *track) riskBy(from, end time.Time) float64 {
	end = later(end, tr.last)
	gained := tr.clock(later(from, tr.last), end)
	future := gauge.Future{Clock: tr.clock(tr.from, end), Hours: end.Sub(tr.from).Hours(), ClockSpread: max(0, gained*doubt(end.Sub(from).Hours()))}
	return tr.filter.StoreBelowAt(future, tr.harmLevel())
}
