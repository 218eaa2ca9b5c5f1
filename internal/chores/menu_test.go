package chores

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
	"underlog/internal/rota"
)

// meal is a feeding that was all gone the day after.
func meal(id string, at time.Time, food string) []husbandry.Entry {
	return []husbandry.Entry{fed(id, at, food), looked(id, at.Add(24*time.Hour), "all gone", "")}
}

// shelf is a room of bins with the same history.
func shelf(n int, change func(*Settings), entries ...husbandry.Entry) *Room {
	settings := settingsOf(nil)
	if change != nil {
		change(&settings)
	}
	var records []Record
	for i := range n {
		own := slices.Clone(entries)
		for j := range own {
			own[j].ID, own[j].Bin = fmt.Sprint("b", i, own[j].ID, j), fmt.Sprint("b", i)
			if own[j].Of != "" {
				own[j].Of = fmt.Sprint("b", i, own[j].Of, j-1)
			}
		}
		records = append(records, Record{Bin: tub(fmt.Sprint("b", i), nil), Entries: numbered(own)})
	}
	return NewRoom(settings, records, nil, evening.Add(-200*day), evening, nil, nil)
}

func TestWhatIsOnTheMenu(t *testing.T) {
	plants := slices.Concat(meal("a", back(18*day), "carrot"), meal("b", back(15*day), "zucchini"), meal("c", back(11*day), "carrot"),
		meal("d", back(8*day), "zucchini"), meal("e", back(4*day), "carrot"))
	chore := the(t, husbandry.ChoreFeed, setUp{entries: plants})
	if chore.Pick == nil || chore.Pick.Why[0] != rota.WhyProtein || chore.Food != chore.Pick.Food {
		t.Errorf("nothing but plants for 18 days, and to be fed %+v", chore.Pick)
	}
	if chore.Pick.Calcium == "" {
		t.Error("no calcium source was ever given, and none is due")
	}
	lime := append(slices.Clone(plants[:1]), fed("l", back(17*day), "cuttlebone"))
	lime = append(lime, plants[1:]...)
	slices.SortStableFunc(lime, func(a, b husbandry.Entry) int { return a.At.Compare(b.At) })
	if chore := the(t, husbandry.ChoreFeed, setUp{entries: lime}); chore.Pick.Calcium != "" {
		t.Errorf("cuttlebone for 17 days, and %s is due", chore.Pick.Calcium)
	}
	renewed := append(slices.Clone(lime), husbandry.Entry{At: back(day), What: husbandry.Renew})
	if chore := the(t, husbandry.ChoreFeed, setUp{entries: renewed}); chore.Pick.Calcium == "" {
		t.Error("the cuttlebone went with the substrate, and none is due")
	}
	crab := append(slices.Clone(plants), fed("l", back(3*day), "crab shell"))
	if chore := the(t, husbandry.ChoreFeed, setUp{entries: crab}); chore.Pick.Calcium != "" || chore.Why.Food != "carrot" {
		t.Errorf("a mineral three days ago: %+v because %+v", chore.Pick, chore.Why)
	}
}

func TestABinsOwnMeals(t *testing.T) {
	own := setUp{bin: func(b *husbandry.Bin) { b.MealsPerWeek = 7 }, entries: meal("a", back(30*time.Hour), "carrot")}
	near(t, "due", the(t, husbandry.ChoreFeed, own).Due, back(6*time.Hour), time.Minute)
}

