package air

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// FAO-56 (Allen et al. 1998). Example 3's two pressures were read in a
// documentation page that quotes them; its means, example 18's intermediate and
// the table entries (Annex 2, Table 2.3, three decimals) are from memory.
func TestSaturationPressureAgainstFAO56(t *testing.T) {
	cases := []struct {
		name    string
		celsius float64
		kPa     float64
		digits  float64 // half of the last digit printed
	}{
		{"example 3, warmest", 24.5, 3.075, 0.0005},
		{"example 3, coldest", 15, 1.705, 0.0005},
		{"example 3, warmest, more digits", 24.5, 3.07465, 0.000005},
		{"example 3, coldest, more digits", 15, 1.70535, 0.000005},
		{"example 3, at the mean temperature", 19.75, 2.30, 0.005},
		{"example 18, intermediate", 21.5, 2.564, 0.0005},
		{"table, 20 C", 20, 2.338, 0.0005},
		{"table, 21 C", 21, 2.487, 0.0005},
		{"table, 25 C", 25, 3.168, 0.0005},
	}
	for _, c := range cases {
		if got := SaturationPressure(c.celsius) / 1000; math.Abs(got-c.kPa) > c.digits {
			t.Errorf("%s: got %.6f kPa, want %.5f", c.name, got, c.kPa)
		}
	}
	mean := (SaturationPressure(24.5) + SaturationPressure(15)) / 2000
	if math.Abs(mean-2.39) > 0.005 {
		t.Errorf("example 3, mean of both: got %.4f kPa, want 2.39", mean)
	}
}

// psychro.csv, sources in testdata/physics/README.md. The formulas differ among
// themselves by up to 0.35 % over 5-35 C, which bounds what agreement can mean.
func TestVapourAgainstTable(t *testing.T) {
	for _, row := range mustReadRows(t, "physics/psychro.csv") {
		celsius := mustNumber(t, row["T_C"])
		check := func(column string, got, tolerance float64) {
			t.Helper()
			mustBeNear(t, column+" at "+row["T_C"]+" C", got, mustNumber(t, row[column]), tolerance)
		}
		check("es_fao56_eq11_kPa", SaturationPressure(celsius)/1000, 5e-6) // six digits printed
		check("es_IF97_kPa", SaturationPressure(celsius)/1000, 0.0015)
		check("es_WMO8_kPa", SaturationPressure(celsius)/1000, 0.0035)
		check("es_AE96_kPa", SaturationPressure(celsius)/1000, 0.0035)
		check("abs_hum_sat_AE96_g_m3", SaturationDensity(celsius)*1000, 0.0035)
		check("D_massman98_m2_s", Diffusivity(celsius, StandardPressure), 5e-6)
	}
}

// IAPWS-IF97, Table 35, from memory: 3.53658941 kPa at 300 K.
func TestSaturationPressureAgainstSteamTable(t *testing.T) {
	mustBeNear(t, "300 K", SaturationPressure(300-zeroCelsius), 3536.58941, 0.0015)
}

// Massman 1998, computed from the formula as read, to the four digits given.
func TestDiffusivityAgainstMassman(t *testing.T) {
	for celsius, want := range map[float64]float64{20: 2.475e-5, 21: 2.491e-5, 23: 2.521e-5, 25: 2.552e-5} {
		mustBeNear(t, "Massman", Diffusivity(celsius, StandardPressure), want, 0.0003)
	}
	if half := Diffusivity(20, 2*StandardPressure) / Diffusivity(20, StandardPressure); half != 0.5 {
		t.Errorf("at twice the pressure: %v of the coefficient, want 0.5", half)
	}
}

// A room at 21 C and 45 % (Alduchov & Eskridge's formula): 8.227 g/m3, short of
// saturation by 10.055 g/m3.
func TestHumidityOfAnOrdinaryRoom(t *testing.T) {
	mustBeNear(t, "humidity", AbsoluteHumidity(21, 45)*1000, 8.227, 0.0035)
	mustBeNear(t, "deficit", Deficit(21, 45)*1000, 10.055, 0.0035)
}

func TestVapourLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cold := rapid.Float64Range(-20, 59).Draw(t, "cold")
		warm := rapid.Float64Range(cold+0.001, 60).Draw(t, "warm")
		humidity := rapid.Float64Range(0, 100).Draw(t, "humidity")
		if SaturationPressure(warm) <= SaturationPressure(cold) || SaturationDensity(warm) <= SaturationDensity(cold) {
			t.Fatal("saturation does not rise with temperature")
		}
		if Diffusivity(warm, StandardPressure) <= Diffusivity(cold, StandardPressure) {
			t.Fatal("diffusion does not rise with temperature")
		}
		sum := AbsoluteHumidity(warm, humidity) + Deficit(warm, humidity)
		if apart(sum, SaturationDensity(warm)) > 1e-12 {
			t.Fatal("humidity and deficit do not make up saturation")
		}
	})
}
