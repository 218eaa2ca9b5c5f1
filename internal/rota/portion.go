package rota

import "math"

// MostPieces is how many pieces a portion may grow to.
const MostPieces = 12

// areaPerPiece is the floor that one piece is for: two for a common tub
// (judgement).
const areaPerPiece = 0.034 // m2

// A Serving is a meal that was looked at.
type Serving struct {
	Pieces int
	Left   float64 // share at the first look
}

// Portion is how many pieces to give: as many as last time, one more after
// three meals in a row that were gone at their first look, one less after two in
// a row of which half or more was left. Servings come latest first. A bin that
// was never fed gets its portion by its floor, m2.
func Portion(areaM2 float64, past []Serving) int {
	if len(past) == 0 {
		return int(clamp(math.Round(areaM2/areaPerPiece), 1, MostPieces))
	}
	pieces := max(1, past[0].Pieces)
	inRow := func(n int, is func(Serving) bool) bool {
		if len(past) < n {
			return false
		}
		for _, s := range past[:n] {
			if max(1, s.Pieces) != pieces || !is(s) {
				return false
			}
		}
		return true
	}
	switch {
	case inRow(3, func(s Serving) bool { return s.Left <= 0 }):
		pieces++
	case inRow(2, func(s Serving) bool { return s.Left >= 0.5 }):
		pieces--
	}
	return int(clamp(float64(pieces), 1, MostPieces))
}