// Before a trip nothing is named that would be mouldy on the return.
func TestNothingThatWouldMouldIsLeftInForATrip(t *testing.T) {
	trip := func(leaves, returns string) func(*Settings) {
		return func(s *Settings) {
			s.Trips = []husbandry.Trip{{ID: "t", Leaves: leaves, Returns: returns, FromHour: 9, ToHour: 20}}
		}
	}
	history := meal("a", back(6*day), "carrot")
	if got := shelf(1, nil, history...).Feeding(FeedingOrder{}, nil); got.Bins[0].State != FeedNow {
		t.Fatalf("no trip: %+v", got.Bins[0])
	}
	if got := shelf(1, trip("2026-06-20", "2026-06-30"), history...).Feeding(FeedingOrder{}, nil); got.Bins[0].State != FeedNow {
		t.Errorf("a trip in two weeks: %+v", got.Bins[0])
	}
	got := shelf(1, trip("2026-06-04", "2026-06-14"), history...).Feeding(FeedingOrder{}, nil)
	for _, quick := range []string{"banana", "melon", "fish flakes"} {
		if !slices.Contains(got.Bins[0].Bans, FeedingBan{quick, rota.BanMould}) {
			t.Errorf("ten days away, and %s may be given: %+v", quick, got.Bins[0])
		}
	}
	if pick := got.Bins[0].Pick; got.Bins[0].State == FeedNow && (pick.Mouldy > mouldMeal || pick.LooksAt.Before(evening.Add(10*day))) {
		t.Errorf("ten days away: %+v", pick)
	}
}

func TestAFeedingAsItIsOrdered(t *testing.T) {
	room := shelf(4, nil, meal("a", back(6*day), "carrot")...)
	plan := room.Feeding(FeedingOrder{}, nil)
	if len(plan.Bins) != 4 || len(plan.Board) == 0 {
		t.Fatalf("%+v", plan)
	}
	plan = room.Feeding(FeedingOrder{
		Bins: []string{"b0", "b1", "b2"}, Foods: []string{"zucchini", "melon"}, Hand: map[string]string{"b1": "orange", "b2": "yeast"}, Out: []string{"b0"},
	}, nil)
	states := []string{plan.Bins[0].State, plan.Bins[1].State, plan.Bins[2].State}
	if len(plan.Bins) != 3 || !slices.Equal(states, []string{FeedOut, FeedNow, FeedNow}) {
		t.Fatalf("%v", states)
	}
	if pick := plan.Bins[2].Pick; pick.Food != "yeast" || pick.Why[0] != rota.WhyHand {
		t.Errorf("yeast by hand: %+v", pick)
	}
	pieces := 0
	for _, row := range plan.Bins {
		if row.Pick != nil && row.Pick.Food != "" {
			pieces += row.Pick.Pieces
		}
	}
	for _, one := range plan.Board {
		if one.Food != "cuttlebone" && one.Food != "egg shell" && one.Food != "crab shell" {
			pieces -= one.Pieces
		}
	}
	if pieces != 0 {
		t.Errorf("%d pieces are given and not on the board: %+v", pieces, plan.Board)
	}
}

// Whatever happened, leftovers are looked at first and no food comes twice
// running.
func TestAFeedingKeepsTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		foods := []string{"carrot", "melon", "fish flakes", "cuttlebone", "moon cheese"}
		var entries []husbandry.Entry
		at := back(60 * day)
		for i := range rapid.IntRange(0, 15).Draw(t, "meals") {
			at = at.Add(time.Duration(rapid.IntRange(20, 96).Draw(t, "hours")) * time.Hour)
			entries = append(entries, fed(fmt.Sprint("f", i), at, rapid.SampledFrom(foods).Draw(t, "food")))
			if rapid.Bool().Draw(t, "looked") {
				entries = append(entries, looked(fmt.Sprint("f", i), at.Add(19*time.Hour), rapid.SampledFrom(husbandry.LeftWords).Draw(t, "left"), ""))
			}
		}
		records := []Record{{Bin: tub("b1", nil), Entries: numbered(entries)}}
		room := NewRoom(settingsOf(nil), records, nil, evening.Add(-200*day), evening, nil, nil)
		past := room.bins[0].past
		row := room.Feeding(FeedingOrder{Bins: []string{"b1"}, Anyway: []string{"b1"}}, nil).Bins[0]
		lies := len(mealsIn(lying(past.feedings, evening))) > 0
		if lies != (row.State == FeedLook) {
			t.Fatalf("food lies: %v, state %q", lies, row.State)
		}
		if row.State == FeedNow {
			for i := len(past.feedings) - 1; i >= 0; i-- {
				if f := past.feedings[i]; isMeal(f.food) {
					if f.food.Slug == row.Pick.Food {
						t.Fatalf("%s again", row.Pick.Food)
					}
					break
				}
			}
			if row.Pick.Mouldy > mouldMeal {
				t.Fatalf("%s mouldy with %g", row.Pick.Food, row.Pick.Mouldy)
			}
		}
	})
}

