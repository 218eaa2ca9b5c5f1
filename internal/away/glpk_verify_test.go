//go:build verify

package away

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"underlog/internal/glpk"
)

// GLPK (glpsol, Debian's glpk-utils) solves the same trips as a mixed integer
// programme: a day is visited or not; each chain is a path from before leaving
// to the return over days that are visited, each step no longer than its
// deadline. With -update what it finds becomes testdata/glpk.json.
func TestThePlanIsWhatGLPKFinds(t *testing.T) {
	chance := rand.New(rand.NewPCG(5, 7))
	var cases []stored
	for i := range 24 {
		c := stored{Problem: someTrip(chance, 6+i, 4+2*i)}
		c.Visits, c.Lids, c.ClosedLids = mustAskGLPK(t, c.Problem)
		cases = append(cases, c)
		plan := c.Solve()
		if len(plan.Days) != c.Visits || plan.Lids != c.Lids || plan.ClosedLids != c.ClosedLids {
			t.Errorf("%d days, %d chains: %d visits, %d lids, %d closed; GLPK %d, %d, %d", c.Last, len(c.Chains),
				len(plan.Days), plan.Lids, plan.ClosedLids, c.Visits, c.Lids, c.ClosedLids)
		}
	}
	glpk.Keep(t, cases, `{"Last"`)
}

// Trips as large as those of a full rack: a month, and a hundred bins.
func TestTheLargestPlansAreWhatGLPKFinds(t *testing.T) {
	chance := rand.New(rand.NewPCG(11, 13))
	for _, size := range []struct{ days, bins int }{{30, 60}, {30, 100}, {45, 60}} {
		p := someTrip(chance, size.days, size.bins)
		visits, lids, closed := mustAskGLPK(t, p)
		plan := p.Solve()
		if len(plan.Days) != visits || plan.Lids != lids || plan.ClosedLids != closed {
			t.Errorf("%d days, %d bins: %d visits, %d lids, %d closed; GLPK %d, %d, %d", size.days, size.bins,
				len(plan.Days), plan.Lids, plan.ClosedLids, visits, lids, closed)
		}
	}
}

// someTrip draws a trip like real ones: each bin dries at its own pace, a
// little faster toward the end.
func someTrip(chance *rand.Rand, last, chains int) Problem {
	p := Problem{Last: last}
	for day := range last {
		if chance.Float64() < 0.7 {
			p.Days = append(p.Days, day)
		}
	}
	for range chains {
		gap := 2 + 10*chance.Float64()
		c := Chain{First: int(gap*chance.Float64()*1.5) + 1, Closed: chance.Float64() < 0.1}
		by := c.First
		for day := range last {
			by = max(by, day+int(gap*(1-0.2*float64(day)/float64(last))))
			c.Next = append(c.Next, by)
		}
		p.Chains = append(p.Chains, c)
	}
	return p
}

func mustAskGLPK(t *testing.T, p Problem) (visits, lids, closed int) {
	t.Helper()
	const aLid, aDay = 1000, 1000 * 1000
	var goal, rules, whole strings.Builder
	for _, day := range p.Days {
		fmt.Fprintf(&goal, " + %d y%d", aDay, day)
		fmt.Fprintf(&whole, " y%d\n", day)
	}
	for i, c := range p.Chains {
		into := map[int][]string{}
		for _, from := range append([]int{-1}, p.Days...) {
			by := c.First
			if from >= 0 {
				by = max(by, c.Next[from])
			}
			var out []string
			if by < p.Last {
				if first := firstAfter(p.Days, from); first < 0 {
					by = p.Last // nobody can come any more
				} else {
					by = max(by, first)
				}
			}
			for _, to := range p.Days {
				if to > from && to <= by {
					arc := fmt.Sprintf("x%d_%d_%d", i, from+1, to+1)
					cost := aLid
					if c.Closed {
						cost++
					}
					fmt.Fprintf(&goal, " + %d %s", cost, arc)
					out, into[to] = append(out, arc), append(into[to], arc)
				}
			}
			if by >= p.Last {
				out = append(out, fmt.Sprintf("e%d_%d", i, from+1))
			}
			left := strings.Join(out, " + ")
			if from < 0 {
				fmt.Fprintf(&rules, " %s = 1\n", left)
			} else if len(into[from]) > 0 {
				fmt.Fprintf(&rules, " %s - %s = 0\n", left, strings.Join(into[from], " - "))
				fmt.Fprintf(&rules, " %s - y%d <= 0\n", strings.Join(into[from], " + "), from)
			} else {
				fmt.Fprintf(&rules, " %s = 0\n", left)
			}
		}
	}
	sum := int(math.Round(glpk.Minimize(t, "0 nothing"+goal.String(), rules.String(), whole.String(), "")))
	return sum / aDay, sum % aDay / aLid, sum % aLid
}

func firstAfter(days []int, from int) int {
	for _, day := range days {
		if day > from {
			return day
		}
	}
	return -1
}
