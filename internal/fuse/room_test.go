package fuse

import (
	"math"
	"testing"
)

// hours lists the moments of a forecast: every step hours, n times.
func hours(from, step float64, n int) []float64 {
	at := make([]float64, n)
	for i := range at {
		at[i] = from + step*float64(i+1)
	}
	return at
}

// With nothing learnt the forecast is the prior: banana at 22 °C is mouldy by
// 24 h with 16 % (Phi((log 24 - log 36)/0.40) = 0.155; priors are judgement).
func TestNothingLearntIsThePrior(t *testing.T) {
	r := Learn(nil, DefaultPriors())
	p := Piece{Food: "banana", TemperatureC: 22}
	mould, eaten, _ := r.fuses(&p, tell(nil))
	within(t, "banana mouldy by 24 h", mould.CDF(24), 0.155, 0.015)
	within(t, "banana mouldy by 36 h", mould.CDF(36), 0.5, 0.01)
	within(t, "banana eaten by 28 h", eaten.CDF(28), 0.5, 0.01)
}

func TestForecastOfAnOrdinaryPiece(t *testing.T) {
	r := Learn(nil, DefaultPriors())
	p := Piece{Food: "banana", TemperatureC: 22, Looks: []Look{{Hours: 20, Left: SomeLeft}}}
	for i, o := range r.Forecast(p, hours(20, 3, 32)) {
		t.Logf("%3d h: gone %.3f mouldy %.3f", 23+3*i, o.Gone, o.Mouldy)
	}
	t.Log(r.MouldyReaches(p, 200, 0.15, 0.4), math.Inf(1))
}
