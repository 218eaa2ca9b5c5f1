//go:build verify

package fuse

import (
	"bytes"
	"math"
	"os/exec"
	"path/filepath"
	"testing"
)

// MustRun runs a script of testdata/oracles with R and returns the table it
// prints. Without R the test fails: a proof that did not run is no proof.
func MustRun(tb testing.TB, script string) []map[string]string {
	tb.Helper()
	rscript, err := exec.LookPath("Rscript")
	if err != nil {
		tb.Fatal("Rscript is not installed; testdata/oracles/README.md names the packages")
	}
	command := exec.Command(rscript, "--vanilla", script)
	command.Dir = filepath.Join("..", "..", "testdata", "oracles")
	var complaints bytes.Buffer
	command.Stderr = &complaints
	table, err := command.Output()
	if err != nil {
		tb.Fatalf("%s: %v\n%s", script, err, complaints.String())
	}
	return mustParse(tb, script, bytes.NewReader(table))
}

// same fails unless the two tables say the same in the named columns, numbers
// to the distance given (relative above 1).
func same(t *testing.T, live, stored []map[string]string, names, numbers []string, distance float64) {
	t.Helper()
	if len(live) != len(stored) {
		t.Fatalf("%d live rows, %d stored", len(live), len(stored))
	}
	for i := range live {
		for _, name := range names {
			if live[i][name] != stored[i][name] {
				t.Fatalf("row %d, %s: live %q, stored %q", i, name, live[i][name], stored[i][name])
			}
		}
		for _, name := range numbers {
			now, then := MustNumber(t, live[i][name]), MustNumber(t, stored[i][name])
			if math.IsNaN(now) && math.IsNaN(then) {
				continue
			}
			if !(math.Abs(now-then) <= distance*math.Max(1, math.Abs(then))) {
				t.Errorf("row %d (%v), %s: live %.9g, stored %.9g", i, live[i], name, now, then)
			}
		}
	}
}

// R's survreg, run now, agrees with the stored fits and with ours.
func TestOracleSurvreg(t *testing.T) {
	live := MustRun(t, "cosmesis_survreg.R")
	same(t, live, MustRows(t, "breast_cosmesis_survreg.csv"), []string{"set", "dist"},
		[]string{"intercept", "coefRCT", "scale", "logscale_se", "loglik", "se_int", "se_coef"}, 1e-6)
	checkSurvreg(t, live)
}

// R's npsurv, run now, agrees with the stored masses and with ours.
func TestOracleTurnbull(t *testing.T) {
	live := MustRun(t, "cosmesis_turnbull.R")
	same(t, live, MustRows(t, "breast_cosmesis_turnbull.csv"), []string{"group", "left", "right"}, []string{"mass", "loglik"}, 1e-6)
	checkTurnbull(t, live)
}

// R's survfit and survreg on the 6-MP trial; our own fit is held to the stored
// table by the ordinary tests.
func TestOracleRemission(t *testing.T) {
	same(t, MustRun(t, "remission.R"), MustRows(t, "remission_fits.csv"), []string{"name"}, []string{"value"}, 1e-6)
}

// R's clm, polr, survreg and glm and the grid posterior on the felt checks.
func TestOracleFeltChecks(t *testing.T) {
	same(t, MustRun(t, "felt_checks.R"), MustRows(t, "felt_checks_fits.csv"), []string{"name"}, []string{"value"}, 1e-6)
}
