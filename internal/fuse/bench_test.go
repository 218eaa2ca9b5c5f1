package fuse

import (
	"math/rand/v2"
	"testing"
)

// grownRoom is 60 bins over 200 days, some 5,000 pieces.
func grownRoom() []Piece {
	random := rand.New(rand.NewPCG(1, 2))
	var pieces []Piece
	names := []string{"banana", "cucumber", "carrot", "fish flakes", "melon", "apple", "zucchini", "dried shrimp", "yeast", "potato"}
	for bin := range 60 {
		for k := range 84 {
			p := Piece{Food: names[random.IntN(len(names))], Bin: bin, PlacedHours: 57 * float64(k),
				TemperatureC: 20 + 3*random.Float64(), Springtails: bin%2 == 0}
			look := Look{Hours: 18 + 12*random.Float64(), Left: SomeLeft}
			if random.Float64() < 0.4 {
				look.Left = AllGone
			} else if random.Float64() < 0.2 {
				look.Mould = Specks
			}
			p.Looks = append(p.Looks, look)
			if look.Left != AllGone {
				p.Looks = append(p.Looks, Look{Hours: look.Hours + 20, Left: AllGone})
			}
			pieces = append(pieces, p)
		}
	}
	return pieces
}

func BenchmarkLearnRoom(b *testing.B) {
	pieces := grownRoom()
	b.ReportAllocs()
	for b.Loop() {
		Learn(pieces, DefaultPriors())
	}
	b.ReportMetric(float64(len(pieces)), "pieces")
}

func BenchmarkForecast(b *testing.B) {
	r := Learn(grownRoom(), DefaultPriors())
	at := hours(0, 3, 32)
	p := Piece{Food: "banana", Bin: 3, TemperatureC: 21, Springtails: true}
	b.ReportAllocs()
	for b.Loop() {
		r.Forecast(p, at)
	}
}

func BenchmarkForecastAfterALook(b *testing.B) {
	r := Learn(grownRoom(), DefaultPriors())
	at := hours(20, 3, 32)
	p := Piece{Food: "banana", Bin: 3, TemperatureC: 21, Springtails: true, Looks: []Look{{Hours: 20, Left: SomeLeft}}}
	b.ReportAllocs()
	for b.Loop() {
		r.Forecast(p, at)
	}
}

func BenchmarkMouldyReaches(b *testing.B) {
	r := Learn(grownRoom(), DefaultPriors())
	p := Piece{Food: "banana", Bin: 3, TemperatureC: 21, Springtails: true}
	b.ReportAllocs()
	for b.Loop() {
		r.MouldyReaches(p, 14*24, 0.15, 0.4)
	}
}
