//go:build verify

package rota

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"underlog/internal/glpk"
)

// GLPK (glpsol, Debian's glpk-utils) plans the same feedings as integer
// programmes: a bin takes one food or none, a food on the board costs, at most
// MostFoods are there. With -update what it finds becomes testdata/glpk.json.
func TestThePlanIsWhatGLPKFinds(t *testing.T) {
	var cases []stored
	for i := range 12 {
		c := stored{Bins: 4 + 3*i, Foods: 4 + i, Seed: uint64(i)}
		foods, bins := large(c.Bins, c.Foods, c.Seed)
		c.Cost = solve(t, foods, bins)
		if plan := Plan(foods, bins); plan.Cost != c.Cost {
			t.Errorf("case %d: %d, GLPK %d", i, plan.Cost, c.Cost)
		}
		cases = append(cases, c)
	}
	glpk.Keep(t, cases, `{"Bins"`)
}

func solve(t *testing.T, foods []Food, bins []Bin) int {
	t.Helper()
	var goal, rules, whole strings.Builder
	given := make([]string, len(foods))
	for b := range bins {
		fmt.Fprintf(&goal, " + %d n%d", unfed, b)
		fmt.Fprintf(&rules, " n%d", b)
		fmt.Fprintf(&whole, " n%d\n", b)
		linked := ""
		for f, w := range Weigh(foods, &bins[b]) {
			if w.Ban != "" {
				continue
			}
			x := fmt.Sprintf("x%df%d", b, f)
			fmt.Fprintf(&goal, " %+d %s", w.Sum, x)
			fmt.Fprintf(&rules, " + %s", x)
			fmt.Fprintf(&whole, " %s\n", x)
			given[f] += " + " + x
			linked += fmt.Sprintf(" %s - y%d <= 0\n", x, f)
		}
		rules.WriteString(" = 1\n" + linked)
	}
	most := ""
	for f, food := range foods {
		fmt.Fprintf(&goal, " + %d y%d", perFood, f)
		fmt.Fprintf(&whole, " y%d\n", f)
		most += fmt.Sprintf(" + y%d", f)
		if food.Portions >= 0 && given[f] != "" {
			fmt.Fprintf(&rules, "%s <= %d\n", given[f], food.Portions)
		}
	}
	fmt.Fprintf(&rules, "%s <= %d\n", most, MostFoods)
	return int(math.Round(glpk.Minimize(t, goal.String(), rules.String(), whole.String(), "")))
}
