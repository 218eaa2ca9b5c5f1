//go:build verify

package rota

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the stored cases anew")

// GLPK (glpsol, Debian's glpk-utils) plans the same feedings as integer
// programmes: a bin takes one food or none, a food on the board costs, at most
// MostFoods are there. With -update what it finds becomes testdata/glpk.json.
func TestThePlanIsWhatGLPKFinds(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		t.Fatal("glpsol is not here: install glpk-utils")
	}
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
	if !*update {
		return
	}
	raw, err := json.Marshal(cases)
	if err == nil {
		err = os.WriteFile("testdata/glpk.json", []byte(strings.ReplaceAll(string(raw), "},{", "},\n{")+"\n"), 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
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
	path := filepath.Join(t.TempDir(), "feeding.lp")
	text := "Minimize\n cost:" + goal.String() + "\nSubject To\n" + rules.String() + "Binary\n" + whole.String() + "End\n"
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	found := path + ".out"
	if out, err := exec.Command("glpsol", "--lp", path, "--cuts", "-o", found).CombinedOutput(); err != nil {
		t.Fatalf("glpsol: %v\n%s", err, out)
	}
	report, err := os.ReadFile(found)
	if err != nil {
		t.Fatal(err)
	}
	match := regexp.MustCompile(`Status:\s+INTEGER OPTIMAL\s+Objective:\s+cost = ([-\d.e+]+)`).FindSubmatch(report)
	if match == nil {
		t.Fatalf("no optimum:\n%.400s", report)
	}
	value, err := strconv.ParseFloat(string(match[1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return int(math.Round(value))
}
