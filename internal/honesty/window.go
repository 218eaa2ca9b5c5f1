package honesty

import (
	"math"
	"slices"
	"strings"
	"time"

	"underlog/internal/husbandry"
)

// A Window is a chore's window and forecast as they stood at FrozenAt.
type Window struct {
	Bin      string
	Chore    string // husbandry.ChoreFeel or husbandry.ChoreLeftovers
	Of       string // the feeding, for leftovers
	After    string // the entry that it was forecast from; empty before there was one
	FrozenAt time.Time
	Opens    time.Time
	Due      time.Time
	Closes   time.Time
	Forecast []husbandry.OddsPoint // by time, from FrozenAt on: Dry for a feel, Mouldy for leftovers
}

// Scored reports whether the windows of a sort of chore are scored.
func Scored(chore string) bool {
	return chore == husbandry.ChoreFeel || chore == husbandry.ChoreLeftovers
}

// Freeze takes a chore, asked for with its forecast at an instant, as a
// window. entries are those of its bin that counted then; ok is false for a
// chore that is not scored or has no forecast.
func Freeze(chore husbandry.Chore, entries []husbandry.Entry, at time.Time) (w Window, ok bool) {
	if !Scored(chore.Chore) || len(chore.Forecast) == 0 {
		return w, false
	}
	w = Window{
		Bin: chore.Bin, Chore: chore.Chore, Of: chore.Of,
		FrozenAt: at, Opens: chore.Opens, Due: chore.Due, Closes: chore.Closes,
	}
	if counting := w.counting(entries); len(counting) > 0 {
		w.After = counting[len(counting)-1].ID
	}
	for _, point := range chore.Forecast {
		kept := husbandry.OddsPoint{At: point.At.UTC()}
		if w.Chore == husbandry.ChoreFeel {
			kept.Dry = rounded(point.Dry)
		} else {
			kept.Mouldy = rounded(point.Mouldy)
		}
		w.Forecast = append(w.Forecast, kept)
	}
	return w, true
}

// rounded keeps four decimals, which is more than a forecast knows and a
// third of the room that all digits take.
func rounded(p *float64) *float64 {
	if p == nil {
		return nil
	}
	short := math.Round(*p*1e4) / 1e4
	return &short
}

// Open reports whether the window was open when it was frozen. One that was
// not is the standing forecast for looks that come before the window opens.
func (w Window) Open() bool { return !w.FrozenAt.Before(w.Opens) }

// counting returns the entries that make or end a window of this sort, in
// the order in which they happened.
func (w Window) counting(entries []husbandry.Entry) []husbandry.Entry {
	var counting []husbandry.Entry
	for _, e := range entries {
		if e.Bin == w.Bin && w.counts(e) {
			counting = append(counting, e)
		}
	}
	slices.SortStableFunc(counting, inTurn)
	return counting
}

func (w Window) counts(e husbandry.Entry) bool {
	switch {
	case e.What == husbandry.Renew:
		return true
	case w.Chore == husbandry.ChoreFeel:
		return e.What == husbandry.Feel || e.What == husbandry.Water
	}
	return e.What == husbandry.Feed && e.ID == w.Of || e.What == husbandry.Leftovers && e.Of == w.Of
}

// inTurn orders entries as they happened; where two bear one instant, people
// feel first and then water, as everywhere in the forecasts.
func inTurn(a, b husbandry.Entry) int {
	if c := a.At.Compare(b.At); c != 0 {
		return c
	}
	isLook := func(e husbandry.Entry) bool { return e.What == husbandry.Feel || e.What == husbandry.Leftovers }
	if isLook(a) != isLook(b) {
		if isLook(a) {
			return -1
		}
		return 1
	}
	return strings.Compare(a.ID, b.ID)
}

// memory is how long before a window an entry can matter to it: that far
// back the forecasts look.
const memory = 200 * 24 * time.Hour

// Next returns the entry that ends the window: the one that follows directly
// on the entry it was forecast from. entries are those of the bin that are not
// struck, as known now. ok is false while there is none, and also where what
// the window was forecast from has changed since: the entry is struck, or
// another one, made before the freezing, has come in late.
func (w Window) Next(entries []husbandry.Entry) (next husbandry.Entry, ok bool) {
	counting := w.counting(entries)
	from := 0
	if w.After != "" {
		from = 1 + slices.IndexFunc(counting, func(e husbandry.Entry) bool { return e.ID == w.After })
		if from == 0 {
			return next, false
		}
	} else {
		for from < len(counting) && counting[from].At.Before(w.FrozenAt.Add(-memory)) {
			from++
		}
	}
	if from == len(counting) || counting[from].At.Before(w.FrozenAt) {
		return next, false
	}
	return counting[from], true
}
