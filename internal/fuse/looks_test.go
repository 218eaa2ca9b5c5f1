package fuse

import (
	"math"
	"testing"
)

// What looks add up to, for eating and for mould.
func TestWhatLooksTell(t *testing.T) {
	never := math.Inf(1)
	for _, c := range []struct {
		name         string
		looks        []Look
		eaten, mould Span
		gone, mouldy bool
	}{
		{"never looked", nil, Span{0, never}, Span{0, never}, false, false},
		{"gone at the first look: mould is not told", []Look{{Hours: 24, Left: AllGone}},
			Span{0, 24}, Span{0, never}, true, false},
		{"some left, then gone", []Look{{Hours: 24, Left: SomeLeft, Mould: NoMould}, {Hours: 40, Left: AllGone}},
			Span{24, 40}, Span{24, never}, true, false},
		{"some left, and not a word about mould", []Look{{Hours: 20, Left: SomeLeft, Mould: NoMould}, {Hours: 30, Left: SomeLeft}},
			Span{30, never}, Span{20, never}, false, false},
		{"specks, and then not a word about them", []Look{{Hours: 20, Left: SomeLeft, Mould: Specks}, {Hours: 30, Left: SomeLeft}},
			Span{10, never}, Span{0, 20}, false, true},
		{"clean, then specks, taken out", []Look{{Hours: 20, Left: Untouched, Mould: NoMould}, {Hours: 44, Left: SomeLeft, Mould: Specks, Removed: true}},
			Span{32, never}, Span{20, 44}, false, true},
		{"furry at the first look", []Look{{Hours: 30, Left: SomeLeft, Mould: Furry}},
			Span{15, never}, Span{0, 30}, false, true},
		{"mouldy, then eaten all the same", []Look{{Hours: 30, Left: SomeLeft, Mould: Specks}, {Hours: 50, Left: AllGone}},
			Span{15, never}, Span{0, 30}, true, false},
		{"taken out clean", []Look{{Hours: 26, Left: SomeLeft, Mould: NoMould, Removed: true}},
			Span{26, never}, Span{26, never}, false, false},
		{"called gone, then found: had not gone", []Look{{Hours: 20, Left: AllGone}, {Hours: 30, Left: SomeLeft, Mould: NoMould}},
			Span{30, never}, Span{30, never}, false, false},
		{"specks that were none", []Look{{Hours: 20, Left: SomeLeft, Mould: Specks}, {Hours: 30, Left: SomeLeft, Mould: NoMould}},
			Span{30, never}, Span{30, never}, false, false},
		{"looks out of order", []Look{{Hours: 40, Left: AllGone}, {Hours: 24, Left: SomeLeft, Mould: NoMould}},
			Span{24, 40}, Span{24, never}, true, false},
		{"looks after it was taken out", []Look{{Hours: 24, Left: SomeLeft, Mould: NoMould, Removed: true}, {Hours: 30, Left: AllGone}},
			Span{24, never}, Span{24, never}, false, false},
		{"looks without a time", []Look{{Hours: math.NaN(), Left: AllGone}, {Hours: -4, Left: AllGone}, {Hours: 24, Left: SomeLeft, Mould: NoMould}},
			Span{24, never}, Span{24, never}, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := tell(c.looks)
			if s.eaten != c.eaten || s.mould != c.mould || s.gone != c.gone || s.mouldy != c.mouldy {
				t.Errorf("eaten %v mould %v gone %v mouldy %v; want %v %v %v %v",
					s.eaten, s.mould, s.gone, s.mouldy, c.eaten, c.mould, c.gone, c.mouldy)
			}
		})
	}
}

// Plain names find their food, whatever stands around them.
func TestFoodsByPlainName(t *testing.T) {
	for _, c := range []struct {
		name  string
		class Class
		want  string
		hours float64 // median until mould
	}{
		{"banana", "", "banana", 36},
		{"Banana, a slice", "", "banana", 36},
		{"soft-fruit", "", "soft fruit", 36},
		{"blueberries", "", "soft fruit", 36},
		{"berries", "", "soft fruit", 36},
		{"sweet potato", "", "sweet potato", 96},
		{"Potatoes", Root, "potato", 96},
		{"potato", "", "potato", 96},
		{"courgette", "", "zucchini", 54},
		{"butternut squash", "", "winter squash", 72},
		{"watermelon", "", "melon", 44},
		{"fish-flakes", "", "fish flakes", 36},
		{"oak leaves", "", "leaf litter", 168},
		{"shrimp shell", "", "crab shell", 120},
		{"pineapple", Fruit, "pineapple", 46},
		{"mushroom", Vegetable, "mushroom", 56},
		{"something", "no class at all", "something", 54},
		{"", "", "", 54},
	} {
		t.Run(c.name, func(t *testing.T) {
			food := FoodPrior(c.name, c.class)
			if food.Name != c.want || food.Mould.Median != c.hours || food.Never {
				t.Errorf("got %+v, want %s with %g h", food, c.want, c.hours)
			}
		})
	}
	for _, name := range []string{"cuttlebone", "egg shell", "Eggshell", "limestone"} {
		if !FoodPrior(name, "").Never {
			t.Errorf("%s: mould matters, want it left in", name)
		}
	}
}
