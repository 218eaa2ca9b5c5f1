package larder_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
	"underlog/internal/larder"
)

const day = 24 * time.Hour

var now = time.Date(2026, 6, 1, 17, 0, 0, 0, time.UTC)

func back(days float64) time.Time { return now.Add(-time.Duration(days * float64(day))) }

func reckon(item larder.Item, pace larder.Pace) larder.Left {
	return larder.NewReckoner().Reckon(item, pace, larder.Before{}, now)
}

func mustRunOut(tb testing.TB, left larder.Left) (days float64) {
	tb.Helper()
	if left.RunsOut == nil {
		tb.Fatal("it never runs out")
	}
	return left.RunsOut.About.Sub(now).Hours() / 24
}

// What is left is what there was less what was used, and it lasts as long as
// that divided by the pace.
func TestWhatIsLeftAndForHowLong(t *testing.T) {
	item := larder.Item{Amount: 40, Since: back(60), Rough: 0.3}
	for i := range 10 {
		item.Used = append(item.Used, larder.Use{At: back(float64(60 - 6*i)), Amount: 2})
	}
	pace := larder.PaceOf(item.Used, 0, back(60), now)
	if math.Abs(pace.PerDay-1.0/3) > 1e-9 {
		t.Fatalf("%g a day", pace.PerDay)
	}
	left := reckon(item, pace)
	if math.Abs(left.Amount.Mean-20) > 2 || left.Amount.Low > 18 || left.Amount.High < 22 {
		t.Errorf("left %+v of 40 after 10 times 2", left.Amount)
	}
	if days := mustRunOut(t, left); math.Abs(days-57) > 8 { // (20 less a last portion) / a third
		t.Errorf("out in %.1f days", days)
	}
	if span := left.RunsOut; !span.From.Before(span.About) || span.To == nil || !span.About.Before(*span.To) {
		t.Errorf("not a span: %+v", span)
	}
}

// A word that was read in the box moves what the sums say.
func TestALookCorrectsTheSums(t *testing.T) {
	item := larder.Item{Amount: 40, Since: back(60), Rough: 0.3}
	for i := range 10 {
		item.Used = append(item.Used, larder.Use{At: back(float64(60 - 6*i)), Amount: 2})
	}
	pace := larder.PaceOf(item.Used, 0, back(60), now)
	sums := reckon(item, pace)
	item.Looks = []larder.Look{{At: back(1), Word: 0}}
	nearlyOut := reckon(item, pace)
	if nearlyOut.Amount.Mean > sums.Amount.Mean-5 || mustRunOut(t, nearlyOut) > 0.6*mustRunOut(t, sums) {
		t.Errorf("nearly out, yet %+v left, as %+v before the look", nearlyOut.Amount, sums.Amount)
	}
	item.Looks[0].Word = 2
	if enough := reckon(item, pace); enough.Amount.Mean < sums.Amount.Mean {
		t.Errorf("enough, yet %+v left", enough.Amount)
	}
}

// A supply whose uses nobody writes down is reckoned by how long it usually
// lasts, and by looks.
func TestASupplyThatNobodyWritesDown(t *testing.T) {
	item := larder.Item{Amount: 4, Days: 80, Since: back(40)}
	half := reckon(item, larder.Pace{})
	if math.Abs(half.Amount.Mean-2) > 0.4 {
		t.Errorf("half of its time has gone, and %+v of 4 are left", half.Amount)
	}
	if days := mustRunOut(t, half); days < 20 || days > 50 {
		t.Errorf("out in %.1f days", days)
	}
	item.Looks = []larder.Look{{At: back(0.1), Word: 0}}
	if low := reckon(item, larder.Pace{}); mustRunOut(t, low) > 0.5*mustRunOut(t, half) {
		t.Errorf("nearly out, yet out on %v", low.RunsOut.About)
	}
	item = larder.Item{Since: back(40), Looks: []larder.Look{{At: back(1), Word: 1}}}
	if share := reckon(item, larder.Pace{}); share.Known || share.Share.Mean > 0.45 || share.RunsOut == nil {
		t.Errorf("of a box of unknown size that is low: %+v", share)
	}
	if kept := reckon(larder.Item{Amount: 5, Since: back(400)}, larder.Pace{}); kept.Amount.Mean != 5 || kept.RunsOut != nil {
		t.Errorf("nothing is known of its use: %+v", kept)
	}
	if nothing := reckon(larder.Item{Since: back(40)}, larder.Pace{}); nothing.Known || nothing.RunsOut != nil {
		t.Errorf("nothing is known, yet %+v", nothing)
	}
}

