package gauge

import "math"

// A Future is a moment ahead of the latest event, by cumulative clock and hour.
type Future struct {
	Clock float64 // expected cumulative clock then
	Hours float64
	// ClockSpread is the standard deviation of Clock, for a room climate that
	// is itself a forecast; 0 if the clock is certain.
	ClockSpread float64
}

// Odds are about one moment, if nobody does anything until then.
type Odds struct {
	Dry  float64 // the surface has come to lie below Params.DryLevel
	Risk float64 // the store has come to lie below Params.RiskLevel
}

// Now is the odds at the latest event.
func (f *Filter) Now() Odds {
	f.prepare()
	if !f.nowKnown {
		f.nowOdds, f.nowKnown = f.at(Future{Clock: f.clock, Hours: f.hours}), true
	}
	return f.nowOdds
}

// Forecast appends to dst the odds at each of the futures, which must be in
// order of time. It does not move the filter and does not step: every moment is
// reached directly through the inverse of the drying curve. Odds never fall
// from one moment to the next nor below those of now, because a damp side that
// has once felt dry is dry for the keeper, even if a humid night softens it.
func (f *Filter) Forecast(dst []Odds, futures []Future) []Odds {
	last := f.Now()
	for _, future := range futures {
		o := f.at(future)
		last.Dry, last.Risk = math.Max(last.Dry, o.Dry), math.Max(last.Risk, o.Risk)
		dst = append(dst, last)
	}
	return dst
}

func (f *Filter) at(future Future) Odds {
	v := f.view(future)
	return Odds{
		Dry:  clamp(v.below(f.p.DryLevel(), 1), 0, 1),
		Risk: clamp(v.below(f.p.RiskLevel, 0), 0, 1),
	}
}

// SurfaceBelow is the probability that the surface lies below a level now.
func (f *Filter) SurfaceBelow(level float64) float64 {
	v := f.view(Future{Clock: f.clock, Hours: f.hours})
	return clamp(v.below(level, 1), 0, 1)
}

// StoreBelow is the probability that the store lies below a level now.
func (f *Filter) StoreBelow(level float64) float64 {
	v := f.view(Future{Clock: f.clock, Hours: f.hours})
	return clamp(v.below(level, 0), 0, 1)
}

// A view looks at the grid from one moment.
type view struct {
	f     *Filter
	moves [rateRows]move
	lag   [rateRows]float64
	total float64
}

func (f *Filter) view(future Future) view {
	f.prepare()
	dClock := clamp(future.Clock-f.clock, 0, clockCeiling)
	dHours := clamp(future.Hours-f.hours, 0, clockCeiling)
	drained := math.Min(dClock/f.p.FullClock, levelsCeiling)
	ahead := f.pend
	ahead.drained += drained
	ahead.hours += dHours
	lag := f.lag.after(&f.p, drained, dHours)

	v := view{f: f}
	clockVar := square(clamp(future.ClockSpread/f.p.FullClock, 0, levelsCeiling))
	// The mean of a random walk over a span has a third of its end's variance.
	driftVar := square(f.p.DriftPerMonth) * ahead.hours / 720 / 3
	for r := f.first; r < f.end; r++ {
		drop := math.Min(f.rate[r]*ahead.drained, levelsCeiling)
		v.moves[r] = f.moveOf(r, ahead, square(f.rate[r])*clockVar+square(drop)*math.Min(driftVar, 1))
		v.lag[r] = clamp(lag.fromDoses-f.rate[r]*lag.fromDrying, -topLevel, 3*topLevel)
	}
	v.total = f.kept
	return v
}

// prepare builds the ladders of the rows that are kept.
func (f *Filter) prepare() {
	if f.fresh {
		return
	}
	f.fresh, f.nowKnown = true, false
	if n := f.end - f.first; cap(f.ladders) < n {
		f.ladders = make([]ladder, n)
	} else {
		f.ladders = f.ladders[:n]
	}
	f.kept = 0
	for r := range f.ladders {
		f.ladders[r].climb(f.row(f.first + r))
		f.kept += f.ladders[r].total()
	}
}

// below is the probability of a level below the given one: of the surface with
// lagShare 1, of the store with lagShare 0.
func (v *view) below(level, lagShare float64) float64 {
	f := v.f
	odds := 0.0
	for i := range f.ladders {
		r, ladder := f.first+i, &f.ladders[i]
		y := level - lagShare*v.lag[r]
		if y <= 0 {
			continue
		}
		if y >= topLevel {
			odds += ladder.total()
			continue
		}
		ln := 0.0
		if y < f.p.Knee {
			ln = math.Log(y / f.p.Knee)
		}
		odds += ladder.below(v.moves[r].sources(y, ln))
	}
	return odds / v.total
}

func square(v float64) float64 { return v * v }

// SurfaceBelowAt is the probability that the surface lies below a level at a
// future moment.
func (f *Filter) SurfaceBelowAt(future Future, level float64) float64 {
	v := f.view(future)
	return clamp(v.below(level, 1), 0, 1)
}

// If moves into to where f would be at a moment at which a word was read by
// somebody of the usual touch; f stays as it is.
func (f *Filter) If(into *Filter, then Future, word int) *Filter {
	f.CopyTo(into)
	into.Advance(then.Clock, then.Hours)
	into.Read(word, -1)
	return into
}

// StoreBelowAt is the probability that the store lies below a level at a
// future moment.
func (f *Filter) StoreBelowAt(future Future, level float64) float64 {
	v := f.view(future)
	return clamp(v.below(level, 0), 0, 1)
}

// OddsAt is the odds at a future moment, by another level of risk than the
// gauge's own.
func (f *Filter) OddsAt(future Future, riskLevel float64) Odds {
	v := f.view(future)
	return Odds{Dry: clamp(v.below(f.p.DryLevel(), 1), 0, 1), Risk: clamp(v.below(riskLevel, 0), 0, 1)}
}
