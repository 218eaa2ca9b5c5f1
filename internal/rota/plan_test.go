package rota

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

var classes = []string{"fruit", "vegetable", "root", "protein"}

func drawFeeding(t *rapid.T, mostFoods, mostBins int) ([]Food, []Bin) {
	foods := make([]Food, rapid.IntRange(0, mostFoods).Draw(t, "foods"))
	for i := range foods {
		foods[i] = Food{
			Slug: fmt.Sprint("f", i), Class: rapid.SampledFrom(classes).Draw(t, "class"), Perishable: rapid.Bool().Draw(t, "perishable"),
			UseBy: rapid.SampledFrom([]float64{math.NaN(), -1, 0, 3, 30}).Draw(t, "use by"), Portions: rapid.IntRange(-1, 2).Draw(t, "portions"),
		}
	}
	bins := make([]Bin, rapid.IntRange(0, mostBins).Draw(t, "bins"))
	for b := range bins {
		bin := Bin{Share: rapid.Float64Range(0.05, 0.6).Draw(t, "share"), Limit: 0.15, Hand: -1}
		for range foods {
			bin.Mouldy = append(bin.Mouldy, rapid.SampledFrom([]float64{0, 0.05, 0.1, 0.4}).Draw(t, "mouldy"))
		}
		for range rapid.IntRange(0, 6).Draw(t, "meals") {
			if len(foods) > 0 {
				f := rapid.SampledFrom(foods).Draw(t, "meal")
				bin.Past = append(bin.Past, Meal{f.Slug, f.Class, 3.5 * float64(1+len(bin.Past)), rapid.SampledFrom([]float64{math.NaN(), 0, 0.5, 1}).Draw(t, "left")})
			}
		}
		if len(foods) > 0 && rapid.IntRange(0, 6).Draw(t, "by hand") == 0 {
			bin.Hand = rapid.IntRange(0, len(foods)-1).Draw(t, "hand")
		}
		bins[b] = bin
	}
	return foods, bins
}

// best tries every way to feed the bins that no hand has chosen for.
func best(foods []Food, bins []Bin) int {
	left, board := make([]int, len(foods)), make([]int, len(foods))
	for f, food := range foods {
		if left[f] = food.Portions; left[f] < 0 {
			left[f] = math.MaxInt
		}
	}
	var free [][]Weight
	for i := range bins {
		if hand := bins[i].Hand; hand >= 0 {
			board[hand] = 1000 // is cut up anyway
			left[hand] = max(0, left[hand]-1)
			continue
		}
		free = append(free, Weigh(foods, &bins[i]))
	}
	least := math.MaxInt
	var try func(i, sum, foodsUsed int)
	try = func(i, sum, used int) {
		if used > MostFoods {
			return
		}
		if i == len(free) {
			least = min(least, sum+used*perFood)
			return
		}
		try(i+1, sum+unfed, used)
		for f, w := range free[i] {
			if w.Ban != "" || left[f] == 0 {
				continue
			}
			more := 0
			if board[f] == 0 {
				more = 1
			}
			left[f]--
			board[f]++
			try(i+1, sum+w.Sum, used+more)
			board[f]--
			left[f]++
		}
	}
	try(0, 0, 0)
	return least
}

func TestNoPlanIsBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		foods, bins := drawFeeding(t, 5, 5)
		plan := Plan(foods, bins)
		if least := best(foods, bins); plan.Cost != least {
			t.Fatalf("Plan weighs %d, trying all %d", plan.Cost, least)
		}
	})
}