func TestMoreLeavesLastLongerAndMoreUseShorter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		amount := rapid.Float64Range(5, 200).Draw(rt, "amount")
		perDay := rapid.Float64Range(0.1, 3).Draw(rt, "a day")
		uses := rapid.IntRange(0, 6).Draw(rt, "uses")
		item := larder.Item{Amount: amount, Since: back(30), Rough: 0.3}
		for i := range uses {
			item.Used = append(item.Used, larder.Use{At: back(float64(29 - i)), Amount: amount / 20})
		}
		pace := larder.Pace{PerDay: perDay, Spread: 0.3, Portion: 1}
		left := reckon(item, pace)
		for _, level := range []larder.Level{left.Amount, left.Share} {
			if level.Low < 0 || level.Low > level.Mean || level.Mean > level.High {
				rt.Fatalf("no span: %+v", level)
			}
		}
		about := func(left larder.Left) float64 {
			if left.RunsOut == nil {
				return math.Inf(1)
			}
			return left.RunsOut.About.Sub(now).Hours()
		}
		quicker := pace
		quicker.PerDay *= 1.5
		if about(reckon(item, quicker)) > about(left)+1 {
			rt.Fatal("at one and a half times the pace it lasts longer")
		}
		more := item
		more.Added = []larder.Use{{At: back(0.5), Amount: amount / 4}}
		if about(reckon(more, pace)) < about(left)-1 {
			rt.Fatal("more was put in, and it lasts shorter")
		}
		used := item
		used.Used = append(append([]larder.Use{}, item.Used...), larder.Use{At: back(0.5), Amount: amount / 4})
		if about(reckon(used, pace)) > about(left)+1 {
			rt.Fatal("more was used, and it lasts longer")
		}
		before := larder.NewReckoner().Reckon(item, pace, larder.Before{Mean: 10, Spread: 1}, now)
		if about(before) < about(left)-1 {
			rt.Fatal("what is used before it makes it run out earlier")
		}
	})
}

// Of many boxes whose leaves are used by a Poisson process, by hands that each
// take more or less than they say, the true day of running out lies in the told
// span of 8 in 10 about that often.
func TestTheSpanIsHonest(t *testing.T) {
	within, early, boxes := 0, 0, 300
	state := uint64(7)
	uniform := func() float64 { // xorshift: the same every time
		state ^= state << 13
		state ^= state >> 7
		state ^= state << 17
		return float64(state>>11) / (1 << 53)
	}
	for range boxes {
		perDay := math.Exp(1.2*uniform() - 1.8) // portions of two handfuls
		item := larder.Item{Amount: 60, Since: back(90), Rough: 0.3}
		level, at := 60.0, back(90)
		takes := 2 * math.Exp(0.3*math.Sqrt(-2*math.Log(1-uniform()))*math.Cos(2*math.Pi*uniform()))
		var out time.Time
		for out.IsZero() {
			at = at.Add(time.Duration(-math.Log(1-uniform()) / perDay * float64(day)))
			level -= takes
			if at.Before(now) {
				item.Used = append(item.Used, larder.Use{At: at, Amount: 2})
			}
			if level <= 2 {
				out = at
			}
		}
		if out.Before(now) || len(item.Used) < 4 {
			boxes--
			continue
		}
		left := reckon(item, larder.PaceOf(item.Used, 0, back(90), now))
		if left.RunsOut == nil || left.RunsOut.To == nil {
			continue
		}
		if out.Before(left.RunsOut.From) {
			early++
		} else if out.Before(*left.RunsOut.To) {
			within++
		}
	}
	t.Logf("of %d boxes %d ran out within the span, %d before it", boxes, within, early)
	if share := float64(within) / float64(boxes); share < 0.72 || share > 0.93 || float64(early) > 0.15*float64(boxes) {
		t.Errorf("%d of %d within, %d before", within, boxes, early)
	}
}

func entries(list ...husbandry.Entry) []*husbandry.Entry {
	var all []*husbandry.Entry
	for i := range list {
		list[i].ID = fmt.Sprint("e", i)
		all = append(all, &list[i])
	}
	return all
}

