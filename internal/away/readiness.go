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

// LongestUnseen is how many days at most nobody looks at a bin, however small its
// odds, as far as somebody can come: that a well set-up bin is fine for a week is
// common practice; how much longer is only what a forecast says, and a forecast
// knows no broken lid. Judgement.
const LongestUnseen = 10

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
	Seen      int       // the last day on which somebody saw to it; -1: before leaving
	Untouched []float64 // if nobody does anything
	SetUp     []float64 // if it is got ready the day before leaving; nil if that is past or changes nothing
	// Served is the odds that it comes to harm after a service on one day and
	// by the end of a later one; nil is none.
	Served func(from, by int) float64

	// Dry is the odds that its surface feels dry at the end of a day if nobody
	// has come since leaving, ServedDry at the end of a day after a service on
	// an earlier one. A surface dries days before the depth does; it is no harm,
	// but where somebody comes anyway a lid may be worth it. Both may be nil.
	Dry       []float64
	ServedDry func(from, on int) float64
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
// Between two services no bin passes the tolerance, nor LongestUnseen but for
// those that are better left shut; Late are bins that do pass the tolerance.
func (t *Trip) Plan(tolerance float64, more int) Outcome {
	problem := Problem{Last: t.Last, Days: t.Days, Chains: make([]Chain, len(t.Bins))}
	for i := range t.Bins {
		problem.Chains[i] = t.chain(&t.Bins[i], tolerance).seen(t.Bins[i].Seen)
	}
	plan := problem.SolveWith(more)
	t.spare(&plan, problem.Chains)
	for i := range t.Bins {
		plan.Late[i] = plan.Late[i] && t.chain(&t.Bins[i], tolerance).missed(plan.Served[i], t.Last)
	}
	return t.outcome(plan, tolerance)
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
		} else if b.Served != nil {
			spared *= 1 - b.Served(from, next)
		}
		from = next
	}
	return 1 - spared
}

// chain turns odds into deadlines.
func (t *Trip) chain(b *Bin, tolerance float64) Chain {
	c := Chain{
		Closed: b.Closed, Next: make([]int, t.Last),
		First: deadline(-1, t.Last, tolerance, func(day int) float64 { return at(b.first(), day) }),
	}
	for from := range c.Next {
		if c.Next[from] = t.Last; b.Served != nil {
			c.Next[from] = deadline(from, t.Last, tolerance, func(day int) float64 { return b.Served(from, day) })
		}
	}
	return c
}

// seen brings the deadlines of a bin that may be opened forward to LongestUnseen
// after somebody saw to it.
func (c Chain) seen(last int) Chain {
	if c.Closed {
		return c
	}
	c.First = min(c.First, last+LongestUnseen)
	for from := range c.Next {
		c.Next[from] = min(c.Next[from], from+LongestUnseen)
	}
	return c
}

// missed says whether services pass a deadline.
func (c Chain) missed(served []int, last int) bool {
	by := c.First
	for _, day := range append(append([]int{}, served...), last) {
		if by < min(day, last) {
			return true
		}
		if day < last {
			by = max(c.First, c.Next[day])
		}
	}
	return false
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
