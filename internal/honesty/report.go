package honesty

import (
	"fmt"
	"math"

	"underlog/internal/husbandry"
	"underlog/internal/score"
)

// Enough is how many looks it takes before a score says much: with 20, a
// share of one in two is known to about 22 points either way (twice the
// square root of 0.25/20). Judgement.
const Enough = 20

// tenths is the number of bins in which calls are gathered.
const tenths = 10

// A Report is how the forecasts of a bin or a room have done.
type Report struct {
	Dry    Tally `json:"dry"`    // calls that the damp side feels dry
	Mouldy Tally `json:"mouldy"` // calls that leftovers are mouldy and not gone
}

// A Tally is how one sort of calls has done.
type Tally struct {
	N int `json:"n"` // looks that settled a window
	// Brier is the mean squared error of the odds, 0-1, and BrierOfShare what
	// it would be had the share that happened been called every time. Both are
	// nil where N is 0.
	Brier        *float64 `json:"brier"`
	BrierOfShare *float64 `json:"brier_of_share"`
	Tenths       []Tenth  `json:"tenths"` // those that have calls, rising
	Found        Found    `json:"found"`
	Enough       int      `json:"enough"`   // how many looks say something
	Sentence     string   `json:"sentence"` // about the tenth with the most looks; empty below Enough
}

// A Tenth gathers the calls between two multiples of 0.1.
type Tenth struct {
	From     float64 `json:"from"`
	To       float64 `json:"to"`
	N        int     `json:"n"`
	Called   float64 `json:"called"`   // mean odds, 0-1
	Observed float64 `json:"observed"` // share that happened, 0-1
}

// Found counts the looks that found what had been called by where in the
// window they came. It had come about at some time before the look: found
// early, the window opened too late for it; found late, the look came too late.
type Found struct {
	N      int `json:"n"`
	Early  int `json:"early"`
	InTime int `json:"in_time"`
	Late   int `json:"late"`
}

// NewReport sums results up.
func NewReport(results []Result) Report {
	var dry, mouldy []Result
	for _, r := range results {
		if r.Chore == husbandry.ChoreFeel {
			dry = append(dry, r)
		} else {
			mouldy = append(mouldy, r)
		}
	}
	return Report{Dry: newTally(dry, "dry"), Mouldy: newTally(mouldy, "mouldy")}
}

func newTally(results []Result, word string) Tally {
	tally := Tally{N: len(results), Tenths: []Tenth{}, Enough: Enough}
	if len(results) == 0 {
		return tally
	}
	calls := make([]score.Call, len(results))
	for i, r := range results {
		calls[i] = score.Call{Probability: r.Odds, Happened: r.Happened}
		if r.Happened {
			tally.Found.add(r.Place)
		}
	}
	brier := score.MeanBrier(calls)
	share := float64(tally.Found.N) / float64(len(results))
	ofShare := share * (1 - share)
	tally.Brier, tally.BrierOfShare = &brier, &ofShare
	fullest := Tenth{}
	for _, bin := range score.Reliability(calls, tenths) {
		if bin.N == 0 {
			continue
		}
		tenth := Tenth{bin.From, bin.To, bin.N, bin.MeanCalled, bin.ObservedShare}
		tally.Tenths = append(tally.Tenths, tenth)
		if tenth.N > fullest.N {
			fullest = tenth
		}
	}
	if tally.N >= Enough {
		tally.Sentence = fmt.Sprintf("Of the %s called %s %s, %s were.",
			looks(fullest.N), percent(fullest.Called), word, percent(fullest.Observed))
	}
	return tally
}

func (f *Found) add(place Place) {
	f.N++
	switch place {
	case Early:
		f.Early++
	case Late:
		f.Late++
	default:
		f.InTime++
	}
}

func looks(n int) string {
	if n == 1 {
		return "1 look"
	}
	return fmt.Sprintf("%d looks", n)
}

// percent writes a share with a space that does not break, as the app does.
func percent(share float64) string { return fmt.Sprintf("%.0f\u00a0%%", math.Round(100*share)) }
