package fuse

import (
	"math/rand/v2"
	"testing"
	"time"
)

// grownRoom is 60 bins over 200 days, some 4,800 pieces, in a world of the
// tests.
func grownRoom() []Piece {
	all, _ := worlds()[0].keep(rand.New(rand.NewPCG(1, 2)), 60, 200)
	pieces := make([]Piece, len(all))
	for i, f := range all {
		pieces[i] = f.Piece
	}
	return pieces
}

// limited reports the time of one round as a share of a limit.
func limited(b *testing.B, limit time.Duration) {
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(limit), "of-"+limit.String())
}

func BenchmarkLearnRoom(b *testing.B) {
	pieces := grownRoom()
	b.ReportAllocs()
	for b.Loop() {
		Learn(pieces, DefaultPriors())
	}
	limited(b, 60*time.Millisecond)
}

func BenchmarkForecast(b *testing.B) {
	r := Learn(grownRoom(), DefaultPriors())
	at := hours(0, 3, 32)
	p := Piece{Food: "banana", Bin: 3, TemperatureC: 21, Springtails: true}
	b.ReportAllocs()
	for b.Loop() {
		r.Forecast(p, at)
	}
	limited(b, 50*time.Microsecond)
}

func BenchmarkForecastAfterALook(b *testing.B) {
	r := Learn(grownRoom(), DefaultPriors())
	at := hours(20, 3, 32)
	p := Piece{Food: "banana", Bin: 3, TemperatureC: 21, Springtails: true, Looks: []Look{{Hours: 20, Left: SomeLeft}}}
	b.ReportAllocs()
	for b.Loop() {
		r.Forecast(p, at)
	}
	limited(b, 50*time.Microsecond)
}

func BenchmarkMouldyReaches(b *testing.B) {
	r := Learn(grownRoom(), DefaultPriors())
	p := Piece{Food: "banana", Bin: 3, TemperatureC: 21, Springtails: true}
	b.ReportAllocs()
	for b.Loop() {
		r.MouldyReaches(p, 14*24, 0.15, 0.4)
	}
	limited(b, 100*time.Microsecond)
}
