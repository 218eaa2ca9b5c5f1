package away

import (
	"encoding/json"
	"math/bits"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawProblem draws a trip whose deadlines do not fall from day to day, as
// those that odds make do not.
func drawProblem(t *rapid.T, most, chains int) Problem {
	p := Problem{Last: rapid.IntRange(0, most).Draw(t, "last")}
	for day := range p.Last + 1 {
		if rapid.IntRange(0, 9).Draw(t, "comes") < 7 {
			p.Days = append(p.Days, day)
		}
	}
	for range rapid.IntRange(0, chains).Draw(t, "chains") {
		c := Chain{First: rapid.IntRange(-1, most+2).Draw(t, "first"), Closed: rapid.Bool().Draw(t, "closed")}
		by := c.First
		for day := range p.Last {
			by = max(by, day+rapid.IntRange(0, 6).Draw(t, "gap"))
			c.Next = append(c.Next, by)
		}
		p.Chains = append(p.Chains, c)
	}
	return p
}

// bruteForce tries every set of days, and of every bin every subset of them.
// It knows of deadlines what a Problem says and nothing of places or classes.
func bruteForce(p Problem) (days, lids, closed int) {
	var can []int
	for _, day := range p.Days {
		if day < p.Last {
			can = append(can, day)
		}
	}
	days = 1 << 20
	for set := range 1 << len(can) {
		n := bits.OnesCount(uint(set))
		if n > days {
			continue
		}
		sum, sumClosed, all := 0, 0, true
		for _, c := range p.Chains {
			least := -1
			for part := set; ; part = (part - 1) & set {
				if served := pick(can, part); keeps(p, c, can, served) && (least < 0 || len(served) < least) {
					least = len(served)
				}
				if part == 0 {
					break
				}
			}
			if least < 0 {
				all = false
				break
			}
			sum += least
			if c.Closed {
				sumClosed += least
			}
		}
		if all && (n < days || n == days && (sum < lids || sum == lids && sumClosed < closed)) {
			days, lids, closed = n, sum, sumClosed
		}
	}
	return days, lids, closed
}

func pick(can []int, set int) (served []int) {
	for i, day := range can {
		if set&(1<<i) != 0 {
			served = append(served, day)
		}
	}
	return served
}

// keeps says whether services on these days meet every deadline that can be
// met, and otherwise come on the first day after it.
func keeps(p Problem, c Chain, can, served []int) bool {
	by, before := c.First, -1
	for _, day := range append(slices.Clone(served), p.Last) {
		if by < p.Last {
			after := slices.IndexFunc(can, func(d int) bool { return d > before })
			if after >= 0 && can[after] > by {
				by = can[after]
			} else if after < 0 {
				by = p.Last
			}
		}
		if day > by {
			return false
		}
		if day < p.Last {
			before, by = day, max(c.First, c.Next[day])
		}
	}
	return true
}

func TestThePlanIsWhatBruteForceFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, 9, 5)
		plan := p.Solve()
		days, lids, closed := bruteForce(p)
		if len(plan.Days) != days || plan.Lids != lids || plan.ClosedLids != closed {
			t.Fatalf("%d days, %d lids, %d closed; brute force finds %d, %d, %d", len(plan.Days), plan.Lids, plan.ClosedLids, days, lids, closed)
		}
		var can []int
		for _, day := range p.Days {
			if day < p.Last {
				can = append(can, day)
			}
		}
		for i, c := range p.Chains {
			if !keeps(p, c, can, plan.Served[i]) {
				t.Fatalf("chain %d is served on %v, which does not keep its deadlines", i, plan.Served[i])
			}
		}
	})
}

// stored are cases whose optimum another solver has found:
// testdata/README.md says how.
type stored struct {
	Problem
	Visits, Lids, ClosedLids int
}

func mustStored(tb testing.TB) (cases []stored) {
	tb.Helper()
	raw, err := os.ReadFile("testdata/glpk.json")
	if err == nil {
		err = json.Unmarshal(raw, &cases)
	}
	if err != nil {
		tb.Fatal(err)
	}
	return cases
}

