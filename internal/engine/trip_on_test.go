package engine

import (
	"encoding/json"
	"maps"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
)

// onTrip is a room of shallow bins whose keeper has left on a long trip, with
// nothing logged since.
func onTrip(t *testing.T) (e *Engine, trip husbandry.Trip, leaves time.Time) {
	t.Helper()
	sheets, entries := big(t, 24, 1)
	for i, sheet := range sheets {
		if sheet.Sheet == "bins" {
			sheets[i].Fields = maps.Clone(sheet.Fields)
			sheets[i].Fields["substrate_depth_mm"] = husbandry.Stamped{Value: json.RawMessage("32"), Stamp: sheet.Fields["name"].Stamp}
		}
	}
	trip = tripFrom(today, -10, 30)
	leaves, _, _ = trip.Span(today.Location())
	var kept []husbandry.Entry
	for _, entry := range entries {
		if entry.At.Before(leaves) {
			kept = append(kept, entry)
		}
	}
	e = New()
	e.Put(sheets, kept)
	return e, trip, leaves
}

// felt is a visit at which every stop feels so, and gets its dose.
func felt(visit chores.AwayVisit, word string) (entries []husbandry.Entry, after time.Time) {
	at := visit.From.Add(time.Hour)
	for _, stop := range visit.Stops {
		at = at.Add(time.Minute)
		entries = append(entries, husbandry.Entry{ID: "felt" + stop.Bin, Bin: stop.Bin, What: husbandry.Feel, Feel: word, At: at, By: "sitter"})
		if dose := stop.DoseIfML[word]; dose > 0 {
			entries = append(entries, husbandry.Entry{ID: "water" + stop.Bin, Bin: stop.Bin, What: husbandry.Water, WaterML: dose, At: at.Add(20 * time.Second), By: "sitter"})
		}
	}
	return entries, at.Add(time.Hour)
}

func TestWhatTheSitterFindsIsTold(t *testing.T) {
	e, trip, leaves := onTrip(t)
	plan := mustTrip(t, e, trip, leaves.Add(chores.LeftBy+time.Hour))
	if len(plan.Visits) < 2 || len(plan.Done) != 0 || plan.Changed == nil || !plan.Changed.Since.Equal(leaves.Add(chores.LeftBy)) {
		t.Fatalf("%d visits, done %v, changed %+v", len(plan.Visits), plan.Done, plan.Changed)
	}
	visit := plan.Visits[0]
	entries, after := felt(visit, "soaked")
	e.Put(nil, entries)
	now := mustTrip(t, e, trip, after)
	if len(now.Done) != 1 || now.Done[0].Date != visit.Date || len(now.Done[0].Bins) != len(visit.Stops) || now.Done[0].By[0] != "sitter" {
		t.Errorf("done %+v, want the %d bins of %s", now.Done, len(visit.Stops), visit.Date)
	}
	if len(now.Odd) == 0 {
		t.Error("to find every bin soaked after days without water is not odd")
	}
	for _, odd := range now.Odd {
		if odd.Feel != "soaked" || odd.Chance >= 0.05 || odd.Entry != "felt"+odd.Bin || odd.By != "sitter" {
			t.Errorf("%+v", odd)
		}
	}
	if now.Changed == nil || !now.Changed.Since.Before(entries[0].At) || now.Changed.Since.Before(visit.From) {
		t.Errorf("changed %+v, want it since just before %v", now.Changed, entries[0].At)
	}
	// It hangs on the records and the time alone.
	fresh, _, _ := onTrip(t)
	fresh.Put(nil, entries)
	a, _ := json.Marshal(now)
	for _, again := range []*Engine{e, fresh} {
		if b, _ := json.Marshal(mustTrip(t, again, trip, after)); string(a) != string(b) {
			t.Errorf("asked again it is\n%s\nnot\n%s", b, a)
		}
	}
}

// The sitter finds every bin dry and waters none.
func TestWhatTheSitterFindsMovesThePlan(t *testing.T) {
	e, trip, leaves := onTrip(t)
	visit := mustTrip(t, e, trip, leaves.Add(chores.LeftBy+time.Hour)).Visits[0]
	var entries []husbandry.Entry
	all, after := felt(visit, "dry")
	for _, entry := range all {
		if entry.What == husbandry.Feel {
			entries = append(entries, entry)
		}
	}
	e.Put(nil, entries)
	now := mustTrip(t, e, trip, after)
	if now.Changed == nil || len(now.Changed.Bins) == 0 || !(now.Plan.Harmed > now.Changed.Harmed) {
		t.Fatalf("dry bins leave the plan as it was: %+v", now.Changed)
	}
	visited := map[string]bool{}
	for _, stop := range visit.Stops {
		visited[stop.Bin] = true
	}
	for _, change := range now.Changed.Bins {
		if visited[change.Bin] != (change.Why == chores.ChangedFound) || visited[change.Bin] && change.Feel != "dry" {
			t.Errorf("visited %v: %+v", visited[change.Bin], change)
		}
	}
}

