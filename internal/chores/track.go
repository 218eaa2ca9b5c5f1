package chores

import (
	"slices"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
)

// A track is one gauge of one bin, replayed to its last entry.
type track struct {
	params gauge.Params
	filter *gauge.Filter
	events []gauge.Event
	from   time.Time                        // of the first event: hour and clock 0
	last   time.Time                        // of the last event
	felt   time.Time                        // of the last reading, or of the first event
	dosed  time.Time                        // of the last dose; zero if there is none
	clock  func(from, to time.Time) float64 // what the clock gains
	prior  gauge.RatePrior                  // in use
	touch  []gauge.Touch                    // in use
	tables *gauge.Tables

	settled int   // events before the day of the time asked for
	taught  story // of the settled events, as if the bin were the only one
	told    story // of all events

	fans [2]fanAt // the latest asked for

	// Of dampness only.
	mm     float64 // mL that cover the damp side a millimetre deep
	depth  float64 // of the substrate, m
	poured float64 // mL since the damp side last felt dry or was renewed
}

// A fanAt is the distribution of a level at an instant.
type fanAt struct {
	at  time.Time
	fan gauge.Fan
}

// climateDoubt is how far the drying power of the coming days may be from
// what the last days and the season say, as a share (judgement).
const climateDoubt = 0.10

func (tr *track) future(t time.Time) gauge.Future {
	clock := tr.clock(tr.from, t)
	doubt := climateDoubt * tr.clock(tr.last, t)
	return gauge.Future{Clock: clock, Hours: t.Sub(tr.from).Hours(), ClockSpread: max(0, doubt)}
}

// event adds what an entry means for the gauge.
func (tr *track) event(t time.Time, e gauge.Event) {
	if len(tr.events) == 0 {
		tr.from, tr.felt = t, t
	}
	switch e.Kind {
	case gauge.Word:
		tr.felt = t
	case gauge.Dose:
		tr.dosed = t
	}
	tr.last = t
	e.Hours = t.Sub(tr.from).Hours()
	e.Clock = tr.clock(tr.from, t)
	tr.events = append(tr.events, e)
}

// odds returns the odds at an instant no earlier than the last event.
func (tr *track) odds(t time.Time) gauge.Odds {
	if t.Before(tr.last) {
		t = tr.last
	}
	return tr.filter.Forecast(nil, []gauge.Future{tr.future(t)})[0]
}

// dryAt is odds' Dry.
func (tr *track) dryAt(t time.Time) float64 { return tr.filter.DryAt(tr.future(later(t, tr.last))) }

// thirst returns the chance that the level lies below the second word from
// below: that a look would lead to a dose.
func (tr *track) thirst(t time.Time) float64 {
	return tr.filter.SurfaceBelowAt(tr.future(later(t, tr.last)), tr.params.Cuts[1])
}

// level returns the level with its 90 % span at an instant.
func (tr *track) level(t time.Time) Level {
	fan := tr.fan(t)
	return Level{Mean: fan[2], Low: fan[0], High: fan[4]}
}

func (tr *track) fan(t time.Time) gauge.Fan {
	if t.Before(tr.last) {
		t = tr.last
	}
	// A window's own instant is asked for anew with every survey.
	kept := &tr.fans[0]
	for i := range tr.fans {
		if tr.fans[i].at.Equal(t) {
			return tr.fans[i].fan
		}
		if tr.fans[i].at.Before(kept.at) {
			kept = &tr.fans[i]
		}
	}
	kept.at, kept.fan = t, tr.filter.FanAt(tr.future(t))
	return kept.fan
}

// horizon is how far ahead a crossing is looked for.
const horizon = 100 * day

