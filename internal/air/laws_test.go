package air

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var anyOpening = rapid.Custom(func(t *rapid.T) Opening {
	size := rapid.Float64Range(0.0003, 0.5)
	return Opening{
		Side: rapid.Bool().Draw(t, "side"), Round: rapid.Bool().Draw(t, "round"),
		LengthM: size.Draw(t, "length"), WidthM: size.Draw(t, "width"), DiameterM: size.Draw(t, "diameter"),
		Count:         rapid.IntRange(0, 2000).Draw(t, "count"),
		MeshOpenShare: rapid.Float64Range(0.05, 1).Draw(t, "mesh"),
	}
})

var anyTub = rapid.Custom(func(t *rapid.T) Tub {
	return Tub{
		LengthM:   rapid.Float64Range(0.04, 2).Draw(t, "length"),
		WidthM:    rapid.Float64Range(0.04, 2).Draw(t, "width"),
		HeightM:   rapid.Float64Range(0.03, 1.5).Draw(t, "height"),
		RoundPlan: rapid.Bool().Draw(t, "round"),
		DampShare: rapid.Float64Range(0.1, 1).Draw(t, "damp share"),
		LidGapM:   rapid.Float64Range(0, 0.01).Draw(t, "lid gap"),
		WallM:     rapid.Float64Range(0.0002, 0.02).Draw(t, "wall"),
		Openings:  rapid.SliceOfN(anyOpening, 0, 5).Draw(t, "openings"),
	}
})

var anyClimate = rapid.Custom(func(t *rapid.T) Climate {
	return Climate{
		TemperatureC: rapid.Float64Range(0, 45).Draw(t, "temperature"),
		HumidityPct:  rapid.Float64Range(0, 100).Draw(t, "humidity"),
	}
})

// notLess allows for the last bits of a sum.
func notLess(t *rapid.T, what string, before, after Loss) {
	t.Helper()
	const bits = 1 - 1e-12
	if after.TubMLPerHour < before.TubMLPerHour*bits || after.DampMLPerHour < before.DampMLPerHour*bits {
		t.Fatalf("%s lowers the loss from %+v to %+v", what, before, after)
	}
}

func in(tub Tub, c Climate) Loss { p := tub.Prepare(); return p.Loss(c) }

func TestLossLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tub, climate := anyTub.Draw(t, "tub"), anyClimate.Draw(t, "climate")
		loss := in(tub, climate)
		if !(loss.TubMLPerHour >= 0) || !(loss.DampMLPerHour >= 0) ||
			!(loss.HeadspacePct >= climate.HumidityPct-1e-9) || !(loss.HeadspacePct <= 100) ||
			math.IsInf(loss.TubMLPerHour+loss.DampMLPerHour, 0) {
			t.Fatalf("no legal loss: %+v", loss)
		}

		warmer, drier, saturated := climate, climate, climate
		warmer.TemperatureC += rapid.Float64Range(0, 15).Draw(t, "warmer")
		drier.HumidityPct *= rapid.Float64Range(0, 1).Draw(t, "drier")
		saturated.HumidityPct = 100
		notLess(t, "a warmer room", loss, in(tub, warmer))
		notLess(t, "a drier room", loss, in(tub, drier))
		if full := in(tub, saturated); full.TubMLPerHour != 0 || full.DampMLPerHour != 0 {
			t.Fatalf("a saturated room takes %+v", full)
		}

		wider := tub
		wider.LidGapM += 0.0005
		notLess(t, "a wider lid gap", loss, in(wider, climate))
		notLess(t, "another opening", loss, in(withOpening(tub, anyOpening.Draw(t, "another")), climate))
		for i := range tub.Openings {
			for what, change := range map[string]func(*Opening){
				"a larger opening": func(o *Opening) { o.LengthM *= 1.1; o.DiameterM *= 1.1 },
				"one more of them": func(o *Opening) { o.Count = max(o.Count, 1) + 1 },
				"no mesh":          func(o *Opening) { o.MeshOpenShare = 1 },
			} {
				notLess(t, what, loss, in(withChanged(tub, i, change), climate))
			}
		}
	})
}

func withOpening(tub Tub, o Opening) Tub {
	tub.Openings = append(append([]Opening{}, tub.Openings...), o)
	return tub
}

func withChanged(tub Tub, i int, change func(*Opening)) Tub {
	tub.Openings = append([]Opening{}, tub.Openings...)
	change(&tub.Openings[i])
	return tub
}

// Nothing that a slip can put into a tub or a climate makes a NaN.
func TestNoNumberIsAnswered(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	tubs := map[string]Tub{
		"nothing":         {},
		"not numbers":     {LengthM: nan, WidthM: nan, HeightM: nan, DampShare: nan, LidGapM: nan, WallM: nan, Openings: []Opening{{LengthM: nan, WidthM: 1, MeshOpenShare: nan}}},
		"endless":         {LengthM: inf, WidthM: inf, HeightM: inf, DampShare: inf, LidGapM: inf, WallM: inf},
		"below nothing":   {LengthM: -1, WidthM: -1, HeightM: -1, DampShare: -1, LidGapM: -1, WallM: -1},
		"holes on no lid": {Openings: []Opening{{Round: true, DiameterM: 0.01}}},
		"all damp":        {LengthM: 0.3, WidthM: 0.2, HeightM: 0.1, DampShare: 1},
		"all dry":         {LengthM: 0.3, WidthM: 0.2, HeightM: 0.1, DampShare: 0},
	}
	climates := []Climate{{21, 45}, {0, 0}, {45, 100}, {-300, -5}, {500, 500}, {nan, nan}, {inf, inf}, {-inf, -inf}}
	for name, tub := range tubs {
		for _, c := range climates {
			loss := in(tub, c)
			for _, x := range []float64{loss.TubMLPerHour, loss.DampMLPerHour, loss.HeadspacePct} {
				if !(x >= 0) || math.IsInf(x, 0) {
					t.Errorf("%s in %+v: %+v", name, c, loss)
				}
			}
		}
	}
}
