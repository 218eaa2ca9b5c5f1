//go:build verify

// Package glpk hands integer programmes to GLPK (glpsol, Debian's glpk-utils):
// the other opinion that the planners are held to. It is there only with the
// build tag verify, for tests.
package glpk

import (
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the stored cases anew")

// Minimize solves a programme in CPLEX's LP format: what is to be least, the
// rules, one a line, and the names of what is 0 or 1 and of what is a whole
// number, by spaces or lines. It returns the least value.
func Minimize(tb testing.TB, goal, rules, binary, general string) float64 {
	tb.Helper()
	if _, err := exec.LookPath("glpsol"); err != nil {
		tb.Fatal("glpsol is not here: install glpk-utils")
	}
	text := "Minimize\n goal: " + goal + "\nSubject To\n" + rules + "Binary\n" + binary + "General\n" + general + "End\n"
	path := filepath.Join(tb.TempDir(), "programme.lp")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		tb.Fatal(err)
	}
	answer := path + ".out"
	if out, err := exec.Command("glpsol", "--lp", path, "--cuts", "-o", answer).CombinedOutput(); err != nil {
		tb.Fatalf("glpsol: %v\n%s", err, out)
	}
	report, err := os.ReadFile(answer)
	if err != nil {
		tb.Fatal(err)
	}
	found := regexp.MustCompile(`Status:\s+INTEGER OPTIMAL\s+Objective:\s+goal = (\S+)`).FindSubmatch(report)
	if found == nil {
		tb.Fatalf("glpsol found no optimum:\n%.400s", report)
	}
	value, err := strconv.ParseFloat(string(found[1]), 64)
	if err != nil {
		tb.Fatal(err)
	}
	return value
}

// Keep writes cases to testdata/glpk.json if the tests run with -update, one a
// line. begins is how the JSON of each case begins.
func Keep(tb testing.TB, cases any, begins string) {
	tb.Helper()
	if !*update {
		return
	}
	raw, err := json.Marshal(cases)
	if err == nil {
		raw = []byte(strings.ReplaceAll(string(raw), begins, "\n"+begins) + "\n")
		err = os.WriteFile("testdata/glpk.json", raw, 0o644)
	}
	if err != nil {
		tb.Fatal(err)
	}
}
