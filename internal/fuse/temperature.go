package fuse

import "math"

// A Cardinal is the cardinal temperature model of Rosso, Lobry and Flandrois
// (1993): growth stops at Min and Max and is fastest at Optimum, all in °C.
type Cardinal struct{ Min, Optimum, Max float64 }

// GenericMould stands for the mix of moulds on food in a bin. Judgement: it
// lies between Penicillium, Botrytis and Rhizopus (cardinals from memory).
var GenericMould = Cardinal{Min: 0, Optimum: 25, Max: 35}

// Rate returns the growth rate at a temperature as a share of the rate at the
// optimum: 0 to 1, and 0 outside Min to Max.
func (c Cardinal) Rate(celsius float64) float64 {
	if !(celsius > c.Min && celsius < c.Max) {
		return 0
	}
	above, below := c.Optimum-c.Min, c.Optimum-c.Max
	off := celsius - c.Optimum
	top := (celsius - c.Max) * (celsius - c.Min) * (celsius - c.Min)
	bottom := above * (above*off - below*(c.Optimum+c.Min-2*celsius))
	return top / bottom
}

// reference is the room temperature that the foods' medians are meant for, °C.
const reference = 22

// slowest caps how much longer than at 22 °C cold or heat can make mould take.
// Near the cardinals the model's rate vanishes, a piece of food's does not:
// some mould always finds it (judgement).
const slowest = 8

// TimeFactor returns how many times longer growth takes than at 22 °C:
// above 0, at most 8. A temperature that is not a number counts as 22 °C.
func (c Cardinal) TimeFactor(celsius float64) float64 {
	if math.IsNaN(celsius) {
		return 1
	}
	rate := c.Rate(celsius) / c.Rate(reference)
	if rate < 1/float64(slowest) {
		return slowest
	}
	return 1 / rate
}