func TestPacesMoveWithWhatTheRoomTaught(t *testing.T) {
	of := func(r *Room, food string) FoodPace {
		list := r.FoodPaces()
		return list[slices.IndexFunc(list, func(p FoodPace) bool { return p.Food == food })]
	}
	fresh := of(shelf(1, nil), "melon")
	if fresh.Believed != fresh.Taught || fresh.Looks != 0 || !(fresh.Taught.Soon < fresh.Taught.Middle && fresh.Taught.Middle < fresh.Taught.Late) {
		t.Errorf("nobody has looked: %+v", fresh)
	}
	var entries []husbandry.Entry
	for i := range 12 {
		id := fmt.Sprint("m", i)
		at := back(time.Duration(60-4*i) * day)
		entries = append(entries, fed(id, at, "melon"), looked(id, at.Add(20*time.Hour), "some left", "furry"))
	}
	taught := of(shelf(3, nil, entries...), "melon")
	if taught.Taught.Middle > 0.8*taught.Believed.Middle || taught.Looks != 36 || taught.Mouldy != 36 || taught.Eaten != 0.5 {
		t.Errorf("melon was furry after 20 h, 36 times: %+v", taught)
	}
	if bone := of(shelf(1, nil), "cuttlebone"); !bone.Never {
		t.Errorf("%+v", bone)
	}
}

// What the larder has to be used up comes first, what it has no more of is not
// named, and no more is given out than there is.
func TestTheLarderIsUsedUpInTime(t *testing.T) {
	stock := func(list ...husbandry.Stock) func(*Settings) {
		return func(s *Settings) { s.Stock = list }
	}
	history := meal("a", back(6*day), "carrot")
	urgent := shelf(2, stock(husbandry.Stock{ID: "s", Food: "cucumber", UseBy: "2026-06-04"}), history...)
	plan := urgent.Feeding(FeedingOrder{}, nil)
	if pick := plan.Bins[0].Pick; pick.Food != "cucumber" || pick.Why[0] != rota.WhyUse || pick.UseBy != "2026-06-04" {
		t.Errorf("cucumber until tomorrow: %+v", pick)
	}
	if chore := all(urgent, husbandry.ChoreFeed)[0]; chore.Food != "cucumber" {
		t.Errorf("cucumber until tomorrow: %+v", chore)
	}
	past := shelf(1, stock(husbandry.Stock{ID: "s", Food: "cucumber", UseBy: "2026-06-02"}), history...).Feeding(FeedingOrder{}, nil)
	if !slices.Contains(past.Bins[0].Bans, FeedingBan{"cucumber", rota.BanUseBy}) {
		t.Errorf("cucumber until yesterday: %+v", past.Bins[0])
	}
	gone := shelf(1, stock(husbandry.Stock{ID: "s", Food: "cucumber", Finished: "2026-06-01"}), history...).Feeding(FeedingOrder{}, nil)
	for _, food := range gone.Foods {
		if food.AtHand != (food.Food != "cucumber") {
			t.Errorf("the cucumber is finished: %+v", food)
		}
	}
	short := shelf(4, stock(husbandry.Stock{ID: "s", Food: "cucumber", UseBy: "2026-06-04", Amount: 3}), history...).Feeding(FeedingOrder{}, map[string]float64{"cucumber": 3})
	if i := slices.IndexFunc(short.Board, func(one FeedingBoard) bool { return one.Food == "cucumber" }); i < 0 || short.Board[i].Pieces > 3 {
		t.Errorf("3 pieces of cucumber, and on the board is %+v", short.Board)
	}
}
