//go:build verify

package fuse

import (
	"math"
	"math/rand/v2"
	"testing"
)

// knowing is the forecast of somebody who knows the room's truth and the
// world's rules (but not what words like "some left" mean): fates are drawn
// until enough agree with the looks.
func (w world) knowing(random *rand.Rand, truth roomTruth, p Piece) []Odds {
	at := momentsOf(p)
	odds := make([]Odds, len(at))
	truth.appetite = append([]float64(nil), truth.appetite...)
	truth.appetite[p.Bin] -= w.growth * p.PlacedHours / 2400
	last := 0.0
	if len(p.Looks) > 0 && w.misread == 0 {
		last = p.Looks[len(p.Looks)-1].Hours
	}
	agreeing := 0.0
	for try := 0; try < 4000 && agreeing < 200; try++ {
		f := fed{Piece: p}
		f.gone, f.mouldy, f.appetite = w.fate(random, truth, p)
		if math.Min(f.gone, f.mouldy) <= last {
			continue
		}
		agreeing++
		for i, t := range at {
			gone, mouldy := f.state(t)
			if gone {
				odds[i].Gone++
			}
			if mouldy {
				odds[i].Mouldy++
			}
		}
	}
	for i := range odds {
		odds[i].Gone /= math.Max(agreeing, 1)
		odds[i].Mouldy /= math.Max(agreeing, 1)
	}
	return odds
}

// The gap to one who knows everything but the dice, over more rooms.
func TestForecastsAreNearTheLimit(t *testing.T) {
	for _, w := range worlds() {
		t.Run(w.name, func(t *testing.T) {
			j := w.judge(23, 12, 24, 60, w.knowing)
			t.Log("Brier: learnt", j.learnt, "priors alone", j.prior, "usual", j.usual, "knowing", j.knowing)
			if j.learnt.sum() > 1.2*j.knowing.sum() && w.misread == 0 {
				t.Errorf("Brier %.4f, above 1.2 of the limit %.4f", j.learnt.sum(), j.knowing.sum())
			}
		})
	}
}
