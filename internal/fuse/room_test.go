package fuse

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// hours lists the moments of a forecast: every step hours, n times.
func hours(from, step float64, n int) []float64 {
	at := make([]float64, n)
	for i := range at {
		at[i] = from + step*float64(i+1)
	}
	return at
}

// anyPiece draws a piece with looks that need not make sense.
func anyPiece(t *rapid.T) Piece {
	p := Piece{
		Food:         rapid.SampledFrom([]string{"banana", "carrot", "cuttlebone", "Leaf litter", "something else", "", "dried shrimp"}).Draw(t, "food"),
		Class:        rapid.SampledFrom([]Class{Fruit, Root, Protein, Mineral, AnyFood, "nonsense"}).Draw(t, "class"),
		Bin:          rapid.IntRange(-1, 5).Draw(t, "bin"),
		PlacedHours:  rapid.Float64Range(0, 5000).Draw(t, "placed"),
		Pieces:       rapid.IntRange(0, 9).Draw(t, "pieces"),
		TemperatureC: rapid.SampledFrom([]float64{-40, 0, 15, 22, 30, 60, math.NaN()}).Draw(t, "temperature"),
		Springtails:  rapid.Bool().Draw(t, "springtails"),
		DrySide:      rapid.Bool().Draw(t, "dry side"),
		Cooked:       rapid.Bool().Draw(t, "cooked"),
	}
	for range rapid.IntRange(0, 4).Draw(t, "looks") {
		p.Looks = append(p.Looks, Look{
			Hours:   rapid.SampledFrom([]float64{-3, 0, 0.01, 5, 24, 24.5, 50, 120, 2000, math.NaN(), math.Inf(1)}).Draw(t, "hours"),
			Left:    rapid.SampledFrom([]Left{AllGone, SomeLeft, Untouched, "nonsense"}).Draw(t, "left"),
			Mould:   rapid.SampledFrom([]Mould{NoMould, Specks, Furry, ""}).Draw(t, "mould"),
			Removed: rapid.SampledFrom([]bool{false, false, true}).Draw(t, "removed"),
		})
	}
	return p
}

// Whatever was seen: odds are odds, gone never falls, mouldy and gone exclude
// each other, fits do not fail, and the same question gets the same answer.
func TestOddsKeepTheirPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := rapid.SliceOfN(rapid.Custom(anyPiece), 0, 30).Draw(t, "pieces")
		r := Learn(pieces, DefaultPriors())
		if r.mould.failed != nil || r.eaten.failed != nil {
			t.Fatal(r.mould.failed, r.eaten.failed)
		}
		p := anyPiece(t)
		if len(pieces) > 0 && rapid.Bool().Draw(t, "a known piece") {
			p = pieces[0]
		}
		at := hours(rapid.Float64Range(0, 100).Draw(t, "from"), rapid.Float64Range(0.01, 100).Draw(t, "step"), 20)
		odds := r.Forecast(p, at)
		before := 0.0
		for i, o := range odds {
			if !(o.Gone >= before && o.Mouldy >= 0 && o.Gone+o.Mouldy <= 1+1e-12) {
				t.Fatalf("at %g h after %+v: %+v, gone before %g", at[i], p.Looks, o, before)
			}
			before = o.Gone
		}
		again := Learn(pieces, DefaultPriors()).Forecast(p, at)
		if !reflect.DeepEqual(odds, again) {
			t.Fatal("the same room gave other odds")
		}
		for _, h := range r.MouldyReaches(p, 300, 0.15, 0.4) {
			if math.IsNaN(h) || h < 0 {
				t.Fatalf("reached at %g h", h)
			}
		}
	})
}

// Before anything is learnt: warmer toward the optimum is never later, cooked
// food never later, the dry side and springtails never sooner (medians).
func TestLawsOfMould(t *testing.T) {
	r := Learn(nil, DefaultPriors())
	rapid.Check(t, func(t *rapid.T) {
		p := anyPiece(t)
		p.Food, p.Looks, p.TemperatureC = "banana", nil, rapid.Float64Range(2, 24).Draw(t, "°C")
		median := func(p Piece) float64 {
			c := r.mouldCase(&p, r.unseenFood(&p), NoBin, nil)
			m, _ := r.mould.posterior.plain(c)
			return m
		}
		for _, c := range []struct {
			name   string
			change func(*Piece)
			later  bool
		}{
			{"warmer", func(p *Piece) { p.TemperatureC += rapid.Float64Range(0, 25-p.TemperatureC).Draw(t, "warmer by") }, false},
			{"cooked", func(p *Piece) { p.Cooked = true }, false},
			{"dry side", func(p *Piece) { p.DrySide = true }, true},
			{"springtails", func(p *Piece) { p.Springtails = true }, true},
		} {
			q := p
			c.change(&q)
			if c.later && median(q) < median(p) || !c.later && median(q) > median(p) {
				t.Errorf("%s: median log hours %g, else %g", c.name, median(q), median(p))
			}
		}
	})
}

