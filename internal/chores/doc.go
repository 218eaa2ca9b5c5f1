// Package chores turns a bin and its entries into what the bin will want:
// chores with their windows, odds and one-line reasons, and the state that the
// drawing of the bin shows.
//
// It joins the physics of vents (air), the gauges (dampness, litter,
// substrate) and the fuses (food eaten, food mouldy) with the rules of the
// household: nothing new on top of leftovers, a look the day after feeding,
// never longer without a look than the household's cadence.
//
// Windows are instants rounded to whole minutes, odds are from 0 to 1. All is
// a function of records and of the time asked for; nothing here reads a clock.
package chores
