package units

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// Values: NIST Handbook 44 appendix C and GNU units 2.22
// (testdata/units/README.md). The rows of pressures belong to package air.
func TestFactorsAgainstReference(t *testing.T) {
	got := map[string]float64{
		"US tablespoon":   MillilitresPerTablespoon,
		"US teaspoon":     MillilitresPerTeaspoon,
		"US cup":          MillilitresPerCup,
		"US fluid ounce":  MillilitresPerFluidOunce,
		"US liquid quart": MillilitresPerQuart,
		"US gallon":       MillilitresPerGallon,
		"6 US quart":      6 * MillilitresPerQuart,
		"inch":            MillimetresPerInch,
		"square inch":     MillimetresPerInch * MillimetresPerInch / 100,
		"ounce avdp":      GramsPerOunce,
		"pound avdp":      GramsPerPound,
		"200 degF":        Celsius(200),
		"70 degF":         Celsius(70),
	}
	pressures := map[string]bool{"mmHg": true, "torr": true, "inHg": true}
	file, err := os.Open("../../testdata/units/units.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, row := range rows[1:] {
		name := row[0]
		if pressures[name] {
			continue
		}
		want, err := strconv.ParseFloat(row[2], 64)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		// Temperatures are printed with ten decimals, the rest exactly.
		if g, ok := got[name]; !ok || math.Abs(g-want) > 1e-10*math.Abs(want) {
			t.Errorf("%s: got %.12f, want %.12f", name, g, want)
		}
		checked++
	}
	if checked != len(got) {
		t.Errorf("%d factors in the file, %d computed", checked, len(got))
	}
}

func TestFixedPointsOfTemperature(t *testing.T) {
	for _, c := range []struct{ celsius, fahrenheit float64 }{{0, 32}, {100, 212}, {-40, -40}, {21, 69.8}} {
		if f := Fahrenheit(c.celsius); math.Abs(f-c.fahrenheit) > 1e-9 {
			t.Errorf("%v C is %v F, want %v", c.celsius, f, c.fahrenheit)
		}
		if back := Celsius(c.fahrenheit); math.Abs(back-c.celsius) > 1e-9 {
			t.Errorf("%v F is %v C, want %v", c.fahrenheit, back, c.celsius)
		}
	}
}

func TestDoses(t *testing.T) {
	cases := []struct {
		name    string
		system  System
		ml      float64
		rounded float64
		down    float64
		words   string
	}{
		{"two and a half spoons", US, 36, 2.5 * MillilitresPerTablespoon, 2 * MillilitresPerTablespoon, "2½ tablespoons"},
		{"exactly three spoons", US, 3 * MillilitresPerTablespoon, 3 * MillilitresPerTablespoon, 3 * MillilitresPerTablespoon, "3 tablespoons"},
		{"three spoons less a last bit", US, 3*MillilitresPerTablespoon - 1e-9, 3 * MillilitresPerTablespoon, 3 * MillilitresPerTablespoon, "3 tablespoons"},
		{"many spoons", US, 81, 5.5 * MillilitresPerTablespoon, 5 * MillilitresPerTablespoon, "80 mL (5½ tablespoons)"},
		{"one spoon", US, 15, MillilitresPerTablespoon, MillilitresPerTablespoon, "1 tablespoon"},
		{"half a spoon", US, 7, MillilitresPerTablespoon / 2, 0, "½ tablespoon"},
		{"too little for a spoon", US, 3, 0, 0, "no water"},
		{"metric", Metric, 33, 35, 30, "35 mL"},
		{"half a step goes up", Metric, 32.5, 35, 30, "35 mL"},
		{"none", Metric, 0, 0, 0, "no water"},
		{"negative", US, -4, 0, 0, "no water"},
		{"not a number", US, math.NaN(), 0, 0, "no water"},
		{"unknown system", "", 12, 10, 10, "10 mL"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := c.system.RoundDose(c.ml); math.Abs(got-c.rounded) > 1e-9 {
				t.Errorf("rounded: got %v, want %v", got, c.rounded)
			}
			if got := c.system.RoundDoseDown(c.ml); math.Abs(got-c.down) > 1e-9 {
				t.Errorf("rounded down: got %v, want %v", got, c.down)
			}
			if got := c.system.SayDose(c.ml); got != c.words {
				t.Errorf("words: got %q, want %q", got, c.words)
			}
		})
	}
}

func TestRoundingLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		system := rapid.SampledFrom([]System{US, Metric}).Draw(t, "system")
		ml := rapid.Float64Range(0, 2000).Draw(t, "ml")
		rounded, down := system.RoundDose(ml), system.RoundDoseDown(ml)
		if math.Abs(rounded-ml) > system.DoseStep()/2+1e-9 {
			t.Fatalf("%v mL rounded to %v", ml, rounded)
		}
		if down > ml+1e-6 || down < ml-system.DoseStep()-1e-6 {
			t.Fatalf("%v mL rounded down to %v", ml, down)
		}
		if math.Abs(system.RoundDose(rounded)-rounded) > 1e-9 || math.Abs(system.RoundDoseDown(rounded)-rounded) > 1e-9 {
			t.Fatalf("rounding %v again changes it", rounded)
		}
	})
}
