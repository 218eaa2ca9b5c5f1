package larder

import (
	"math"
	"slices"
	"time"

	"underlog/internal/gauge"
)

const day = 24 * time.Hour

// A Use is an amount that was taken out or put in at an instant.
type Use struct {
	At     time.Time
	Amount float64 // in the item's unit, > 0
}

// A Look is a word for how much there is, by its place in
// husbandry.FoundWords.
type Look struct {
	At   time.Time
	Word int
}

// An Item is one thing that is kept, in one unit.
type Item struct {
	Amount float64   // when it came; 0 is not known
	Since  time.Time // when it came, no later than what happened to it
	Used   []Use
	Added  []Use
	Looks  []Look
	Rough  float64 // standard deviation of the logarithm of what a use takes over what was written
	Days   float64 // that the amount usually lasts, where uses are not written down; 0 is not known
}

// A Pace is a belief about how much is used.
type Pace struct {
	PerDay  float64 // expected, in the item's unit; 0 is not known
	Spread  float64 // relative standard deviation of that
	Portion float64 // of a usual use, > 0 where PerDay is
}

// A Level is an amount with its 90 % span.
type Level struct {
	Mean float64 `json:"mean"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// A Span is when something happens: with odds of 1 in 10 before From, even
// odds before About, 9 in 10 before To. To is nil where that is more than two
// years away.
type Span struct {
	From  time.Time  `json:"from"`
	About time.Time  `json:"about"`
	To    *time.Time `json:"to"`
}

// priorUses is how many uses an expected pace is worth (judgement).
const priorUses = 2

// PaceOf learns the pace from what was used from an instant on, given what is
// expected per day (0: nothing is).
func PaceOf(used []Use, expected float64, since, at time.Time) Pace {
	n, sum := 0.0, 0.0
	for _, use := range used {
		if !use.At.Before(since) && !use.At.After(at) {
			n++
			sum += use.Amount
		}
	}
	days := math.Max(at.Sub(since).Hours()/24, 1)
	portion := 1.0
	if n > 0 {
		portion = sum / n
	}
	switch {
	case expected > 0 && n == 0: // nobody writes it down: that says nothing
		return Pace{expected, 1 / math.Sqrt(priorUses), portion}
	case expected > 0:
		weight := priorUses * portion
		return Pace{(sum + weight) / (days + weight/expected), 1 / math.Sqrt(n+priorUses), portion}
	case n >= 2:
		return Pace{sum / days, 1 / math.Sqrt(n), portion}
	}
	return Pace{}
}

// A Left is what there is of an item and when it runs out.
type Left struct {
	Known   bool  // whether an amount is: else only the share is
	Amount  Level // in the item's unit
	Share   Level // of the most there was
	RunsOut *Span // nil where nobody can say, or it lasts for more than two years
}

// Before is what is used up before an item is begun: of the same sort, in the
// same unit.
type Before struct{ Mean, Spread float64 }

// How a box is seen to run out; judgement.
const (
	startSpread = 0.05 // of the amount that was written down
	leastOut    = 0.03 // of the most there was: less than this is out
	mostOut     = 0.12
	usualDays   = 90 // that a supply lasts of which nothing is known
	longest     = 730 * day
)

// Reckon works out what is left of an item at an instant, and when it runs out
// at a pace once what is used before it is gone.
func (r *Reckoner) Reckon(item Item, pace Pace, before Before, at time.Time) Left {
	full := item.most()
	left := Left{Known: full > 0}
	logged := len(item.Used) > 0 || item.Days == 0 && pace.PerDay > 0 && left.Known
	if full == 0 {
		full = 1 // a share is all that can be told
		if item.Days == 0 && len(item.Looks) == 0 {
			return left
		}
	}
	if !logged && item.Days == 0 && len(item.Looks) == 0 {
		left.Share = Level{item.Amount / full, item.Amount / full, item.Amount / full}
		left.Amount = Level{item.Amount, item.Amount, item.Amount}
		return left // nothing is known of its use
	}
	p := gauge.Supplies(1, full)
	p.StartSpread, p.DoseSpread = startSpread, 0.05
	p.RiskLevel = math.Min(math.Max(pace.Portion/full, leastOut), mostOut)
	perDay := 0.0
	if logged {
		p.FullClock, p.Knee, p.NoisePerDrain, p.Rate.LogSpread = full, 0.02, 0.06, item.Rough
	} else {
		lasts := item.Days
		if lasts == 0 {
			lasts, p.Rate.LogSpread = usualDays, 0.9
		}
		perDay = full / lasts
		p.FullClock = full
	}
	start := 1.0
	if left.Known {
		start = item.Amount / full
	}
	events, clock := item.events(logged, perDay, at)
	f := r.filter
	f.Reset(p, p.Rate, nil)
	f.Renew(start, startSpread)
	f.Replay(events)
	future := func(t time.Time) gauge.Future {
		days := t.Sub(at).Hours() / 24
		then := gauge.Future{Clock: clock, Hours: t.Sub(item.Since).Hours()}
		if !logged {
			then.Clock += math.Max(0, perDay*days-before.Mean)
			then.ClockSpread = before.Spread
			return then
		}
		used := pace.PerDay * days
		then.Clock += math.Max(0, used-before.Mean)
		// How fast, how it falls into portions, and what goes before.
		then.ClockSpread = math.Sqrt(square(pace.Spread*used) + used*pace.Portion + square(before.Spread))
		return then
	}
	now := gauge.Future{Clock: clock, Hours: at.Sub(item.Since).Hours()}
	fan := f.FanAt(now)
	left.Share = Level{atLeast0(fan[2]), atLeast0(fan[0]), atLeast0(fan[4])}
	if left.Known {
		left.Amount = Level{left.Share.Mean * full, left.Share.Low * full, left.Share.High * full}
	}
	if logged && pace.PerDay <= 0 {
		return left
	}
	left.RunsOut = runsOut(at, func(t time.Time) float64 { return f.StoreBelowAt(future(t), p.RiskLevel) })
	return left
}

// most is the most that there ever was of an item, by what was written down.
func (i Item) most() float64 {
	type change struct {
		at time.Time
		by float64
	}
	changes := make([]change, 0, len(i.Used)+len(i.Added))
	for _, use := range i.Used {
		changes = append(changes, change{use.At, -use.Amount})
	}
	for _, use := range i.Added {
		changes = append(changes, change{use.At, use.Amount})
	}
	slices.SortStableFunc(changes, func(a, b change) int { return a.at.Compare(b.at) })
	level, most := i.Amount, i.Amount
	for _, c := range changes {
		level = math.Max(0, level+c.by)
		most = math.Max(most, level)
	}
	return most
}

// events are what happened to an item as its gauge sees it, up to an instant,
// and the clock then.
func (i Item) events(logged bool, perDay float64, at time.Time) (events []gauge.Event, clock float64) {
	type happening struct {
		at    time.Time
		used  float64
		event gauge.Event
	}
	var all []happening
	for _, use := range i.Added {
		all = append(all, happening{use.At, 0, gauge.Event{Kind: gauge.Dose, Amount: use.Amount}})
	}
	for _, use := range i.Used {
		all = append(all, happening{use.At, use.Amount, gauge.Event{Kind: gauge.Nothing}})
	}
	for _, look := range i.Looks {
		all = append(all, happening{look.At, 0, gauge.Event{Kind: gauge.Word, Word: look.Word, Person: -1}})
	}
	all = append(all, happening{at, 0, gauge.Event{Kind: gauge.Nothing}})
	slices.SortStableFunc(all, func(a, b happening) int { return a.at.Compare(b.at) })
	used := 0.0
	for _, one := range all {
		if one.at.After(at) {
			break
		}
		hours := math.Max(0, one.at.Sub(i.Since).Hours())
		used += one.used
		clock = used
		if !logged {
			clock = perDay * hours / 24
		}
		one.event.Clock, one.event.Hours = clock, hours
		events = append(events, one.event)
	}
	return events, clock
}

// runsOut finds when the odds of being out reach 1, 5 and 9 in 10.
func runsOut(at time.Time, odds func(time.Time) float64) *Span {
	var found [3]*time.Time
	low := at
	for i, share := range [3]float64{0.1, 0.5, 0.9} {
		t, ok := crossing(low, at.Add(longest), share, odds)
		if !ok {
			break
		}
		found[i], low = &t, t
	}
	if found[1] == nil {
		return nil
	}
	span := &Span{From: found[0].Round(time.Hour), About: found[1].Round(time.Hour)}
	if found[2] != nil {
		to := found[2].Round(time.Hour)
		span.To = &to
	}
	return span
}

// crossing is when odds, which rise with time, first reach share.
func crossing(low, end time.Time, share float64, odds func(time.Time) float64) (t time.Time, ok bool) {
	if odds(low) >= share {
		return low, true
	}
	step := 2 * day
	high := low.Add(step)
	for odds(high) < share {
		if high.After(end) {
			return t, false
		}
		low, step = high, step*3/2
		high = low.Add(step)
	}
	for high.Sub(low) > 10*time.Minute {
		middle := low.Add(high.Sub(low) / 2)
		if odds(middle) >= share {
			high = middle
		} else {
			low = middle
		}
	}
	return high, true
}

// A Reckoner keeps the memory that reckoning needs. It is not for two at once.
type Reckoner struct{ filter *gauge.Filter }

// NewReckoner returns a Reckoner.
func NewReckoner() *Reckoner { return &Reckoner{gauge.New()} }

func square(x float64) float64   { return x * x }
func atLeast0(x float64) float64 { return math.Max(0, x) }
