package air

import (
	"math"
	"testing"
)

// sixQuart is the plan of a common 6-quart tub (inside measures from memory),
// 1.08 m round the rim, with these openings only.
func sixQuart(lidGap float64, openings ...Opening) Tub {
	return Tub{LengthM: 0.34, WidthM: 0.20, HeightM: 0.12, DampShare: 0.5, LidGapM: lidGap, WallM: 0.0015, Openings: openings}
}

func cutOut(longInch, wideInch float64) Opening {
	return Opening{LengthM: longInch * inch, WidthM: wideInch * inch, Count: 1, MeshOpenShare: 0.5}
}

func holes(count int, diameterInch, meshOpenShare float64) Opening {
	return Opening{Round: true, DiameterM: diameterInch * inch, Count: count, MeshOpenShare: meshOpenShare}
}

func inSide(o Opening) Opening {
	o.Side = true
	return o
}

func lossIn(tub Tub, celsius, humidity float64) Loss {
	p := tub.Prepare()
	return p.Loss(Climate{TemperatureC: celsius, HumidityPct: humidity})
}

const halfWeek = 84 // hours

// Common practice, no source: a 6-quart bin with a large screened cut-out gets
// 2-3 US tablespoons (29.6-44.4 mL) about twice a week in an ordinary room.
func TestScreenedCutOutLosesAFewTablespoons(t *testing.T) {
	for _, gap := range []float64{0, 0.0003} {
		ml := halfWeek * lossIn(sixQuart(gap, cutOut(6, 4)), 21, 45).TubMLPerHour
		if ml < 25 || ml > 50 {
			t.Errorf("lid gap %v m: %.1f mL in half a week, want 25-50", gap, ml)
		}
	}
}

// Common practice, no source: a bin with nothing but its loose lid dries several
// times slower. And one with drilled holes lies between it and a cut-out or below.
func TestLooseLidIsSeveralTimesSlower(t *testing.T) {
	vented := lossIn(sixQuart(0, cutOut(6, 4)), 21, 45).TubMLPerHour
	for name, slow := range map[string]Tub{
		"crack of 0.3 mm":         sixQuart(0.0003),
		"crack of 0.5 mm":         sixQuart(0.0005),
		"ten holes of an eighth":  sixQuart(0, holes(10, 1.0/8, 1)),
		"twenty of a sixteenth":   sixQuart(0, holes(20, 1.0/16, 1)),
		"holes and a crack":       sixQuart(0.0003, holes(10, 1.0/8, 1)),
		"tight, nothing at all":   sixQuart(0),
		"side holes and no other": sixQuart(0, inSide(holes(8, 1.0/8, 1))),
	} {
		if ratio := vented / lossIn(slow, 21, 45).TubMLPerHour; ratio < 4 {
			t.Errorf("%s: only %.1f times slower, want 4 or more", name, ratio)
		}
	}
}

// A bin without any opening still loses a little (judgement): about 0.015 g a day.
func TestTightBinLeaksALittle(t *testing.T) {
	perDay := 24 * lossIn(sixQuart(0), 21, 45).TubMLPerHour
	mustBeNear(t, "mL per day", perDay, 0.015, 0.05)
	tight := lossIn(sixQuart(0), 21, 45)
	if tight.HeadspacePct < 98 || tight.HeadspacePct > 100 {
		t.Errorf("headspace of a tight bin at %.1f %%, want 98-100", tight.HeadspacePct)
	}
}

// bin_scenarios_model.csv: the same model computed elsewhere, so a guard
// against accidents and no evidence. It kept D at 21 C throughout, left plastic
// tight, gave drilled holes no film at all, did not crowd holes and held the dry
// half at 97 % in every room. So small openings come out up to 4.5 % higher here
// (most of it the plastic), cut-outs within 2 %, and the damp side up to 6 % off
// in rooms that are not at 45 %.
func TestTubsAgainstModelTable(t *testing.T) {
	tubs := map[string]Tub{
		"cut-out 4x6 in (155 cm2) screened (default)":   sixQuart(0, cutOut(6, 4)),
		"cut-out 5x8 in (258 cm2) screened":             sixQuart(0, cutOut(8, 5)),
		"cut-out 5x8 in + 2 side holes 1 in screened":   sixQuart(0, cutOut(8, 5), inSide(holes(2, 1, 0.5))),
		"cut-out 3x3 in (58 cm2) screened":              sixQuart(0, cutOut(3, 3)),
		"two 1 in screened holes":                       sixQuart(0, holes(2, 1, 0.5)),
		"2 in hole (20.3 cm2)":                          sixQuart(0, holes(1, 2, 0.5)),
		"10 drilled holes 1/8 in":                       sixQuart(0, holes(10, 1.0/8, 1)),
		"20 drilled holes 1/16 in":                      sixQuart(0, holes(20, 1.0/16, 1)),
		"loose lid only, crack 1.08 m x 0.3 mm x 10 mm": sixQuart(0.0003),
		"loose lid only, crack 1.08 m x 0.5 mm x 10 mm": sixQuart(0.0005),
		"4x6 in cut-out":                                sixQuart(0, cutOut(6, 4)),
	}
	otherConstants := map[string]bool{
		"lid cut-out 10x15 cm mesh, kc=0.00 mm/s both faces":    true,
		"lid cut-out 10x15 cm mesh, kc=0.75 mm/s both faces":    true,
		"lid cut-out 10x15 cm mesh, kc=1.50 mm/s both faces":    true,
		"lid cut-out 10x15 cm mesh, kc=3.00 mm/s both faces":    true,
		"4x6 in cut-out, substrate surface dried (ks 0.5 mm/s)": true,
		"4x6 in cut-out, dry side really dry aw .7":             true,
	}
	checked := 0
	for _, row := range mustReadRows(t, "physics/bin_scenarios_model.csv") {
		name := row["case"]
		if otherConstants[name] {
			continue
		}
		tub, ok := tubs[name]
		if !ok {
			t.Errorf("%s: no such tub in this test", name)
			continue
		}
		celsius, humidity := mustNumber(t, row["T_C"]), mustNumber(t, row["RH"])
		loss := lossIn(tub, celsius, humidity)
		at := name + " at " + row["T_C"] + " C, " + row["RH"] + " %"
		vents, damp := 0.02, 0.02
		if mustNumber(t, row["G_m3s"]) < 1.5e-6 {
			vents = 0.05
		}
		if humidity != 45 {
			damp = 0.07
		}
		mustBeNear(t, at+": conductance", tub.Vents(celsius), mustNumber(t, row["G_m3s"]), vents)
		mustBeNear(t, at+": tub", loss.TubMLPerHour*24, mustNumber(t, row["tub_g_d"]), vents)
		mustBeNear(t, at+": damp side", loss.DampMLPerHour*24, mustNumber(t, row["damp_side_g_d"]), damp)
		if off := math.Abs(loss.HeadspacePct/100 - mustNumber(t, row["headspace_RH"])); off > 0.005 {
			t.Errorf("%s: headspace %.1f %%, want %s", at, loss.HeadspacePct, row["headspace_RH"])
		}
		checked++
	}
	if checked != 17 {
		t.Errorf("%d rows checked, want 17", checked)
	}
}

