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
	return f.OddsAt(future, f.p.RiskLevel)
}

// DryAt is Odds.Dry of Forecast at one future moment.
func (f *Filter) DryAt(future Future) float64 {
	return math.Max(f.Now().Dry, f.SurfaceBelowAt(future, f.p.DryLevel()))
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
	alike bool // all rows have the same move
}

// A stretch is the way from the latest event to a future moment.
type stretch struct {
	pending          // the wait, with what is pending before it
	lag              // at its end
	clockVar float64 // of the store at rate 1, for a clock that is not certain
	driftVar float64 // of the rate in its course, relative
}

func (f *Filter) stretch(future Future) stretch {
	dClock := clamp(future.Clock-f.clock, 0, clockCeiling)
	dHours := clamp(future.Hours-f.hours, 0, clockCeiling)
	drained := math.Min(dClock/f.p.FullClock, levelsCeiling)
	s := stretch{pending: f.pend, lag: f.lag.after(&f.p, drained, dHours)}
	s.drained += drained
	s.hours += dHours
	s.clockVar = square(clamp(future.ClockSpread/f.p.FullClock, 0, levelsCeiling))
	// The mean of a random walk over a span has a third of its end's variance.
	s.driftVar = math.Min(square(f.p.DriftPerMonth)*s.hours/720/3, 1)
	return s
}

// over is the move of a row over a stretch, and the surface's lead after it.
func (f *Filter) over(s *stretch, r int) (m move, lead float64) {
	drop := atMost(f.rate[r]*s.drained, levelsCeiling)
	m = f.moveOf(r, s.pending, square(f.rate[r])*s.clockVar+square(drop)*s.driftVar)
	return m, clamp(s.fromDoses-f.rate[r]*s.fromDrying, -topLevel, 3*topLevel)
}

func (f *Filter) view(future Future) view {
	f.prepare()
	s := f.stretch(future)
	v := view{f: f, total: f.kept, alike: s.drained == 0 && s.clockVar == 0}
	for r := f.first; r < f.end; r++ {
		v.moves[r], v.lag[r] = f.over(&s, r)
	}
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
	if v.alike && lagShare == 0 { // then the rows can be added up before they are asked
		return f.allRows().reached(&v.moves[f.first], level) / v.total
	}
	odds := 0.0
	for i := range f.ladders {
		r := f.first + i
		odds += f.ladders[i].reached(&v.moves[r], level-lagShare*v.lag[r])
	}
	return odds / v.total
}

// reached is the mass that lies below a level after a move.
func (l *ladder) reached(m *move, level float64) float64 {
	switch {
	case level <= 0:
		return 0
	case level >= topLevel:
		return l.total()
	case level >= m.knee:
		return l.below(m.sources(level, 0))
	case m.emptiesTo(level):
		return l.total()
	}
	return l.below(m.sources(level, ln(level/m.knee)))
}

// emptiesTo says, where that is plain, that even a full store comes to lie below
// a level that is below the knee: for less than a logarithm (ln x >= 1 - 1/x).
func (m *move) emptiesTo(level float64) bool {
	over := m.knee / level
	half := m.width
	if m.dose == 0 {
		half = atLeast(half, leastHalf*over)
	}
	return m.knee+m.knee*(1-over)+m.drop-half >= topLevel
}

// leastHalf is half of the narrowest box, before a wait, as a level.
const leastHalf = 0.4331 * cell // the square root of leastNoise

// allRows is the rows that are kept, added up.
func (f *Filter) allRows() *ladder {
	t := f.tables
	if t.allRowsOf != f.state {
		var sum [levelCells]float64
		for r := f.first; r < f.end; r++ {
			for j, mass := range f.row(r) {
				sum[j] += mass
			}
		}
		t.allRows.climb(sum[:])
		t.allRowsOf = f.state
	}
	return &t.allRows
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
	t := f.tables
	if t.ahead == nil {
		t.ahead = t.New()
	}
	if at := (Future{Clock: then.Clock, Hours: then.Hours}); t.aheadOf != f.state || t.aheadAt != at {
		f.CopyTo(t.ahead)
		t.ahead.Advance(then.Clock, then.Hours)
		t.ahead.makeReady()
		t.aheadOf, t.aheadAt = f.state, at
	}
	t.ahead.CopyTo(into)
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
	f.prepare()
	s := f.stretch(future)
	dry, risk := 0.0, 0.0
	for i := range f.ladders {
		m, lead := f.over(&s, f.first+i)
		dry += f.ladders[i].reached(&m, f.p.DryLevel()-lead)
		risk += f.ladders[i].reached(&m, riskLevel)
	}
	return Odds{Dry: clamp(dry/f.kept, 0, 1), Risk: clamp(risk/f.kept, 0, 1)}
}
