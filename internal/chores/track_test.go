package chores

import (
	"math"
	"slices"
	"testing"
	"time"
)

// A crossing is found to within closeEnough, from the side on which the odds
// have been reached, whatever their shape. Each question is a forecast: halving
// alone asks more than fewQuestions where the odds rise smoothly, as they do, and
// the straight line alone far more than mostQuestions where they do not.
func TestACrossingIsFoundWithFewQuestions(t *testing.T) {
	const fewQuestions, mostQuestions = 21, 45
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	hours := func(at time.Time) float64 { return at.Sub(start).Hours() }
	for name, shape := range map[string]func(hours float64) float64{
		"straight":        func(h float64) float64 { return h / 500 },
		"soon":            func(h float64) float64 { return h },
		"S":               func(h float64) float64 { return 1 / (1 + math.Exp((200-h)/20)) },
		"steep S":         func(h float64) float64 { return 1 / (1 + math.Exp((200-h)/.1)) },
		"step":            func(h float64) float64 { return map[bool]float64{true: 1}[h >= 333.3] },
		"late rise":       func(h float64) float64 { return math.Pow(h/1500, 12) },
		"sudden and flat": func(h float64) float64 { return math.Min(.3, h) + h/1e5 },
		"stairs":          func(h float64) float64 { return math.Floor(h/24) / 30 },
	} {
		for _, share := range []float64{.1, .2, .5, .9} {
			asked := 0
			odds := func(at time.Time) float64 { asked++; return math.Min(1, shape(hours(at))) }
			tr := &track{last: start}
			found := tr.crossing(share, odds)
			limit := mostQuestions
			if slices.Contains([]string{"straight", "soon", "S"}, name) {
				limit = fewQuestions
			}
			if asked > limit {
				t.Errorf("%s: %d questions to find %g", name, asked, share)
			}
			if shape(horizon.Hours()) < share {
				if !found.Equal(start.Add(horizon)) {
					t.Errorf("%s never reaches %g within the horizon, and %v is given", name, share, found)
				}
				continue
			}
			if odds(found) < share || odds(found.Add(-closeEnough)) >= share {
				t.Errorf("%s: %g is said to be reached at %g h, where it is %g; %g before", name, share,
					hours(found), odds(found), odds(found.Add(-closeEnough)))
			}
		}
	}
}