// A room: two batches used one after the other, a mix with leaves in it, two
// boxes of one food.
func TestALarder(t *testing.T) {
	tub := husbandry.CommonTub()
	tub.ID = "b1"
	r := larder.Records{
		Batches: []husbandry.Batch{
			{ID: "new", Slug: "maple-2", Gathered: "2026-05-20", Amount: 20, Unit: "litres", Sprayed: "no", Tree: "maple", Place: "orchard", HeatedC: 93, HeatedMinutes: 30},
			{ID: "open", Slug: "oak-7", Gathered: "2026-03-01", Amount: 30, Unit: "handfuls"},
			{ID: "old", Slug: "beech", Gathered: "2025-10-01", Amount: 30, Unit: "handfuls", Finished: "2026-03-02"},
		},
		Mixes: []husbandry.Mix{{ID: "mix", Slug: "house mix", Mixed: "2026-05-01", Litres: 12, Parts: []husbandry.Part{
			{Ingredient: "flake soil", Share: 3}, {Ingredient: "leaf litter", Share: 1, Batch: "Oak-7"}}}},
		Stock: []husbandry.Stock{
			{ID: "later", Food: "carrot", Amount: 5, Unit: "pieces", Got: "2026-05-01", UseBy: "2026-06-20"},
			{ID: "first", Food: "carrot", Amount: 5, Unit: "pieces", Got: "2026-05-01", UseBy: "2026-05-30"},
		},
		Bins:         []husbandry.Bin{tub},
		LeavesPerDay: 0.2, SubstratePerDay: 0.1,
		Entries: entries(
			husbandry.Entry{What: husbandry.AddLeaves, Bin: "b1", At: back(40), Handfuls: 3, Batch: "oak-7"},
			husbandry.Entry{What: husbandry.Renew, Bin: "b1", At: back(20), Mix: "House mix "},
			husbandry.Entry{What: husbandry.Feed, Bin: "b1", At: back(10), Food: "Carrot", Pieces: 2},
			husbandry.Entry{What: husbandry.Feed, Bin: "b1", At: back(5), Food: "carrot", Pieces: 1, Item: "later"},
		),
	}
	l := larder.Of(r, now)
	by := map[string]larder.Held{}
	for _, list := range [][]larder.Held{l.Batches, l.Mixes, l.Stock, l.Supplies} {
		for _, held := range list {
			by[held.ID] = held
		}
	}
	if open := by["open"]; open.Turn != 0 || open.Uses != 2 || math.Abs(open.Used-(3+3/husbandry.LitresPerHandful)) > 1e-9 {
		t.Errorf("the batch in use, 3 handfuls of it in a bin and 3 litres in a mix: %+v", open)
	}
	if fresh := by["new"]; fresh.Turn != 1 || math.Abs(fresh.Left.Mean-20) > 1 || !fresh.RunsOut.About.After(by["open"].RunsOut.About) || len(fresh.Doubts) != 0 {
		t.Errorf("the batch that is used next: %+v", fresh)
	}
	if old := by["old"]; old.Turn != -1 || old.RunsOut != nil || old.Left.High != 0 {
		t.Errorf("the batch that is used up: %+v", old)
	}
	if mix := by["mix"]; mix.Uses != 1 || math.Abs(mix.Used-tub.SubstrateLitres()) > 1e-9 || len(mix.Doubts) != 4 {
		t.Errorf("a mix with doubtful leaves: %+v", mix)
	}
	if first := by["first"]; first.Used != 2 || !first.Past || first.Turn != 0 {
		t.Errorf("what has to be used first: %+v", first)
	}
	if later := by["later"]; later.Used != 1 || later.Past {
		t.Errorf("what was named: %+v", later)
	}
}

// Twenty thousand entries are no burden.
func BenchmarkLarder(b *testing.B) {
	r := larder.Records{LeavesPerDay: 5}
	for i := range 50 {
		r.Batches = append(r.Batches, husbandry.Batch{ID: fmt.Sprint("b", i), Slug: fmt.Sprint("batch ", i), Amount: 50, Gathered: "2025-01-01"})
	}
	for i := range 20000 {
		r.Entries = append(r.Entries, &husbandry.Entry{ID: fmt.Sprint(i), What: husbandry.AddLeaves, At: back(400 - float64(i)/50), Handfuls: 0.5, Batch: fmt.Sprint("Batch ", i%50)})
	}
	for b.Loop() {
		larder.Of(r, now)
	}
}

// What is weighed goes by what one serving of it weighs.
func TestAServingWeighsWhatItsFoodSays(t *testing.T) {
	used := func(food string) float64 {
		r := larder.Records{
			Foods:   map[string]husbandry.Food{"carrot": {Slug: "carrot", ServingG: 3}, "flakes": {Slug: "flakes"}},
			Stock:   []husbandry.Stock{{ID: "box", Food: food, Amount: 60, Unit: "grams", Got: "2026-05-01"}},
			Entries: entries(husbandry.Entry{What: husbandry.Feed, Bin: "b1", At: back(5), Food: food, Pieces: 4}),
		}
		return larder.Of(r, now).Stock[0].Used
	}
	for food, want := range map[string]float64{"Carrot": 12, "flakes": 8, "unheard of": 8} {
		if got := used(food); math.Abs(got-want) > 1e-9 {
			t.Errorf("4 servings of %s used up %v g, want %v", food, got, want)
		}
	}
}
