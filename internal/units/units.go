// Package units converts between the household measures in which keepers
// dose, cut and read thermometers, and the metric units of everything else
// here, and rounds doses to what a spoon can measure.
//
// Factors are exact: one US gallon is 231 cubic inches and one inch is 25.4 mm
// (NIST Handbook 44, appendix C). Spoons and cups are US customary; a metric
// tablespoon is 15 mL and an Australian one 20 mL (from memory), which is why
// doses are kept in millilitres.
package units

import (
	"math"
	"strconv"
)

// Lengths and weights.
const (
	MillimetresPerInch = 25.4
	GramsPerPound      = 453.59237
	GramsPerOunce      = GramsPerPound / 16
)

// US customary volumes in millilitres, all from the gallon of 231 cubic inches.
const (
	MillilitresPerGallon     = 231 * MillimetresPerInch * MillimetresPerInch * MillimetresPerInch / 1000
	MillilitresPerQuart      = MillilitresPerGallon / 4
	MillilitresPerCup        = MillilitresPerQuart / 4
	MillilitresPerFluidOunce = MillilitresPerCup / 8
	MillilitresPerTablespoon = MillilitresPerFluidOunce / 2
	MillilitresPerTeaspoon   = MillilitresPerTablespoon / 3
)

// Celsius turns degrees Fahrenheit into degrees Celsius.
func Celsius(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// Fahrenheit turns degrees Celsius into degrees Fahrenheit.
func Fahrenheit(celsius float64) float64 { return celsius*1.8 + 32 }

// A System is how a household measures its doses.
type System string

// The systems. Anything else counts as Metric.
const (
	US     System = "us"     // half tablespoons
	Metric System = "metric" // steps of 5 mL
)

// DoseStep is the smallest amount of water, in mL, that the system can measure.
func (s System) DoseStep() float64 {
	if s == US {
		return MillilitresPerTablespoon / 2
	}
	return 5
}

// RoundDose rounds a dose in mL to the nearest step, halves upwards. Less than
// half a step rounds to 0, which means: no water. Negative and NaN give 0.
func (s System) RoundDose(ml float64) float64 {
	if !(ml > 0) {
		return 0
	}
	return math.Round(ml/s.DoseStep()) * s.DoseStep()
}

// RoundDoseDown is RoundDose to the step at or below, for where more would swamp.
func (s System) RoundDoseDown(ml float64) float64 {
	if !(ml > 0) {
		return 0
	}
	// The slack keeps a dose that is already a whole number of steps, and has
	// lost its last bit on the way, from losing a whole step.
	return math.Floor(ml/s.DoseStep()+1e-9) * s.DoseStep()
}

// manySteps is the dose, in steps, from which on US households read the
// millilitres first: nobody measures 5½ spoons 24 times.
const manySteps = 7

// SayDose puts the rounded dose into words: "2½ tablespoons", "35 mL", or
// "no water". Above three tablespoons the millilitres lead, as a measuring cup
// has them: "80 mL (5½ tablespoons)".
func (s System) SayDose(ml float64) string {
	steps := int(math.Round(s.RoundDose(ml) / s.DoseStep()))
	switch {
	case steps == 0:
		return "no water"
	case s != US:
		return strconv.Itoa(steps*5) + " mL"
	case steps == 1:
		return "½ tablespoon"
	case steps == 2:
		return "1 tablespoon"
	}
	said := strconv.Itoa(steps / 2)
	if steps%2 == 1 {
		said += "½"
	}
	said += " tablespoons"
	if steps >= manySteps {
		cup := Metric.RoundDose(ml)
		return strconv.Itoa(int(cup)) + " mL (" + said + ")"
	}
	return said
}
