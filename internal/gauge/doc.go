// Package gauge forecasts a level that drains at an uncertain rate, is topped
// up by hand, and is seen only through words: the dampness of a damp side, the
// leaf litter, the freshness of the substrate, a supply in the larder.
//
// # Model
//
// The store x is 1 when freshly topped up and 0 when empty. It falls along a
// clock that the caller supplies (potential loss in mL, appetite-days,
// colony-months): dx = -rate f(x) dc, with f = 1 above a knee and f = x/knee
// below it, which is the falling-rate stage of drying. The rate is an unknown
// multiplier of the clock; its logarithm wanders slowly and reverts to its
// prior, so that a bin with no entries for a long time is as uncertain as a
// new one, and no more. A dose lifts x, with its own spread, to 1.3 (soaked) at
// most.
//
// What a finger feels is the surface s = x + lag. The lag is what the surface
// runs ahead of (after a dose) or behind (while drying) the store; it evens out
// with a time constant. So the surface dries days before the depth does, by
// more in a fast bin than in a slow one. "Feels dry" is s below the lowest cut
// between words, "at risk" is x below its own threshold.
//
// A reading is a word: a cumulative probit with cut points on s, a bias for
// each person, and a small chance that the word is simply wrong.
//
// # Computation
//
// The posterior over (log rate, x) is kept on a grid. A step moves the
// cumulative distribution of each row through the closed-form inverse of the
// drying curve and smooths it for process noise, so no step is ever too large
// and a forecast needs no stepping. Everything is a deterministic function of
// the events, without I/O, wall clock or global state, and allocates nothing
// once a Filter exists.
//
// # Units
//
// Levels are shares of a full store, times are hours, clocks and doses are in
// the units of Params.FullClock and Params.FullDose. Odds are in [0, 1].
//
// # Sources
//
// Ordered words as a cumulative probit on a latent scale: McCullagh 1980.
// Falling-rate stage: the evaporation reduction of FAO-56 eq. 74 (from memory).
// Capacity of a damp side: judgement, see Dampness.
package gauge
