package chores

import (
	"math"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// harmLevel is the level of the store below which a damp side has nowhere damp
// left: lower than the gauge's level of risk, which is where one should not have
// let it come. Judgement, tuned on the simulated tuning room so that odds up to
// one in twenty come true as often as they say; higher ones come true less often.
const harmLevel = 0.10

// seasonDoubt is how far the drying power of days far ahead may be from what
// the season says, beside climateDoubt, as a share: reached as the last
// readings fade (judgement).
const seasonDoubt = 0.10

// doubt is the standard deviation of what the clock will gain over so many
// hours, as a share.
func doubt(hours float64) float64 {
	return climateDoubt + seasonDoubt*(1-math.Exp(-hours/24/fadeDays))
}

// A bearing is what a damp side bears from an instant on: the odds that its
// depth has come to be dry, by what its clock has gained since. A hot spell is
// more clock in as much time, so one bearing tells of every sort of air.
type bearing struct {
	from  time.Time
	step  float64 // clock from one knot to the next
	knots [bearingKnots + 1]float64
	doses map[string]float64 // that begin it, by word; nil if nothing is done
}

const (
	// Between its knots a bearing is straight, which errs toward too much risk
	// where small odds begin to rise.
	bearingKnots = 24
	// hottestSpell is how much more than usual the clock may gain.
	hottestSpell = 2.0
	// surelyAtRisk odds need not be followed further.
	surelyAtRisk = 0.999
)

// at is the odds after the clock has gained so much.
func (b *bearing) at(gained float64) float64 {
	place := gained / b.step
	if !(place > 0) {
		return b.knots[0]
	}
	i := int(place)
	if i >= bearingKnots {
		return b.knots[bearingKnots]
	}
	return b.knots[i] + (place-float64(i))*(b.knots[i+1]-b.knots[i])
}

// A telling is one of a track's stories with its odds.
type telling struct {
	filter *gauge.Filter
	odds   float64
	most   float64 // of a dose that stays within reach, mL
}

func (tr *track) tellings() []telling {
	if w := tr.shallow.odds; tr.shallow.events != nil && w > negligible {
		return []telling{{tr.filter, 1 - w, math.Inf(1)}, {tr.shallow.filter, w, keptDose * tr.mm}}
	}
	return []telling{{tr.filter, 1, math.Inf(1)}}
}

// untouched is what a damp side bears from an instant until an end if nobody
// does anything.
func (tr *track) untouched(from, end time.Time) *bearing {
	b, into := tr.bearing(from, end), tr.tables.Scratch()
	for _, told := range tr.tellings() {
		told.filter.CopyTo(into)
		into.Advance(tr.clock(tr.from, b.from), b.from.Sub(tr.from).Hours())
		tr.follow(b, told.odds, into, end)
	}
	return b
}

// served is what it bears after somebody has felt it at an instant and given it
// the dose for what was felt. Words are taken with the odds that they have.
// doses are by word; nil are those of that instant.
func (tr *track) served(from, end time.Time, doses map[string]float64, system units.System) *bearing {
	b := tr.bearing(from, end)
	if b.doses = doses; doses == nil {
		b.doses = tr.dosesIf(b.from, system)
	}
	then, into := tr.future(b.from), tr.tables.Scratch()
	const unlikely = 0.02
	followed := 0.0
	for _, told := range tr.tellings() {
		for word, feel := range husbandry.FeelWords {
			told.filter.If(into, then, word)
			odds := told.odds * math.Exp(into.Evidence()-told.filter.Evidence())
			if odds < unlikely {
				continue
			}
			followed += odds
			into.Dose(math.Min(b.doses[feel], told.most))
			tr.follow(b, odds, into, end)
		}
	}
	for i := range b.knots {
		b.knots[i] /= followed
	}
	return b
}

func (tr *track) bearing(from, end time.Time) *bearing {
	b := &bearing{from: later(from, tr.last)}
	b.step = math.Max(hottestSpell*tr.clock(b.from, end)/bearingKnots, 1e-9)
	return b
}

// follow adds what a filter that stands at the bearing's beginning foresees,
// weighed by its odds.
func (tr *track) follow(b *bearing, odds float64, filter *gauge.Filter, end time.Time) {
	clock, hours := tr.clock(tr.from, b.from), b.from.Sub(tr.from).Hours()
	span := hottestSpell * end.Sub(b.from).Hours() / bearingKnots
	highest := 0.0 // a depth that has once been dry has done its harm
	for i := range b.knots {
		if highest < surelyAtRisk {
			gained, passed := float64(i)*b.step, math.Max(0, float64(i)*span)
			highest = math.Max(highest, filter.StoreBelowAt(gauge.Future{
				Clock: clock + gained, Hours: hours + passed, ClockSpread: gained * doubt(passed),
			}, harmLevel))
		}
		b.knots[i] += odds * highest
	}
}

// riskBy is what untouched comes to at its end.
func (tr *track) riskBy(from, end time.Time) float64 {
	end = later(end, tr.last)
	gained := tr.clock(later(from, tr.last), end)
	future := gauge.Future{Clock: tr.clock(tr.from, end), Hours: end.Sub(tr.from).Hours(), ClockSpread: max(0, gained*doubt(end.Sub(from).Hours()))}
	risk := 0.0
	for _, told := range tr.tellings() {
		risk += told.odds * told.filter.StoreBelowAt(future, harmLevel)
	}
	return risk
}
