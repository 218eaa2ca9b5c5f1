// Package fuse forecasts the time until something happens that is only ever
// seen as "not yet at this look, happened by that one": food eaten, food
// mouldy, young released.
//
// The core is an accelerated-failure-time model. Log time is a sum of effects
// plus an error of a known family (normal, smallest extreme value, logistic),
// observed in intervals, and fitted by Newton's method with Gaussian priors
// (Model, Case, Posterior). The posterior is Laplace's Gaussian around the
// mode, and forecasts integrate over it (Predictive). With flat priors the fit
// is the textbook maximum likelihood: the tests hold it to R's survreg on the
// breast-cosmesis data of Finkelstein and Wolfe (1985).
//
// On top lies the room (Piece, Learn, Room, Odds): two fuses race on each
// piece of food, eaten and mouldy. What moulds how fast is learnt for the
// whole room, appetite for each bin.
//
// Times are hours after the piece was placed, temperatures degrees Celsius.
// Everything is a pure function of its arguments: no clock, no randomness, no
// shared state. Odds are finite, between 0 and 1, and gone never falls with
// time. Native and wasm agree to 1e-9.
package fuse

import "math"

// A Span brackets the time of an event: later than After, no later than By.
// After 0 is left-censored (no lower bound), By +Inf is right-censored (not
// seen yet), After equal to By is seen at that very moment.
type Span struct{ After, By float64 }

// NotYet is the span of an event that had not happened by a look at t.
func NotYet(t float64) Span { return Span{After: t, By: math.Inf(1)} }

// A Gaussian is a prior: Mean and SD, SD +Inf for a flat one.
type Gaussian struct{ Mean, SD float64 }

// Flat returns the prior that says nothing.
func Flat() Gaussian { return Gaussian{SD: math.Inf(1)} }

// precision is 1/SD²; 0 for a flat prior.
func (g Gaussian) precision() float64 {
	if math.IsInf(g.SD, 1) {
		return 0
	}
	return 1 / (g.SD * g.SD)
}

// penalty is the log density at x without its constant.
func (g Gaussian) penalty(x float64) float64 {
	d := x - g.Mean
	return -0.5 * d * d * g.precision()
}
