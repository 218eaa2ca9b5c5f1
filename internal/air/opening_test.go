package air

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const inch = 0.0254

// Holes in still air, 21 C, 1.5 mm wall, saturated inside, room at 45 %:
// computed from D·A/(l + πd/4) with Massman's D (conductance) and Alduchov &
// Eskridge's saturation (loss, hence 0.35 %), each to the digits printed.
func TestStillConductanceAgainstTable(t *testing.T) {
	cases := []struct{ mm, conductance, gramsPerDay float64 }{
		{2, 2.548e-8, 0.0221}, {5, 9.011e-8, 0.0783}, {10, 2.091e-7, 0.182},
		{25, 5.784e-7, 0.502}, {50, 1.199e-6, 1.042}, {100, 2.444e-6, 2.123},
	}
	for _, c := range cases {
		got := StillConductance(Diffusivity(21, StandardPressure), c.mm/1000, 0.0015)
		mustBeNear(t, "conductance", got, c.conductance, 0.0005)
		mustBeNear(t, "loss", got*Deficit(21, 45)*1000*86400, c.gramsPerDay, 0.006)
	}
}

// Brown & Escombe / Stefan: through a thin plate conductance goes with the
// diameter, D·d; through a long tube with the area, D·A/l. With one end, Monteith
// & Unsworth's resistance 4(l + πd/8)/(πd²D) lies between (read in the
// documentation of a plant-science library).
func TestStillConductanceLimits(t *testing.T) {
	const d, diffusivity = 0.01, 2.5e-5
	mustBeNear(t, "thin plate", StillConductance(diffusivity, d, 0), diffusivity*d, 1e-12)
	mustBeNear(t, "long tube", StillConductance(diffusivity, d, 100), diffusivity*discArea(d)/100, 1e-4)
	oneEnd := math.Pi * d * d * diffusivity / (4 * (0.002 + math.Pi*d/8))
	if both := StillConductance(diffusivity, d, 0.002); both >= oneEnd || both <= oneEnd/2 {
		t.Errorf("both ends %v, one end %v", both, oneEnd)
	}
}

// Pores of birds' eggs (Ar & Rahn 1985): a pore with area over length of
// 0.67 µm passes 1.5 µg of water per day and Torr. The law knows only that
// ratio, so the pore here is long against its width.
func TestEggPore(t *testing.T) {
	const torr, length = 101325.0 / 760, 1.0
	diameter := math.Sqrt(4 * 0.67e-6 * length / math.Pi)
	conductance := StillConductance(Diffusivity(25, StandardPressure), diameter, length)
	micrograms := conductance * vapourDensity(torr, 25) * 1e9 * 86400
	mustBeNear(t, "µg per day and Torr", micrograms, 1.5, 0.06)
}

// Moving air must mean nothing to a drilled hole, and much to a cut-out.
func TestMovingAirActsOnLargeOpeningsOnly(t *testing.T) {
	diffusivity := Diffusivity(21, StandardPressure)
	ratio := func(diameter float64) float64 {
		hole := Opening{Round: true, DiameterM: diameter}
		return hole.Conductance(diffusivity, 0.0015) / StillConductance(diffusivity, diameter, 0.0015)
	}
	for _, d := range []float64{inch / 32, inch / 16, inch / 8} {
		if r := ratio(d); r < 1 || r > 1.006 {
			t.Errorf("hole of %.1f mm: %.4f of its conductance in still air", d*1000, r)
		}
	}
	cutOut := Opening{LengthM: 6 * inch, WidthM: 4 * inch, MeshOpenShare: 0.5}
	same := math.Sqrt(4 * cutOut.Area() / math.Pi)
	// Still air is 3-4 times too slow for a large screened cut-out (judgement
	// from what keepers report; the film constants follow it).
	if r := cutOut.Conductance(diffusivity, 0.0015) / StillConductance(diffusivity, same, 0.0015); r < 3 || r > 4.2 {
		t.Errorf("large cut-out: %.2f times still air, want 3-4.2", r)
	}
}

func TestUnsetFieldsOfAnOpening(t *testing.T) {
	const d = 2.5e-5
	plain := Opening{Round: true, DiameterM: 0.02}
	if plain.Conductance(d, 0) != (Opening{Round: true, DiameterM: 0.02, Count: 1, MeshOpenShare: 1}).Conductance(d, usualWall) {
		t.Error("count, mesh and wall left out are not one, none and the usual")
	}
	for name, o := range map[string]Opening{
		"no measures":       {Round: true},
		"one side only":     {LengthM: 0.1},
		"negative":          {LengthM: -0.1, WidthM: -0.1},
		"not a number":      {Round: true, DiameterM: math.NaN()},
		"without an end":    {LengthM: math.Inf(1), WidthM: 0.1},
		"round by its side": {Round: true, LengthM: 0.1, WidthM: 0.1},
	} {
		if got := o.Conductance(d, 0.0015); got != 0 {
			t.Errorf("%s: conductance %v, want 0", name, got)
		}
	}
	if StillConductance(d, 0, 0.001) != 0 || StillConductance(d, math.NaN(), 0.001) != 0 {
		t.Error("a hole without a diameter conducts")
	}
}

func TestOpeningLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Float64Range(0.0003, 0.5)
		d := rapid.Float64Range(2e-5, 3e-5).Draw(t, "diffusivity")
		wall := rapid.Float64Range(0.0002, 0.02).Draw(t, "wall")
		o := Opening{LengthM: size.Draw(t, "length"), WidthM: size.Draw(t, "width"),
			DiameterM: size.Draw(t, "diameter"), Round: rapid.Bool().Draw(t, "round"),
			MeshOpenShare: rapid.Float64Range(0.05, 1).Draw(t, "mesh")}
		base := o.Conductance(d, wall)
		more := func(what string, changed Opening, d, wall float64) {
			t.Helper()
			if got := changed.Conductance(d, wall); !(got >= base) {
				t.Fatalf("%s lowers the conductance from %v to %v", what, base, got)
			}
		}
		grown, bare, finer := o, o, o
		grown.LengthM, grown.WidthM, grown.DiameterM = o.LengthM*1.01, o.WidthM*1.001, o.DiameterM*1.01
		bare.MeshOpenShare = 1
		finer.MeshOpenShare = min(1, o.MeshOpenShare*1.1)
		more("a larger opening", grown, d, wall)
		more("no mesh", bare, d, wall)
		more("a more open mesh", finer, d, wall)
		more("faster diffusion", o, d*1.01, wall)
		more("a thinner wall", o, d, wall*0.9)
		if !(base > 0) {
			t.Fatalf("conductance %v", base)
		}
	})
}
