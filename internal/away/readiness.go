package away

import "math"

// Tolerance is the odds of harm that no bin is meant to pass between two
// services, and up to which it is said to last: judgement, tuned on the simulated
// tuning room until no more bins came to harm than with a sitter who opens every
// bin each third day.
const Tolerance = 0.003

// LeastTolerance is the smallest that a plan is made with: a bin whose odds of
// harm stay below it is never opened.
const LeastTolerance = 0.001

// Verdicts on a bin.
const (
	Lasts      = "lasts"           // as it is
	LastsSetUp = "lasts if set up" // if it is got ready the day before leaving
	Visits     = "needs visits"    // somebody has to come
)

// A Bin is what one bin will bear. Odds are of coming to harm by the end of a
// day, from day 0 to the trip's last, and do not fall from day to day.
type Bin struct {
	ID        string
	Closed    bool      // better not opened by a sitter
	Untouched []float64 // if nobody does anything
	SetUp     []float64 // if it is got ready the day before leaving; nil if that is past or changes nothing
	// Served is the odds that it comes to harm after a service on one day and
	// by the end of a later one. It may be nil for a bin that lasts.
	Served func(from, by int) float64
}

// first is the odds with which the bin goes into the trip.
func (b *Bin) first() []float64 {
	if b.SetUp != nil {
		return b.SetUp
	}
	return b.Untouched
}

// A Trip is the bins of a trip and who can come when.
type Trip struct {
	Last int   // day of coming back
	Days []int // on which the sitter can come
	Bins []Bin
}

// An Outcome is a plan and what it comes to.
type Outcome struct {
	Plan
	Tolerance float64
	Harm      []float64 // of each bin: the odds of coming to harm before the return
	Expected  float64   // bins that are expected to
}

// Verdict says how many visits a bin needs, with so much tolerance, if the
// sitter could come on every day, and says so in a word.
func (t *Trip) Verdict(b *Bin, tolerance float64) (word string, visits int) {
	if at(b.Untouched, t.Last) <= tolerance {
		return Lasts, 0
	}
	if b.SetUp != nil && at(b.SetUp, t.Last) <= tolerance {
		return LastsSetUp, 0
	}
	every := Problem{Last: t.Last, Chains: []Chain{t.chain(b, tolerance)}}
	for day := range t.Last {
		every.Days = append(every.Days, day)
	}
	return Visits, len(every.Solve().Days)
}

// Plan plans the visits with so much tolerance, and on more days than need be.
func (t *Trip) Plan(tolerance float64, more int) Outcome {
	problem := Problem{Last: t.Last, Days: t.Days, Chains: make([]Chain, len(t.Bins))}
	for i := range t.Bins {
		problem.Chains[i] = t.chain(&t.Bins[i], tolerance)
	}
	return t.outcome(problem.SolveWith(more), tolerance)
}

// Nobody is what the trip comes to if nobody comes.
func (t *Trip) Nobody() Outcome {
	return t.outcome(Plan{Days: []int{}, Served: make([][]int, len(t.Bins)), Late: make([]bool, len(t.Bins))}, 1)
}

func (t *Trip) outcome(plan Plan, tolerance float64) Outcome {
	out := Outcome{Plan: plan, Tolerance: tolerance, Harm: make([]float64, len(t.Bins))}
	for i := range t.Bins {
		out.Harm[i] = t.Bins[i].By(plan.Served[i], t.Last)
		out.Expected += out.Harm[i]
	}
	return out
}

// By is the odds that the bin comes to harm by the end of a day if it is
// served on the days given.
func (b *Bin) By(served []int, day int) float64 {
	spared, from := 1.0, -1
	for _, next := range append(append([]int{}, served...), day) {
		next = min(next, day)
		if next <= from {
			break
		}
		if from < 0 {
			spared *= 1 - at(b.first(), next)
		} else {
			spared *= 1 - b.Served(from, next)
		}
		from = next
	}
	return 1 - spared
}

// chain turns odds into deadlines.
func (t *Trip) chain(b *Bin, tolerance float64) Chain {
	c := Chain{Closed: b.Closed, First: deadline(-1, t.Last, tolerance, func(day int) float64 { return at(b.first(), day) })}
	if c.First >= t.Last || b.Served == nil {
		return c
	}
	c.Next = make([]int, t.Last)
	for from := range c.Next {
		c.Next[from] = deadline(from, t.Last, tolerance, func(day int) float64 { return b.Served(from, day) })
	}
	return c
}

// deadline is the last day after from whose odds are within the tolerance, or
// from itself. Odds do not fall, so it is looked for by halving.
func deadline(from, last int, tolerance float64, odds func(day int) float64) int {
	low, high := from, last+1 // odds(low) are within, odds(high) are not
	for high-low > 1 {
		if middle := (low + high) / 2; odds(middle) <= tolerance {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

func at(odds []float64, day int) float64 {
	if len(odds) == 0 {
		return 0
	}
	return odds[max(0, min(day, len(odds)-1))]
}

// A Trade is one way to weigh visits against risk.
type Trade struct {
	Visits    int     `json:"visits"`
	Lids      int     `json:"lids"`
	Harmed    float64 `json:"harmed"` // bins expected to come to harm
	Worst     float64 `json:"worst"`  // the odds of the bin that fares worst
	Tolerance float64 `json:"tolerance"`
}

// ladder is the tolerances among which a trade is chosen.
var ladder = [...]float64{LeastTolerance, 0.01, 0.03, 0.06, 0.10, 0.20, 0.35, 0.50}

// Trades lists what fewer and more visits come to beside a plan, the fewest
// first: for each other number of days the least risk that a plan of the ladder
// of tolerances has. A visit more is less risk; what is not is left out.
func (t *Trip) Trades(plan Outcome) []Trade {
	byVisits := map[int]Trade{0: t.Nobody().Trade()}
	most := len(plan.Days)
	for _, tolerance := range ladder {
		trade := t.Plan(tolerance, 0).Trade()
		if best, have := byVisits[trade.Visits]; !have || trade.Harmed < best.Harmed {
			byVisits[trade.Visits] = trade
		}
		most = max(most, trade.Visits)
	}
	byVisits[len(plan.Days)] = plan.Trade()
	trades := []Trade{}
	least := math.Inf(1)
	for visits := 0; visits <= most; visits++ {
		trade, have := byVisits[visits]
		if have && (trade.Harmed < least || visits == len(plan.Days)) {
			least = trade.Harmed
			trades = append(trades, trade)
		}
	}
	return trades
}

// Trade sums an outcome up.
func (out Outcome) Trade() Trade {
	trade := Trade{Visits: len(out.Days), Lids: out.Lids, Harmed: out.Expected, Tolerance: out.Tolerance}
	for _, odds := range out.Harm {
		trade.Worst = math.Max(trade.Worst, odds)
	}
	return trade
}