// What a plan may never do, and that it weighs what it says.
func TestPlansKeepTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		foods, bins := drawFeeding(t, 14, 25)
		plan := Plan(foods, bins)
		given, byHand, cost, opened := make([]int, len(foods)), make([]int, len(foods)), 0, 0
		for i, pick := range plan.Picks {
			bin := &bins[i]
			switch {
			case bin.Hand >= 0:
				if pick.Food != bin.Hand || !slices.Equal(pick.Why, []string{WhyHand}) {
					t.Fatalf("bin %d was to have %d: %+v", i, bin.Hand, pick)
				}
				byHand[pick.Food]++
			case pick.Food < 0:
				cost += unfed
			default:
				food := foods[pick.Food]
				if len(bin.Past) > 0 && bin.Past[0].Food == food.Slug {
					t.Fatalf("bin %d gets %s twice running", i, food.Slug)
				}
				if bin.Mouldy[pick.Food] > bin.Limit || food.UseBy < 0 {
					t.Fatalf("bin %d gets %+v, mouldy with %g", i, food, bin.Mouldy[pick.Food])
				}
				if len(pick.Why) == 0 {
					t.Fatalf("bin %d gets %s for no reason", i, food.Slug)
				}
				given[pick.Food]++
				cost += pick.Weights[pick.Food].Sum
			}
		}
		for f, food := range foods {
			if food.Portions >= 0 && given[f] > max(0, food.Portions-byHand[f]) {
				t.Fatalf("%d portions of %+v", given[f], food)
			}
			if given[f] > 0 && byHand[f] == 0 {
				opened++
			}
			if on := slices.Contains(plan.Foods, f); on != (given[f]+byHand[f] > 0) {
				t.Fatalf("food %d on the board: %v, given to %d", f, on, given[f]+byHand[f])
			}
		}
		if cost += opened * perFood; cost != plan.Cost || opened > MostFoods {
			t.Fatalf("weighs %d with %d foods, says %d", cost, opened, plan.Cost)
		}
		if again := Plan(foods, bins); !reflect.DeepEqual(names(again), names(plan)) {
			t.Fatal("the same feeding is planned otherwise")
		}
	})
}

func names(plan Outcome) (list []int) {
	for _, pick := range plan.Picks {
		list = append(list, pick.Food)
	}
	return list
}

// Meal after meal, a bin's protein comes to its share, and no food twice
// running.
func TestMealsComeToTheirShare(t *testing.T) {
	foods := []Food{
		{Slug: "carrot", Class: "root", UseBy: math.NaN(), Portions: -1}, {Slug: "melon", Class: "fruit", Perishable: true, UseBy: math.NaN(), Portions: -1},
		{Slug: "squash", Class: "vegetable", UseBy: math.NaN(), Portions: -1}, {Slug: "shrimp", Class: Protein, UseBy: math.NaN(), Portions: -1},
		{Slug: "yeast", Class: Protein, UseBy: math.NaN(), Portions: -1},
	}
	for _, share := range []float64{0.05, 0.15, 0.25, 0.35, 0.5, 0.6} {
		bin := Bin{Share: share, Limit: 0.15, Mouldy: make([]float64, len(foods)), Hand: -1}
		protein, had := 0, map[string]int{}
		const meals = 200
		for range meals {
			for i := range bin.Past {
				bin.Past[i].Days += 3.5
			}
			food := foods[First(foods, &bin).Food]
			if len(bin.Past) > 0 && bin.Past[0].Food == food.Slug {
				t.Fatalf("%s twice running", food.Slug)
			}
			if food.Class == Protein {
				protein++
			}
			had[food.Slug]++
			bin.Past = append([]Meal{{food.Slug, food.Class, 0, 0}}, bin.Past[:min(len(bin.Past), 23)]...)
		}
		if got := float64(protein) / meals; math.Abs(got-share) > 0.04 {
			t.Errorf("share %.2f: %.2f of %d meals", share, got, meals)
		}
		if len(had) != len(foods) {
			t.Errorf("share %.2f: only %v", share, had)
		}
	}
}

