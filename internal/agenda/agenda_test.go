package agenda

import (
	"strings"
	"testing"
	"time"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
)

var zone = time.FixedZone("", 3600)

func at(day, hour int) time.Time { return time.Date(2026, 12, day, hour, 0, 0, 0, zone) }

func room() *Household {
	bin := func(id, name string, position int) husbandry.Bin {
		return husbandry.Bin{ID: id, Name: name, Rack: "West", Shelf: 1, Position: position}
	}
	return &Household{
		Room:  husbandry.Room{Name: "Cellar", Units: "us"},
		Bins:  []husbandry.Bin{bin("a", "Slate", 1), bin("b", "Striped", 2), bin("c", "Pied", 3)},
		Foods: map[string]husbandry.Food{"carrot": {Slug: "carrot", Name: "Carrot"}},
	}
}

func TestAVisitSaysAllThatASitterNeeds(t *testing.T) {
	trip := husbandry.Trip{ID: "t1", Sitter: "Next door", Call: " 030 000 "}
	plan := chores.Away{Visits: []chores.AwayVisit{{Date: "2026-12-12", From: at(12, 9), To: at(12, 20), Stops: []chores.AwayStop{
		{Bin: "a", End: "left", DoseIfML: map[string]float64{"dry": 88.7, "barely": 88.7, "damp": 0, "soaked": 0}},
		{Bin: "b", End: "back", DoseIfML: map[string]float64{"dry": 44.4, "barely": 29.6, "damp": 0, "soaked": 0}, Food: "carrot", Handfuls: 1.5, Closed: true},
	}}}}
	events := Visits(room(), trip, plan)
	if len(events) != 1 {
		t.Fatalf("%d events", len(events))
	}
	event := events[0]
	want := "W1-1 Slate: feel the left end. Dry or barely damp: 90 mL (6 tablespoons); damp or soaked: nothing to do.\n" +
		"W1-2 Striped: feel the back. Dry: 3 tablespoons; barely damp: 2 tablespoons; damp or soaked: nothing to do. Put in one piece of carrot. Add 1.5 handfuls of leaves. Better left shut: only shortly.\n\n" +
		"Damp already? Then there is nothing to do. All other lids stay shut.\nIf something is wrong, call 030 000."
	if event.Description != want {
		t.Errorf("it says\n%s\nwant\n%s", event.Description, want)
	}
	if event.Summary != "Visit to the bins (Next door): 2 lids" || event.Location != "Cellar" || !event.Start.Equal(at(12, 9)) || !event.End.Equal(at(12, 20)) || event.Alarm == nil {
		t.Errorf("%+v", event)
	}
	plan.Visits[0].Stops[0].DoseIfML["damp"] = 29.6
	if thirsty := Visits(room(), trip, plan)[0].Description; strings.Contains(thirsty, "Damp already?") || !strings.Contains(thirsty, "damp: 2 tablespoons") {
		t.Errorf("a bin that is watered when it is damp: %s", thirsty)
	}
	plan.Visits[0].From, plan.Visits[0].Stops = at(12, 14), plan.Visits[0].Stops[:1]
	if again := Visits(room(), trip, plan)[0]; again.UID != event.UID {
		t.Error("other hours and bins make it another visit")
	}
	plan.Visits[0].Date = "2026-12-13"
	if other := Visits(room(), trip, plan)[0]; other.UID == event.UID {
		t.Error("another day's visit is the same")
	}
}

func TestRoundsAreAsFewAsTheWindowsAllow(t *testing.T) {
	chore := func(bin, sort string, opens, due time.Time) husbandry.Chore {
		return husbandry.Chore{Bin: bin, Chore: sort, Food: "carrot", Opens: opens, Due: due, Closes: due.AddDate(0, 0, 3)}
	}
	all := []husbandry.Chore{
		chore("a", "feel", at(1, 8), at(3, 19)),    // overdue: today
		chore("b", "feel", at(6, 8), at(9, 18)),    // on the 8th, with what is due then
		chore("a", "leaves", at(2, 8), at(20, 18)), // open today
		chore("c", "leftovers", at(8, 1), at(8, 7)),
		chore("c", "feed", at(8, 23), at(10, 18)),
		chore("b", "renew", at(15, 8), at(24, 18)),
		chore("gone", "look", at(5, 8), at(6, 18)),
		chore("c", "look", at(20, 8), at(30, 18)), // beyond what is told
	}
	events := Rounds(room(), all, at(5, 12))
	got := make([]string, len(events))
	for i, event := range events {
		got[i] = event.Start.Format("2 15:04") + "-" + event.End.Format("15:04") + " " + event.Summary + ": " + strings.ReplaceAll(event.Description, "\n", " / ")
	}
	want := []string{
		"5 18:00-18:15 Round: 1 bin: W1-1 Slate: add leaves, feel the damp side",
		"8 07:00-07:15 Round: 2 bins: W1-2 Striped: feel the damp side / W1-3 Pied: feed, look at the carrot",
		"24 18:00-18:15 Round: 1 bin: W1-2 Striped: renew the substrate",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