// A room in which this food was seen mouldy sooner never forecasts mould
// later; one whose bin ate up sooner never forecasts gone later.
func TestLawsOfLearning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(10, 80).Draw(t, "look")
		n := rapid.IntRange(1, 12).Draw(t, "pieces")
		room := func(look Look) *Room {
			var pieces []Piece
			for i := range n {
				look.Hours = at
				pieces = append(pieces, Piece{Food: "cucumber", Bin: 1, PlacedHours: float64(100 * i), TemperatureC: 22, Looks: []Look{look}})
			}
			return Learn(pieces, DefaultPriors())
		}
		next := Piece{Food: "cucumber", Bin: 1, PlacedHours: float64(100 * n), TemperatureC: 22}
		centres := func(r *Room) (mould, eaten float64) {
			mould, _ = r.mould.posterior.plain(r.mouldCase(&next, r.foods[foodName{"cucumber", ""}], 0, nil))
			eaten, _ = r.eaten.posterior.plain(r.eatenCase(&next, r.foods[foodName{"cucumber", ""}], 0, nil))
			return mould, eaten
		}
		cleanMould, leftEaten := centres(room(Look{Left: SomeLeft}))
		specksMould, _ := centres(room(Look{Left: SomeLeft, Mould: Specks, Removed: true}))
		_, goneEaten := centres(room(Look{Left: AllGone}))
		if specksMould > cleanMould+1e-9 {
			t.Errorf("%d times mouldy at %g h: centre %g, clean %g", n, at, specksMould, cleanMould)
		}
		if goneEaten > leftEaten+1e-9 {
			t.Errorf("%d times gone at %g h: centre %g, left %g", n, at, goneEaten, leftEaten)
		}
	})
}

// With nothing learnt the forecast is the prior: banana at 22 °C is mouldy by
// 24 h with 16 % (Phi((log 24 - log 36)/0.40) = 0.155; priors are judgement).
func TestNothingLearntIsThePrior(t *testing.T) {
	r := Learn(nil, DefaultPriors())
	p := Piece{Food: "banana", TemperatureC: 22}
	mould, eaten, _ := r.fuses(&p)
	within(t, "banana mouldy by 24 h", mould.CDF(24), 0.155, 0.01)
	within(t, "banana mouldy by 36 h", mould.CDF(36), 0.5, 0.01)
	within(t, "banana eaten by 28 h", eaten.CDF(28), 0.5, 0.01)
	for _, food := range foods {
		if food.Never {
			continue
		}
		p := Piece{Food: food.Name, TemperatureC: 22}
		mould, _, _ := r.fuses(&p)
		for _, z := range []float64{-1.645, 0, 1.645} {
			at := food.Mould.Median * math.Exp(z*food.Mould.LogSD)
			within(t, fmt.Sprintf("%s by %.0f h", food.Name, at), mould.CDF(at), Lognormal.cdf(z), 0.015)
		}
	}
}

// A look that finds a piece clean moves its mould on exactly as conditioning
// does: the piece is not counted once in what was learnt and once more.
func TestAPieceIsNotCountedTwice(t *testing.T) {
	p := Piece{Food: "banana", Bin: 1, TemperatureC: 22, Looks: []Look{{Hours: 30, Left: SomeLeft}}}
	alone := Learn(nil, DefaultPriors())
	with := Learn([]Piece{p}, DefaultPriors())
	fresh, _, _ := alone.fuses(&p)
	cavity, _, _ := with.fuses(&p)
	for _, at := range []float64{36, 48, 72} {
		within(t, fmt.Sprintf("mouldy by %g h given clean at 30 h", at), cavity.CDFAfter(at, 30), fresh.CDFAfter(at, 30), 0.012)
	}
}

// One hundred bananas go mouldy at about 20 h in this room; the next is
// expected so, and a melon, never seen, a little sooner than usual.
func TestARoomTeaches(t *testing.T) {
	var pieces []Piece
	for i := range 100 {
		shift := 0.1 * float64(i%10)
		pieces = append(pieces, Piece{Food: "banana", Bin: i % 7, PlacedHours: float64(10 * i), TemperatureC: 22,
			Looks: []Look{{Hours: 16 + 4*shift, Left: SomeLeft}, {Hours: 21 + 4*shift, Left: SomeLeft, Mould: Specks, Removed: true}}})
	}
	before, after := Learn(nil, DefaultPriors()), Learn(pieces, DefaultPriors())
	banana := Piece{Food: "banana", Bin: 1, PlacedHours: 1000, TemperatureC: 22}
	mould, _, _ := after.fuses(&banana)
	if p := mould.CDF(24); p < 0.85 {
		t.Errorf("banana mouldy by 24 h: %.2f after a hundred times", p)
	}
	melon := Piece{Food: "melon", Bin: 1, PlacedHours: 1000, TemperatureC: 22}
	usual, _, _ := before.fuses(&melon)
	here, _, _ := after.fuses(&melon)
	if here.CDF(36) <= usual.CDF(36) {
		t.Errorf("melon mouldy by 36 h: %.3f here, %.3f anywhere", here.CDF(36), usual.CDF(36))
	}
}

// Hundreds of made-up food names neither slow the fit down nor break it.
func TestAnyNumberOfFoods(t *testing.T) {
	var pieces []Piece
	for i := range 600 {
		pieces = append(pieces, Piece{Food: fmt.Sprint("food ", i), Bin: i % 5, PlacedHours: float64(i), TemperatureC: 21,
			Looks: []Look{{Hours: 24, Left: SomeLeft, Mould: Specks, Removed: true}}})
	}
	room := Learn(pieces, DefaultPriors())
	if n := len(room.mould.posterior.Dense); n > firstFood+mostFoods+1 {
		t.Fatalf("%d dense effects", n)
	}
	early, late := room.Forecast(pieces[0], []float64{24})[0], Learn(nil, DefaultPriors()).Forecast(Piece{Food: "food 599", TemperatureC: 21}, []float64{24})[0]
	fresh := room.Forecast(Piece{Food: "food 599", Bin: 1, TemperatureC: 21}, []float64{24})[0]
	if early.Gone != 1 || fresh.Mouldy <= late.Mouldy {
		t.Errorf("taken out: %+v; mouldy %.3f here, %.3f anywhere", early, fresh.Mouldy, late.Mouldy)
	}
}