// Water is kept: what leaves the damp half goes to the room or the dry half,
// so that the headspace's three flows balance.
func TestHeadspaceBalances(t *testing.T) {
	tub := sixQuart(0.0003, cutOut(6, 4))
	tub.DampShare = 0.3
	p := tub.Prepare()
	climate := Climate{TemperatureC: 21, HumidityPct: 45}
	loss := p.Loss(climate)
	full := SaturationDensity(21)
	inside := full * loss.HeadspacePct / 100
	perHour := 3600 / waterPerML
	fromDamp := surface * 0.068 * 0.3 * (full - inside) * perHour
	fromDry := surface * 0.068 * 0.7 * (0.97*full - inside) * perHour
	toRoom := tub.Vents(21) * (inside - 0.45*full) * perHour
	mustBeNear(t, "damp side", loss.DampMLPerHour, fromDamp, 1e-4)
	mustBeNear(t, "tub", loss.TubMLPerHour, toRoom, 1e-4)
	mustBeNear(t, "both halves", loss.TubMLPerHour, fromDamp+fromDry, 1e-4)
}

func TestRoundTub(t *testing.T) {
	cup := Tub{LengthM: 0.1, WidthM: 0.1, HeightM: 0.08, RoundPlan: true, DampShare: 0.5, LidGapM: 0.0003}
	area, perimeter := cup.plan()
	mustBeNear(t, "plan of a cup", area, discArea(0.1), 1e-12)
	mustBeNear(t, "rim of a cup", perimeter, math.Pi*0.1, 1e-12)
	// An oval of 2:1; half axes 2 and 1 have the perimeter 9.688448 (complete
	// elliptic integral, from memory).
	oval := Tub{LengthM: 4, WidthM: 2, RoundPlan: true}
	_, perimeter = oval.plan()
	mustBeNear(t, "rim of an oval", perimeter, 9.688448, 1e-5)
}

// However many holes a lid has, it lets out no more than no lid at all.
func TestCrowdedHolesPassNoMoreThanAnOpenLid(t *testing.T) {
	const celsius = 21
	open := sixQuart(0, Opening{LengthM: 0.34, WidthM: 0.20}).Vents(celsius)
	before := 0.0
	for _, count := range []int{1, 2, 10, 100, 1000, 2000} {
		sieve := sixQuart(0, holes(count, 1.0/8, 1)).Vents(celsius)
		if sieve <= before || sieve >= open {
			t.Errorf("%d holes: %.3g m3/s after %.3g with fewer; the open lid passes %.3g", count, sieve, before, open)
		}
		before = sieve
	}
	// Ten holes are far apart and simply add up, within a per cent.
	leak := sixQuart(0).Vents(celsius)
	one, ten := sixQuart(0, holes(1, 1.0/8, 1)).Vents(celsius)-leak, sixQuart(0, holes(10, 1.0/8, 1)).Vents(celsius)-leak
	mustBeNear(t, "ten holes", ten, 10*one, 0.01)
	// An opening larger than the lid is a slip of the pen and counts as the whole lid.
	huge := sixQuart(0, Opening{LengthM: 2, WidthM: 2}).Vents(celsius)
	mustBeNear(t, "opening larger than the lid", huge, open, 0.06)
}

// Lines between knots of temperature are as good as working the vents out.
func TestKnotsAreCloseEnough(t *testing.T) {
	tub := sixQuart(0.0003, cutOut(6, 4), inSide(holes(10, 1.0/8, 1)))
	for celsius := coldest; celsius <= warmest; celsius += 0.7 {
		p := tub.Prepare()
		exact := p
		for i := range exact.vents {
			exact.vents[i] = tub.Vents(celsius)
		}
		climate := Climate{TemperatureC: celsius, HumidityPct: 45}
		mustBeNear(t, "loss between knots", p.Loss(climate).TubMLPerHour, exact.Loss(climate).TubMLPerHour, 1e-4)
	}
}
