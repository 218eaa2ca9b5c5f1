package fuse

import "math"

// Priors is what is believed of any room before anybody has looked, besides
// the foods' own waits. Effects are on log time: positive is later. All values
// are judgement; the modifiers' means are those of the field notes on mould
// (cooked 0.6, dry side 1.5, springtails 1.3 times).
type Priors struct {
	Mould, Eaten Effects
	// Food looks up a food's waits; FoodPrior unless a household knows better.
	Food func(name string, class Class) Food
	// Slip is the chance that a look is misread or miswritten.
	Slip float64
	// AppetiteHalfLife is after how many hours a look at what was eaten counts
	// half: colonies grow.
	AppetiteHalfLife float64
	// AfterMould is how much of its appetite a colony keeps for a piece that
	// has gone mouldy (0 none, 1 all), and AfterMouldWeight how many eaten
	// mouldy pieces that belief is worth.
	AfterMould, AfterMouldWeight float64
}

// Effects are the priors of one fuse's effects.
type Effects struct {
	RoomSD      float64  // of all foods and bins together
	BinSD       float64  // of one bin
	FoodShare   float64  // sd of a food, as a share of its wait's LogSD
	Springtails Gaussian // when they live in the bin
	Warmth      Gaussian // multiplies the log of the temperature's time factor
	DrySide     Gaussian
	Cooked      Gaussian
	Pieces      Gaussian // multiplies the log of the number of pieces: the last is eaten later, the first moulds sooner
	ScaleSD     float64  // of the log of the spread from piece to piece
	// Learning of how much bins and foods differ: how many bins or foods the
	// prior sd is worth.
	SpreadWeight float64
}

// DefaultPriors returns the priors for a room nobody knows yet.
func DefaultPriors() Priors {
	return Priors{
		Mould: Effects{
			RoomSD: 0.18, BinSD: 0.10, FoodShare: 0.5,
			Springtails: Gaussian{math.Log(1.3), 0.3},
			Warmth:      Gaussian{1, 0.3},
			DrySide:     Gaussian{math.Log(1.5), 0.25},
			Cooked:      Gaussian{math.Log(0.6), 0.25},
			Pieces:      Gaussian{-0.12, 0.12},
			ScaleSD:     0.2, SpreadWeight: 10,
		},
		Eaten: Effects{
			RoomSD: 0.3, BinSD: 0.4, FoodShare: 0.3,
			Springtails: Gaussian{0, 0.15},
			Warmth:      Gaussian{0.6, 0.4},
			DrySide:     Gaussian{0.1, 0.3},
			Cooked:      Gaussian{-0.2, 0.3},
			Pieces:      Gaussian{0.5, 0.3},
			ScaleSD:     0.2, SpreadWeight: 10,
		},
		Food:             FoodPrior,
		Slip:             0.002,
		AppetiteHalfLife: 90 * 24,
		AfterMould:       0.4, AfterMouldWeight: 4,
	}
}

// eatingDoubles is the temperature rise, in °C, over which animals eat twice
// as fast: Q10 of 2, judgement.
const eatingDoubles = 10

// eatingTimeFactor is how many times longer than at 22 °C a piece lasts.
func eatingTimeFactor(celsius float64) float64 {
	if math.IsNaN(celsius) {
		return 1
	}
	celsius = math.Max(5, math.Min(32, celsius))
	return math.Exp2((reference - celsius) / eatingDoubles)
}

// The columns of each fuse; the foods' own follow.
const (
	roomColumn = iota
	springtailsColumn
	warmthColumn
	drySideColumn
	cookedColumn
	piecesColumn
	firstFood
)

// columns returns the priors of the shared columns.
func (e Effects) columns() []Gaussian {
	return []Gaussian{
		roomColumn:        {0, e.RoomSD},
		springtailsColumn: e.Springtails,
		warmthColumn:      e.Warmth,
		drySideColumn:     e.DrySide,
		cookedColumn:      e.Cooked,
		piecesColumn:      e.Pieces,
	}
}

// split divides a wait's spread over rooms, foods, bins and pieces. What is
// left for pieces is at least a third of the whole.
func (e Effects) split(w Wait) (foodSD, pieceSD float64) {
	foodSD = e.FoodShare * w.LogSD
	rest := w.LogSD*w.LogSD - foodSD*foodSD - e.RoomSD*e.RoomSD - e.BinSD*e.BinSD
	return foodSD, math.Max(math.Sqrt(math.Max(rest, 0)), w.LogSD/3)
}
