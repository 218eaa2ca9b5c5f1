//go:build verify

package away

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"underlog/internal/glpk"
)

// GLPK (glpsol, Debian's glpk-utils) solves the same trips as a mixed integer
// programme: a day is visited or not; each chain is a path from before leaving
// to the return over days that are visited, each step no longer than its
// deadline. The fewest days are asked for first, then the fewest lids on as
// many days. With -update what it finds becomes testdata/glpk.json.
func TestThePlanIsWhatGLPKFinds(t *testing.T) {
	chance := rand.New(rand.NewPCG(5, 7))
	var cases []stored
	for i := range 24 {
		c := stored{Problem: someTrip(chance, 6+i, 4+2*i, 2)}
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

// Trips as large as those of a full rack: a month, and two hundred bins. The
// sitter cannot come on three days of ten, and a tenth of the bins is better
// left shut. Where every bin lasts for five days and more, many plans are nearly
// as good.
func TestTheLargestPlansAreWhatGLPKFinds(t *testing.T) {
	chance := rand.New(rand.NewPCG(11, 13))
	for _, size := range []struct {
		days, bins int
		gap        float64
	}{{30, 60, 2}, {30, 100, 2}, {45, 60, 2}, {30, 60, 5}, {30, 100, 5}, {45, 60, 5}, {30, 150, 5}, {30, 200, 5}, {30, 200, 3}, {30, 200, 2}} {
		p := someTrip(chance, size.days, size.bins, size.gap)
		asked := time.Now()
		visits, lids, closed := mustAskGLPK(t, p)
		solved := time.Now()
		plan := p.Solve()
		t.Logf("%d days, the sitter can come on %d, %d bins: %d visits, %d lids; GLPK took %.1f s, the planner %.1f ms", size.days, len(p.Days), size.bins,
			visits, lids, solved.Sub(asked).Seconds(), 1e3*time.Since(solved).Seconds())
		if len(plan.Days) != visits || plan.Lids != lids || plan.ClosedLids != closed {
			t.Errorf("%d days, %d bins: %d visits, %d lids, %d closed; GLPK %d, %d, %d", size.days, size.bins,
				len(plan.Days), plan.Lids, plan.ClosedLids, visits, lids, closed)
		}
	}
}

// someTrip draws a trip like real ones: each bin dries at its own pace, in so many
// days at least and up to ten more, a little faster toward the end.
func someTrip(chance *rand.Rand, last, chains int, least float64) Problem {
	p := Problem{Last: last}
	for day := range last {
		if chance.Float64() < 0.7 {
			p.Days = append(p.Days, day)
		}
	}
	for range chains {
		gap := least + 10*chance.Float64()
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
	const aLid = 1000 // closed ones
	var daysVisited, goal, rules, whole strings.Builder
	for _, day := range p.Days {
		fmt.Fprintf(&daysVisited, " + y%d", day)
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
	visits = int(math.Round(glpk.Minimize(t, "0 nothing"+daysVisited.String(), rules.String(), whole.String(), "")))
	fmt.Fprintf(&rules, "%s = %d\n", daysVisited.String(), visits)
	sum := int(math.Round(glpk.Minimize(t, "0 nothing"+goal.String(), rules.String(), whole.String(), "")))
	return visits, sum / aLid, sum % aLid
}

func firstAfter(days []int, from int) int {
	for _, day := range days {
		if day > from {
			return day
		}
	}
	return -1
}