func TestAMissedVisitIsMadeUpFor(t *testing.T) {
	e, trip, leaves := onTrip(t)
	plan := mustTrip(t, e, trip, leaves.Add(chores.LeftBy+time.Hour))
	visit := plan.Visits[0]
	now := mustTrip(t, e, trip, visit.To.Add(time.Hour))
	missed := 0
	for _, change := range now.Changed.Bins {
		if change.Why == chores.ChangedMissed {
			missed++
		}
	}
	if missed == 0 || len(now.Visits) == 0 {
		t.Fatalf("nobody came on %s, and %d bins are made up for on %d visits", visit.Date, missed, len(now.Visits))
	}
	soon := map[string]bool{}
	for _, stop := range now.Visits[0].Stops {
		soon[stop.Bin] = true
	}
	caught := 0
	for _, stop := range visit.Stops {
		if soon[stop.Bin] {
			caught++
		}
	}
	if caught == 0 {
		t.Errorf("none of the bins of %s are opened on %s", visit.Date, now.Visits[0].Date)
	}
}

// The plan from before the last visit is made from what the room has replayed
// since: it is the one that an engine comes to that is asked at that time.
func TestThePlanOfThenIsWhatWasPlannedThen(t *testing.T) {
	compared, visits := 0, 0
	law := func(t *rapid.T) {
		sheets := drawRoom(t)
		entries := drawEntries(t, len(sheets)-len(husbandry.Seeds()))
		for i := range entries { // who comes along while the trip is on
			if entries[i].At.After(today.AddDate(0, 0, -8)) {
				entries[i].By = rapid.SampledFrom([]string{"ada", "aaa", "sitter"}).Draw(t, "by")
			}
		}
		ahead, days := rapid.IntRange(-25, -1).Draw(t, "left"), rapid.IntRange(2, 30).Draw(t, "days")
		trip := tripFrom(today, ahead, max(days, 1-ahead))
		e := New()
		e.Put(sheets, entries)
		e.settle(today)
		since, on := e.room.PlannedBefore(trip)
		if !on {
			return
		}
		compared++
		got := e.plannedAt(trip, since)
		plain := New()
		plain.Put(sheets, entries)
		want, err := plain.planned(trip, since)
		if err != nil {
			t.Fatal(err)
		}
		visits += len(want.Visits)
		if a, b := opened(got), opened(&want); a != b || math.Abs(got.Plan.Harmed-want.Plan.Harmed) > 1e-12 {
			t.Fatalf("at %v the plan was\n%s%v\nand is said to have been\n%s%v", since, b, want.Plan, a, got.Plan)
		}
	}
	for range 4 { // its rooms are small
		rapid.Check(t, law)
	}
	if compared < 20 || visits < 20 {
		t.Errorf("%d plans with %d visits are too few to tell", compared, visits)
	}
}

// opened is what a plan opens, day by day.
func opened(plan *chores.Away) (text string) {
	for _, visit := range plan.Visits {
		text += visit.Date
		for _, stop := range visit.Stops {
			text += " " + stop.Bin
		}
		text += "\n"
	}
	return text
}

// Somebody waters before feeling: what was told on leaving is not about that.
func TestAFeelAfterWaterIsNotScored(t *testing.T) {
	e, trip, leaves := onTrip(t)
	bin := e.Survey(leaves).Glances[0].Bin
	at := leaves.AddDate(0, 0, 3)
	e.Put(nil, []husbandry.Entry{
		{ID: "w", Bin: bin, What: husbandry.Water, WaterML: 40, At: at, By: "sitter"},
		{ID: "f", Bin: bin, What: husbandry.Feel, Feel: "damp", At: at.Add(time.Hour), By: "sitter"},
	})
	report, err := e.TripReport(trip, today)
	if err != nil || report.Score.N != 0 || report.Bins[0].Found != "damp" || report.Bins[0].Called {
		t.Errorf("%v, %+v, %+v", err, report.Score, report.Bins[0])
	}
}

// A renewal that would fall into the trip is offered where the year has room.
func TestARenewalIsMovedOutOfTheWayOfATrip(t *testing.T) {
	sheets, entries := big(t, 12, 1)
	e := New()
	e.Put(sheets, entries)
	trip := tripFrom(today, 60, 15)
	bin := e.Survey(today).Glances[0].Bin
	planned := today.AddDate(0, 0, 65).Format(time.DateOnly)
	sheet, err := husbandry.NewSheet("bins", map[string]any{"id": bin, "renew_on": planned}, husbandry.NextStamp(today.AddDate(0, 0, 1), "phone", ""))
	if err != nil {
		t.Fatal(err)
	}
	e.Put([]husbandry.Sheet{sheet}, nil)
	for _, one := range mustTrip(t, e, trip, today).Bins {
		if one.Bin != bin {
			continue
		}
		if one.SetUp == nil || one.SetUp.Renew == nil {
			t.Fatal("a renewal in the middle of the trip stays there")
		}
		moved := one.SetUp.Renew
		week, err := time.ParseInLocation(time.DateOnly, moved.Week, today.Location())
		leaves, returns, _ := trip.Span(today.Location())
		if err != nil || moved.Was != planned || moved.Before != week.Before(leaves) || week.AddDate(0, 0, 6).After(leaves) && !week.After(returns) {
			t.Errorf("%+v for a trip from %s to %s", moved, trip.Leaves, trip.Returns)
		}
		return
	}
	t.Fatal("the bin is not on the trip")
}