func TestReasons(t *testing.T) {
	nan := math.NaN()
	foods := []Food{
		{Slug: "carrot", Class: "root", UseBy: nan, Portions: -1}, {Slug: "melon", Class: "fruit", UseBy: nan, Portions: -1},
		{Slug: "shrimp", Class: Protein, UseBy: nan, Portions: -1},
	}
	plain := Bin{Share: 0.25, Limit: 0.15, Mouldy: []float64{0, 0, 0}, Hand: -1}
	bin := func(change func(*Bin)) Bin {
		b := plain
		b.Mouldy = slices.Clone(plain.Mouldy)
		change(&b)
		return b
	}
	plants := []Meal{{"carrot", "root", 3, 0}, {"melon", "fruit", 7, 0}, {"carrot", "root", 10, 0}, {"melon", "fruit", 14, 0}, {"carrot", "root", 17, 0}}
	for name, c := range map[string]struct {
		bin   Bin
		foods []Food
		food  string
		why   string
		bans  map[string]string
	}{
		"no protein for long": {bin(func(b *Bin) { b.Past = plants }), foods, "shrimp", WhyProtein, map[string]string{"carrot": BanLast}},
		"protein just now":    {bin(func(b *Bin) { b.Past = []Meal{{"yeast", Protein, 3, 0}} }), foods, "carrot", WhyPlants, nil},
		"carrot was had lately": {bin(func(b *Bin) {
			b.Share, b.Past = 0.05, []Meal{{"squash", "vegetable", 2, 0}, {"carrot", "root", 4, 0}}
		}), foods[:2], "melon", WhyVariety, nil},
		"melon would be mouldy":   {bin(func(b *Bin) { b.Mouldy[0] = 0.2 }), foods[1:], "shrimp", WhyInTurn, map[string]string{"melon": BanMould}},
		"melon has to be used":    {plain, []Food{foods[0], {Slug: "melon", Class: "fruit", UseBy: 1, Portions: -1}}, "melon", WhyUse, nil},
		"melon is past its day":   {plain, []Food{foods[0], {Slug: "melon", Class: "fruit", UseBy: -1, Portions: -1}}, "carrot", WhyInTurn, map[string]string{"melon": BanUseBy}},
		"none of the carrot left": {plain, []Food{{Slug: "carrot", Class: "root", UseBy: nan}, foods[1]}, "melon", WhyInTurn, map[string]string{"carrot": BanNoMore}},
		"carrot keeps clean":      {bin(func(b *Bin) { b.Mouldy = []float64{0.01, 0.14} }), foods[:2], "carrot", WhyKeeps, nil},
		"carrot was left lying": {bin(func(b *Bin) {
			b.Past = []Meal{{"squash", "vegetable", 1, 0}, {"carrot", "root", 40, 1}}
		}), foods[:2], "melon", WhyLiked, nil},
	} {
		c.bin.Mouldy = c.bin.Mouldy[:len(c.foods)]
		pick := First(c.foods, &c.bin)
		if pick.Food < 0 || c.foods[pick.Food].Slug != c.food || pick.Why[0] != c.why {
			t.Errorf("%s: %+v", name, pick)
		}
		for i, w := range pick.Weights {
			if w.Ban != c.bans[c.foods[i].Slug] {
				t.Errorf("%s: %s is banned for %q", name, c.foods[i].Slug, w.Ban)
			}
		}
	}
}

// What is cut up for one bin anyway is given to others that hardly mind.
func TestAFeedingIsCutFromFewFoods(t *testing.T) {
	foods, bins := large(24, 12, 3)
	for i := range foods {
		foods[i].Portions, foods[i].UseBy = -1, math.NaN() // nothing is in a hurry
	}
	plan := Plan(foods, bins)
	if len(plan.Foods) > MostFoods {
		t.Errorf("%d foods on the board", len(plan.Foods))
	}
	shared := 0
	for i, pick := range plan.Picks {
		if pick.Food < 0 {
			t.Errorf("bin %d gets nothing", i)
		}
		if pick.Why[0] == WhyBoard {
			shared++
		}
	}
	if shared == 0 {
		t.Error("no bin is told that its food is cut up for others")
	}
}

// 200 bins and 20 foods, of which some run short.
func BenchmarkPlan(b *testing.B) {
	foods, bins := large(200, 20, 7)
	for b.Loop() {
		Plan(foods, bins)
	}
}
