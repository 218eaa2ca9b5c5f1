package rota

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// large draws a feeding.
func large(bins, foods int, seed uint64) ([]Food, []Bin) {
	r := rand.New(rand.NewPCG(seed, 8))
	menu := make([]Food, foods)
	for i := range menu {
		menu[i] = Food{Slug: fmt.Sprint("f", i), Class: classes[r.IntN(4)], Perishable: r.IntN(2) == 0, UseBy: math.NaN(), Portions: -1}
		if r.IntN(3) == 0 {
			menu[i].UseBy = float64(r.IntN(10))
		}
		if r.IntN(2) == 0 {
			menu[i].Portions = r.IntN(bins/3 + 1)
		}
	}
	list := make([]Bin, bins)
	for b := range list {
		bin := Bin{Share: 0.1 + 0.3*r.Float64(), Limit: 0.15, Hand: -1}
		for range menu {
			bin.Mouldy = append(bin.Mouldy, 0.2*r.Float64())
		}
		for n := range r.IntN(10) {
			f := menu[r.IntN(foods)]
			bin.Past = append(bin.Past, Meal{f.Slug, f.Class, 3.5 * float64(n+1), float64(r.IntN(3)) / 2})
		}
		list[b] = bin
	}
	return menu, list
}

// A stored case is a feeding and what GLPK found it to weigh (glpk_verify_test.go).
type stored struct {
	Bins, Foods int
	Seed        uint64
	Cost        int
}

func TestThePlanWeighsWhatGLPKFound(t *testing.T) {
	raw, err := os.ReadFile("testdata/glpk.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []stored
	if err := json.Unmarshal(raw, &cases); err != nil || len(cases) == 0 {
		t.Fatal(err, len(cases))
	}
	for _, c := range cases {
		if plan := Plan(large(c.Bins, c.Foods, c.Seed)); plan.Cost != c.Cost {
			t.Errorf("%d bins, %d foods, seed %d: %d, GLPK found %d", c.Bins, c.Foods, c.Seed, plan.Cost, c.Cost)
		}
	}
}
