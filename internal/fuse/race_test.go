package fuse

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The odds of mould before a piece is gone are those of many pieces drawn from
// both distributions.
func TestMouldsByIsTheShareOfManyPieces(t *testing.T) {
	room := Learn(nil, DefaultPriors())
	r := rand.New(rand.NewPCG(5, 6))
	for _, food := range []string{"melon", "carrot", "fish flakes"} {
		piece := Piece{Food: food, Bin: NoBin, TemperatureC: 22, Springtails: true}
		mould, eaten, _ := room.fuses(&piece)
		drawn := func(p *Predictive) float64 {
			u := r.Float64()
			for i := 0; i < p.parts; i++ {
				if u -= p.share[i]; u < 0 || i == p.parts-1 {
					return math.Exp(p.location[i] + p.scale[i]*r.NormFloat64())
				}
			}
			return 0
		}
		for _, hours := range []float64{24, 72, 300} {
			n, count := 100_000, 0
			for range n {
				if m := drawn(&mould); m <= hours && m < drawn(&eaten) {
					count++
				}
			}
			if got, want := room.MouldsBy(piece, hours), float64(count)/float64(n); math.Abs(got-want) > 0.006 {
				t.Errorf("%s within %g h: %.4f, drawn %.4f", food, hours, got, want)
			}
		}
	}
	if odds := room.MouldsBy(Piece{Food: "cuttlebone", Bin: NoBin}, 1000); odds != 0 {
		t.Errorf("cuttlebone: %g", odds)
	}
}
