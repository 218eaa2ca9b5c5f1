// Package honesty keeps score of the forecasts: what was called before a
// look, and what the look found.
//
// A window is frozen with its forecast as it stood at one instant and is never
// touched by what is learnt later. The look that follows settles it. Odds are
// 0-1, times are instants; nothing here reads a clock.
//
// Two things are called: that the damp side feels dry (settled by the word of
// a feel), and that a feeding is mouldy and not gone (settled by a look at
// leftovers). The rules of scoring are those of package score. What counts as
// the look of a window is judgement: the entry that follows directly on the
// one that the window was forecast from, because a dose in between makes
// another forecast of it.
package honesty
