package fuse

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Rosso, Lobry and Flandrois 1993 (J. Theor. Biol. 162:447-463): the vector
// published with the R package macrogrow for cardinals 5, 20, 30 °C.
func TestCardinalModelGivesThePublishedVector(t *testing.T) {
	rows := MustRows(t, "ctmi_vector.csv")
	if len(rows) != 30 {
		t.Fatalf("%d temperatures, want 30", len(rows))
	}
	for _, row := range rows {
		c := Cardinal{MustNumber(t, row["Tmin"]), MustNumber(t, row["Topt"]), MustNumber(t, row["Tmax"])}
		within(t, row["T"]+" °C", c.Rate(MustNumber(t, row["T"])), MustNumber(t, row["rel_rate_published"]), 1e-8)
	}
}

func TestTimeFactorKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-30, 25).Draw(t, "cooler")
		high := rapid.Float64Range(low, 25).Draw(t, "warmer")
		cool, warm := GenericMould.TimeFactor(low), GenericMould.TimeFactor(high)
		if !(warm <= cool) {
			t.Errorf("toward the optimum mould comes later: %g at %g °C, %g at %g °C", cool, low, warm, high)
		}
	})
	for celsius, want := range map[float64]float64{22: 1, -40: slowest, 60: slowest} {
		within(t, "factor", GenericMould.TimeFactor(celsius), want, 1e-12)
	}
	if got := GenericMould.TimeFactor(math.NaN()); got != 1 {
		t.Errorf("unknown temperature: factor %g, want 1", got)
	}
	within(t, "rate at the optimum", GenericMould.Rate(25), 1, 1e-12)
}