// crossing returns when odds, which rise with time, first reach share, no
// earlier than the last event and at most horizon after it, to within
// closeEnough.
func (tr *track) crossing(share float64, odds func(time.Time) float64) time.Time {
	low, below := tr.last, odds(tr.last)-share
	if below >= 0 {
		return low
	}
	var high time.Time
	var above float64
	for step := 6 * time.Hour; ; step = min(step*3/2, 10*day) {
		high = low.Add(step)
		if above = odds(high) - share; above >= 0 {
			break
		}
		low, below = high, above
		if high.Sub(tr.last) > horizon {
			return tr.last.Add(horizon)
		}
	}
	// Each step goes to where the straight line between the two sides reaches
	// share; or to the middle, if the last left more than half of the way.
	for halve := false; high.Sub(low) > closeEnough; {
		span := high.Sub(low)
		step := span / 2
		if !halve {
			step = time.Duration(float64(span) * below / (below - above))
			step = min(max(step, closeEnough/2), span-closeEnough/2)
		}
		between := low.Add(step)
		if x := odds(between) - share; x < 0 {
			low, below = between, x
		} else {
			high, above = between, x
		}
		halve = !halve && high.Sub(low) > span/2
	}
	return high
}

// closeEnough is how far after the instant a crossing may be said to be: windows
// are told to the minute.
const closeEnough = 30 * time.Second

// begin gives a track without events a start: nothing is known before now.
func (h *Household) begin(tr *track) {
	if len(tr.events) == 0 {
		tr.event(dayStart(h.at), gauge.Event{Kind: gauge.Nothing})
	}
}

// Prior shape of the litter gauge: a full cover of a common tub is about this
// many handfuls and lasts about this many days (judgement, wide).
const (
	fullHandfulsPerM2 = 45.0
	fullLitterDays    = 75.0
)

func fullHandfuls(bin husbandry.Bin) float64 { return fullHandfulsPerM2 * planArea(bin) }

func planArea(bin husbandry.Bin) float64 { return dampArea(bin) / bin.DampShare }

// litterTrack follows the leaves on top. Its clock is days.
func (h *Household) litterTrack(past *history) *track {
	tr := &track{
		params: gauge.Litter(fullLitterDays, fullHandfuls(past.bin)), tables: h.tables, clock: days,
	}
	for i := range past.entries {
		e := past.entries[i]
		switch e.What {
		case husbandry.Leaves:
			tr.event(e.At, gauge.Event{Kind: gauge.Word, Word: slices.Index(husbandry.LeavesWords, e.Leaves), Person: h.person(e.By)})
		case husbandry.AddLeaves:
			tr.event(e.At, gauge.Event{Kind: gauge.Dose, Amount: e.Handfuls})
		case husbandry.Renew:
			tr.event(e.At, gauge.Event{Kind: gauge.Renew, Amount: 0.8, Spread: 0.25})
		}
	}
	h.begin(tr)
	return tr
}

func days(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 }

// fullSubstrateMonths is about what uses up new substrate: at the usual six
// months it is then mostly frass with even odds (common practice, no source).
const fullSubstrateMonths = 8.6

const monthDays = 365.25 / 12

// freshTrack follows the freshness of the substrate. Its clock is months.
// known says whether anybody wrote down when it was renewed.
func (h *Household) freshTrack(past *history) (tr *track, renewed time.Time, known bool) {
	tr = &track{
		params: gauge.Substrate(fullSubstrateMonths), tables: h.tables,
		clock: func(from, to time.Time) float64 { return days(from, to) / monthDays },
	}
	if date, err := time.ParseInLocation(time.DateOnly, past.bin.SubstrateRenewed, h.at.Location()); err == nil {
		renewed, known = date, true
		tr.event(date, gauge.Event{Kind: gauge.Renew, Amount: 1, Spread: 0.05})
	}
	for i := range past.entries {
		e := past.entries[i]
		if known && e.At.Before(renewed) {
			continue
		}
		switch e.What {
		case husbandry.Substrate:
			word := len(husbandry.SubstrateWords) - 1 - slices.Index(husbandry.SubstrateWords, e.Substrate)
			tr.event(e.At, gauge.Event{Kind: gauge.Word, Word: word, Person: h.person(e.By)})
		case husbandry.Renew:
			renewed, known = e.At, true
			tr.event(e.At, gauge.Event{Kind: gauge.Renew, Amount: 1, Spread: 0.05})
		}
	}
	if !known && len(past.entries) > 0 {
		renewed = past.entries[0].At
	}
	h.begin(tr)
	return tr, renewed, known
}
