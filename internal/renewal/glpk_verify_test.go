//go:build verify

package renewal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"underlog/internal/glpk"
)

// GLPK (glpsol, Debian's glpk-utils) levels the same years as integer
// programmes, one for each aim, each keeping what those before it reached. With
// -update what it finds becomes testdata/glpk.json.
func TestThePlanIsWhatGLPKFinds(t *testing.T) {
	var cases []stored
	for i := range 12 {
		c := stored{Jobs: year(4+3*i, uint64(i)), Weeks: 52, Order: Order(i % 2)}
		r := rand.New(rand.NewPCG(uint64(i), 2))
		for j := range c.Jobs {
			c.Jobs[j].Pinned = c.Jobs[j].Known >= 0 && r.IntN(8) == 0
		}
		c.ask(t)
		c.compare(t, i)
		cases = append(cases, c)
	}
	glpk.Keep(t, cases, `{"Jobs"`)
}

// ask fills in what GLPK finds.
func (c *stored) ask(t *testing.T) {
	t.Helper()
	off := func(j Job, w int) int { return int(math.Abs(float64(w - j.Goal))) }
	changed := func(j Job, w int) int {
		if j.Known >= 0 && j.Known != w {
			return 1
		}
		return 0
	}
	c.Fullest = c.solve(t, "z", "")
	full := fmt.Sprintf(" z <= %d\n", c.Fullest)
	if c.Order == Steady {
		c.Changed = c.solve(t, c.sum(changed), full)
		c.Off = c.solve(t, c.sum(off), full+fmt.Sprintf("%s <= %d\n", c.sum(changed), c.Changed))
		return
	}
	c.Off = c.solve(t, c.sum(off), full)
	c.Changed = c.solve(t, c.sum(changed), full+fmt.Sprintf("%s <= %d\n", c.sum(off), c.Off))
}

// sum is a cost of all placements, in the words of the LP format. One term of
// nothing stands in where nothing costs anything.
func (c *stored) sum(cost func(Job, int) int) string {
	var out strings.Builder
	out.WriteString(" 0 z")
	for i, job := range c.Jobs {
		for w, may := range job.allowed(c.Weeks) {
			if n := cost(job, w); may && n != 0 {
				fmt.Fprintf(&out, " + %d x%dw%d", n, i, w)
			}
		}
	}
	return out.String()
}

func (c *stored) solve(t *testing.T, goal, more string) int {
	t.Helper()
	var once, whole strings.Builder
	week := make([]string, c.Weeks)
	for i, job := range c.Jobs {
		for w, may := range job.allowed(c.Weeks) {
			if may {
				name := fmt.Sprintf("x%dw%d", i, w)
				fmt.Fprintf(&once, " + %s", name)
				fmt.Fprintf(&whole, " %s\n", name)
				week[w] += " + " + name
			}
		}
		once.WriteString(" = 1\n")
	}
	for _, jobs := range week {
		if jobs != "" {
			fmt.Fprintf(&once, "%s - z <= 0\n", jobs)
		}
	}
	return int(math.Round(glpk.Minimize(t, goal, once.String()+more, whole.String(), " z\n")))
}
