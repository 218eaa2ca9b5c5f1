package chores

import (
	"slices"
	"testing"
	"time"

	"underlog/internal/husbandry"
	"underlog/internal/rota"
)

// leaving is a trip from the day after tomorrow on, for ten days.
var leaving = husbandry.Trip{ID: "t", Leaves: "2026-06-05", Returns: "2026-06-15", FromHour: 9, ToHour: 20}

func TestWhatWouldNotLastIsNamedBeforeLeaving(t *testing.T) {
	room := shelf(1, func(s *Settings) {
		s.Stock = []husbandry.Stock{
			{ID: "in it", Food: "Carrot", UseBy: "2026-06-15"},
			{ID: "after it", Food: "melon", UseBy: "2026-06-16"},
			{ID: "past", Food: "apple", UseBy: "2026-06-02"},
			{ID: "no day", Food: "cucumber"},
			{ID: "no day, frozen", Food: "cucumber", Kept: "freezer"},
			{ID: "keeps", Food: "fish flakes"},
			{ID: "used up", Food: "melon", UseBy: "2026-06-08", Finished: "2026-06-01"},
			{ID: "thrown out", Food: "melon", UseBy: "2026-06-08", Deleted: true},
		}
	})
	answer, ok := room.Away(leaving)
	want := []AwayUseUp{{"past", "apple", "2026-06-02", true}, {"no day", "cucumber", "", false}, {"in it", "carrot", "2026-06-15", false}}
	if !ok || !slices.Equal(answer.UseUp, want) {
		t.Errorf("to be used up: %+v, want %+v", answer.UseUp, want)
	}
	gone := leaving
	gone.Leaves = "2026-06-01"
	if answer, ok := room.Away(gone); !ok || answer.Stage != StageAway || len(answer.UseUp) != 0 {
		t.Errorf("nobody is at home to use up %+v", answer.UseUp)
	}
}

// Food whose day lies within a trip is fed before leaving, as if that were the
// day of leaving.
func TestFoodThatWouldNotLastThroughATripIsFedBefore(t *testing.T) {
	history := slices.Concat(meal("a", back(20*day), "cucumber"), meal("b", back(16*day), "zucchini"), meal("c", back(6*day), "carrot"))
	pick := func(stock husbandry.Stock, trips ...husbandry.Trip) *husbandry.Pick {
		t.Helper()
		stock.ID, stock.Food = "s", "cucumber"
		row := shelf(1, func(s *Settings) {
			s.Stock, s.Trips = []husbandry.Stock{stock}, trips
		}, history...).Feeding(FeedingOrder{}, nil).Bins[0]
		if row.State != FeedNow || row.Pick == nil {
			t.Fatalf("nothing is fed: %+v", row)
		}
		return row.Pick
	}
	within, after := husbandry.Stock{UseBy: "2026-06-13"}, husbandry.Stock{UseBy: "2026-06-16"}
	past := leaving
	past.Leaves, past.Returns = "2026-05-20", "2026-05-30"
	for name, other := range map[string]*husbandry.Pick{
		"no trip": pick(within), "a use-by after the trip": pick(after, leaving), "a trip that is over": pick(within, past),
	} {
		if slices.Contains(other.Why, rota.WhyUse) {
			t.Errorf("%s, yet cucumber has to be used up: %+v", name, other)
		}
	}
	for name, stock := range map[string]husbandry.Stock{"use-by within the trip": within, "no use-by, does not keep": {}} {
		if got := pick(stock, leaving); got.Food != "cucumber" || !slices.Contains(got.Why, rota.WhyUse) || got.UseBy != stock.UseBy {
			t.Errorf("%s: %+v", name, got)
		}
	}
	room := shelf(1, func(s *Settings) { s.Stock = []husbandry.Stock{{ID: "s", Food: "cucumber", UseBy: "2026-06-13"}} }, history...)
	_ = room.Feeding(FeedingOrder{}, nil)
	room.Trips([]husbandry.Trip{leaving})
	if got := room.Feeding(FeedingOrder{}, nil).Bins[0].Pick; !slices.Contains(got.Why, rota.WhyUse) {
		t.Errorf("a trip that was planned meanwhile is not heeded: %+v", got)
	}
	// On the day of leaving it may still be given; it is not called past its day.
	morning := evening.Truncate(day).Add(7 * time.Hour)
	h := &Household{Settings: Settings{Trips: []husbandry.Trip{{Leaves: morning.Format(time.DateOnly), Returns: "2026-06-15"}}, Stock: []husbandry.Stock{{Food: "cucumber", UseBy: "2026-06-10"}}}, at: morning}
	if in := h.kept()["cucumber"]; in.useIn != 0 || in.useBy != "2026-06-10" {
		t.Errorf("on the day of leaving %+v", in)
	}
	h.at = morning.Add(day)
	if in := h.kept()["cucumber"]; in.useIn != 6 {
		t.Errorf("the day after leaving %+v", in)
	}
}
