package honesty

import (
	"slices"
	"time"

	"underlog/internal/husbandry"
)

// A Result is what was called for the instant of a look, and what it found.
type Result struct {
	Bin      string
	Chore    string
	Entry    string // the look
	At       time.Time
	Odds     float64 // called beforehand, 0-1
	Happened bool
	Place    Place
}

// A Place is where in its window a look came.
type Place string

// Places.
const (
	Early  Place = "early"   // before the window opened
	InTime Place = "in time" // from the opening to the closing
	Late   Place = "late"    // after the closing
)

// Outcome reports what an entry says about what a sort of chore calls: that
// the damp side feels dry, that the food is mouldy and not gone. ok is false
// where it says nothing about it. Mould that is not mentioned counts as none.
func Outcome(chore string, e husbandry.Entry) (happened, ok bool) {
	switch {
	case chore == husbandry.ChoreFeel && e.What == husbandry.Feel:
		word := slices.Index(husbandry.FeelWords, e.Feel)
		return word == 0, word >= 0
	case chore == husbandry.ChoreLeftovers && e.What == husbandry.Leftovers:
		left, mould := slices.Index(husbandry.LeftWords, e.Left), slices.Index(husbandry.MouldWords, e.Mould)
		return left > 0 && mould > 0, left >= 0
	}
	return false, false
}

// OddsAt returns the odds that the frozen forecast gave to an instant,
// straight between its points. ok is false before the first and after the
// last: nothing was called for then.
func (w Window) OddsAt(at time.Time) (odds float64, ok bool) {
	after := slices.IndexFunc(w.Forecast, func(p husbandry.OddsPoint) bool { return !p.At.Before(at) })
	if after < 0 {
		return 0, false
	}
	right := w.called(after)
	if w.Forecast[after].At.Equal(at) {
		return value(right)
	}
	if after == 0 {
		return 0, false
	}
	left := w.called(after - 1)
	if left == nil || right == nil {
		return 0, false
	}
	from, to := w.Forecast[after-1].At, w.Forecast[after].At
	share := float64(at.Sub(from)) / float64(to.Sub(from))
	return *left + share*(*right-*left), true
}

func (w Window) called(i int) *float64 {
	if w.Chore == husbandry.ChoreFeel {
		return w.Forecast[i].Dry
	}
	return w.Forecast[i].Mouldy
}

func value(p *float64) (float64, bool) {
	if p == nil {
		return 0, false
	}
	return *p, true
}

// Settle scores a window by a look. ok is false where the entry is no look
// of this window's bin and chore, came before the freezing, or after the end
// of the forecast. Whether the entry is the window's own is for Next to say.
func Settle(w Window, e husbandry.Entry) (result Result, ok bool) {
	if e.Bin != w.Bin || e.Of != w.Of || e.At.Before(w.FrozenAt) {
		return result, false
	}
	happened, said := Outcome(w.Chore, e)
	if !said {
		return result, false
	}
	odds, called := w.OddsAt(e.At)
	if !called {
		return result, false
	}
	result = Result{Bin: w.Bin, Chore: w.Chore, Entry: e.ID, At: e.At, Odds: odds, Happened: happened, Place: InTime}
	switch {
	case e.At.Before(w.Opens):
		result.Place = Early
	case e.At.After(w.Closes):
		result.Place = Late
	}
	return result, true
}

// SettleAll scores windows by the entries of their bins that are not struck,
// as known now, and returns the results by the index of their windows. A look
// settles one window: of those frozen before it, the latest.
func SettleAll(windows []Window, entries []husbandry.Entry) map[int]Result {
	results := map[int]Result{}
	byLook := map[string]int{}
	for i, w := range windows {
		next, ok := w.Next(entries)
		if !ok {
			continue
		}
		result, ok := Settle(w, next)
		if !ok {
			continue
		}
		if other, taken := byLook[next.ID]; taken {
			if w.FrozenAt.Before(windows[other].FrozenAt) {
				continue
			}
			delete(results, other)
		}
		byLook[next.ID], results[i] = i, result
	}
	return results
}
