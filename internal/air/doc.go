// Package air computes how fast a lidded bin loses water to the room: the
// physical estimate from which the dampness forecast starts.
//
// Water vapour diffuses from the damp half and the dry half of the substrate
// into the headspace and from there out through every opening: cut-outs with
// or without mesh, drilled holes, the crack along the lid and, barely, the
// plastic itself. Openings wider than the still film of air that lies on them
// are helped by moving air.
//
// Units are SI (m, m2, m3/s, kg/m3, Pa) except temperatures in degrees
// Celsius, humidities in per cent and losses in mL of water per hour.
//
// Sources: Allen et al., FAO Irrigation and Drainage Paper 56 (1998), equation
// 11, for saturation; W. J. Massman, Atmos. Environ. 32 (1998) 1111-1127, for
// the diffusion coefficient; Brown and Escombe (1900) and Stefan for holes and
// their end corrections. What still air does is physics and is checked against
// published worked examples. The strengths of the air's movement (film,
// surface and dry-side constants) are judgement: with them a large screened
// cut-out loses what keepers say it does, while still air alone would be three
// to four times too slow. RateLogSD says how far to trust the result.
//
// Left out because they are small beside that: the bulk flow of vapour (StefanFlux
// less plain diffusion, 1.8 % at 21 °C and 45 %), cooling of the wet surface
// (0.4 K), breathing of the tub as it warms, and the puff of air at each look.
// Left out because nothing published was found to hold it to: a draught between
// unscreened side holes and unscreened lid holes.
//
// Promises: no loss is ever negative or NaN; more or larger openings, a warmer
// room at the same humidity or a drier room never lower a loss; mesh never
// raises one; a room at 100 % humidity takes nothing.
package air

// RateLogSD is the standard deviation of the natural logarithm of a bin's true
// rate of loss about the one computed here: two thirds of bins lie within a
// factor of 2 either way. Judgement: the assumed strengths of moving air alone
// move the result by a factor of 2.3, and published evaporation formulas differ
// by up to a factor of four.
const RateLogSD = 0.7