func TestThePlanIsWhatGLPKFound(t *testing.T) {
	for i, c := range mustStored(t) {
		plan := c.Solve()
		if len(plan.Days) != c.Visits || plan.Lids != c.Lids || plan.ClosedLids != c.ClosedLids {
			t.Errorf("case %d: %d days, %d lids, %d closed; GLPK %d, %d, %d", i, len(plan.Days), plan.Lids, plan.ClosedLids, c.Visits, c.Lids, c.ClosedLids)
		}
	}
}

// windows are bins that each want somebody once, within some days: whoever
// comes before the first of them has done nothing.
func windows(p *Problem, spans ...[2]int) {
	for _, span := range spans {
		c := Chain{First: span[1], Next: make([]int, p.Last)}
		for day := range c.Next {
			if c.Next[day] = span[1]; day >= span[0] {
				c.Next[day] = p.Last
			}
		}
		p.Chains = append(p.Chains, c)
	}
}

// Windows that no visit moves take as many days as stabbing them does: four,
// also with days 4, 7 and 12 blocked (glpsol and the sweep by ends both find
// that).
func TestFixedWindowsAreStabbedOnTheFewestDays(t *testing.T) {
	for _, blocked := range [][]int{nil, {4, 7, 12}} {
		p := Problem{Last: 20}
		for day := range p.Last {
			if !slices.Contains(blocked, day) {
				p.Days = append(p.Days, day)
			}
		}
		spans := [][2]int{{2, 4}, {3, 5}, {3, 6}, {5, 8}, {6, 7}, {6, 10}, {9, 12}, {11, 13}, {12, 16}, {15, 18}}
		windows(&p, spans...)
		plan := p.Solve()
		if len(plan.Days) != 4 {
			t.Errorf("blocked %v: visits on %v", blocked, plan.Days)
		}
		for i, span := range spans {
			met := slices.ContainsFunc(plan.Served[i], func(day int) bool { return day >= span[0] && day <= span[1] })
			if !met || len(plan.Served[i]) != 1 || plan.Late[i] {
				t.Errorf("blocked %v: window %v is served on %v, late %v", blocked, span, plan.Served[i], plan.Late[i])
			}
		}
	}
}

func TestABinThatLastsIsNotOpened(t *testing.T) {
	plan := Problem{Last: 9, Days: []int{2, 5}, Chains: []Chain{{First: 9}, {First: 30}}}.Solve()
	if len(plan.Days) != 0 || plan.Lids != 0 {
		t.Errorf("visits on %v open %d lids, want none", plan.Days, plan.Lids)
	}
}

func TestADeadlineThatNobodyCanMeetIsLate(t *testing.T) {
	next := func(by ...int) []int { return by }
	p := Problem{Last: 6, Days: []int{3}, Chains: []Chain{
		{First: 1, Next: next(6, 6, 6, 6, 6, 6)}, {First: 4, Next: next(6, 6, 6, 6, 6, 6)}, {First: 2, Next: next(4, 4, 4, 4, 4, 5)},
	}}
	plan := p.Solve()
	if !slices.Equal(plan.Days, []int{3}) || !slices.Equal(plan.Late, []bool{true, false, true}) || plan.Lids != 3 {
		t.Errorf("days %v, late %v, %d lids", plan.Days, plan.Late, plan.Lids)
	}
	if nobody := (Problem{Last: 6, Chains: p.Chains}).Solve(); len(nobody.Days) != 0 || !nobody.Late[0] {
		t.Errorf("without a sitter: days %v, late %v", nobody.Days, nobody.Late)
	}
}

func TestAnotherDayNeverOpensMoreLids(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, 9, 5)
		fewest := p.Solve()
		if more := p.SolveWith(1); more.Lids > fewest.Lids {
			t.Fatalf("%d lids on %d days, %d on one more", fewest.Lids, len(fewest.Days), more.Lids)
		}
	})
}
