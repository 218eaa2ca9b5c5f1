package engine

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"underlog/internal/away"
	"underlog/internal/husbandry"
)

// tripFrom is a trip that begins so many days from an instant. The sitter can
// come on two days of three.
func tripFrom(at time.Time, ahead, days int) husbandry.Trip {
	trip := husbandry.UsualTrip()
	leaves := at.AddDate(0, 0, ahead)
	trip.ID, trip.Name = "trip", "Away"
	trip.Leaves, trip.Returns = leaves.Format(time.DateOnly), leaves.AddDate(0, 0, days).Format(time.DateOnly)
	for day := range days {
		if day%3 != 2 {
			trip.Days = append(trip.Days, leaves.AddDate(0, 0, day).Format(time.DateOnly))
		}
	}
	return trip
}

func mustTrip(tb testing.TB, e *Engine, trip husbandry.Trip, at time.Time) Away {
	tb.Helper()
	answer, err := e.Trip(trip, at)
	if err != nil {
		tb.Fatal(err)
	}
	return answer
}

// A well set-up bin is fine for a week away: common practice, no source.
func TestAWellSetUpBinIsFineForAWeek(t *testing.T) {
	sheets, entries := big(t, 24, 1)
	e := New()
	e.Put(sheets, entries)
	for _, ahead := range []int{1, 9} {
		answer := mustTrip(t, e, tripFrom(today, ahead, 7), today)
		for _, bin := range answer.Bins {
			if bin.Verdict == away.Visits {
				t.Errorf("%d days ahead, %s needs a visit in a week: %v", ahead, bin.Bin, bin.Planned)
			}
		}
		if len(answer.Bins) != 24 || len(answer.Visits) != 0 {
			t.Errorf("%d bins, %d visits", len(answer.Bins), len(answer.Visits))
		}
	}
}

func TestWhatIsServedOnAVisitIsServedInTime(t *testing.T) {
	sheets, entries := big(t, 24, 1)
	e := New()
	e.Put(sheets, entries)
	answer := mustTrip(t, e, tripFrom(today, 1, 30), today)
	if len(answer.Visits) == 0 {
		t.Fatal("nobody is needed for a month")
	}
	lids := 0
	for _, bin := range answer.Bins {
		lids += len(bin.Served)
		if bin.Late {
			t.Errorf("%s cannot be served in time though somebody can come on two days of three", bin.Bin)
		}
		if planned, alone := bin.Planned[30], bin.Untouched[30]; planned > alone {
			t.Errorf("%s fares worse with the plan, %.3f, than alone, %.3f", bin.Bin, planned, alone)
		}
	}
	stops := 0
	for _, visit := range answer.Visits {
		stops += len(visit.Stops)
		for _, stop := range visit.Stops {
			if stop.DoseIfML["dry"] <= 0 || stop.End == "" {
				t.Errorf("%s on %s: %+v", stop.Bin, visit.Date, stop)
			}
		}
	}
	if stops != lids || answer.Plan.Lids != lids {
		t.Errorf("%d stops, %d lids, %d in the plan", stops, lids, answer.Plan.Lids)
	}
}

func TestABinLeftShutIsOpenedOnlyIfItMust(t *testing.T) {
	sheets, entries := big(t, 24, 1)
	e := New()
	e.Put(sheets, entries)
	trip := tripFrom(today, 1, 20)
	for _, bin := range mustTrip(t, e, trip, today).Bins {
		trip.Closed = append(trip.Closed, bin.Bin)
	}
	for _, bin := range mustTrip(t, e, trip, today).Bins {
		if !bin.Closed || bin.Verdict != away.Visits && len(bin.Served) > 0 && bin.SetUp == nil {
			t.Errorf("%+v", bin)
		}
	}
}

// To think of a trip moves nothing.
func TestATripOnlyThoughtOfLeavesTheSurveyAsItWas(t *testing.T) {
	sheets, entries := big(t, 12, 1)
	e := New()
	e.Put(sheets, entries)
	before, _ := json.Marshal(e.SurveyWithForecasts(today))
	mustTrip(t, e, tripFrom(today, 1, 12), today)
	if _, err := e.TripReport(tripFrom(today, -9, 7), today); err != nil {
		t.Fatal(err)
	}
	if after, _ := json.Marshal(e.SurveyWithForecasts(today)); string(before) != string(after) {
		t.Error("the survey is another after a trip was asked for")
	}
}

func TestTheRoundAsksForTheSetUpTheDayBefore(t *testing.T) {
	sheets, entries := big(t, 12, 1)
	e := New()
	e.Put(sheets, entries)
	trip := tripFrom(today, 2, 20)
	setUps := func(at time.Time) (found []husbandry.Chore) {
		for _, chore := range e.Survey(at).Chores {
			if chore.Chore == husbandry.ChoreSetUp {
				found = append(found, chore)
			}
		}
		return found
	}
	if got := setUps(today); got != nil {
		t.Fatalf("%d bins to set up without a trip", len(got))
	}
	sheet, err := husbandry.NewSheet("trips", trip, husbandry.SeedStamp)
	if err != nil {
		t.Fatal(err)
	}
	e.Put([]husbandry.Sheet{sheet}, nil)
	eve := today.AddDate(0, 0, 1)
	asked := setUps(eve)
	if len(asked) == 0 {
		t.Fatal("no bin is to be set up for three weeks")
	}
	for _, chore := range asked {
		leaves, _, _ := trip.Span(today.Location())
		if !chore.Opens.Equal(leaves.AddDate(0, 0, -1)) || chore.Closes.After(leaves.Add(12*time.Hour)) || chore.Of != trip.ID || chore.Reason == "" {
			t.Errorf("%+v", chore)
		}
	}
	bin := asked[0].Bin
	e.Put(nil, []husbandry.Entry{
		{ID: "felt", Bin: bin, What: husbandry.Feel, Feel: "barely", At: eve.Add(time.Minute), By: "owner"},
		{ID: "watered", Bin: bin, What: husbandry.Water, WaterML: 60, At: eve.Add(2 * time.Minute), By: "owner"},
		{ID: "leaves", Bin: bin, What: husbandry.AddLeaves, Handfuls: 2, At: eve.Add(3 * time.Minute), By: "owner"},
	})
	for _, chore := range setUps(eve.Add(time.Hour)) {
		if chore.Bin == bin {
			t.Error("a bin that was got ready is still asked for")
		}
	}
	if left := setUps(today.AddDate(0, 0, 3)); left != nil {
		t.Errorf("%d bins to set up after leaving", len(left))
	}
}

func TestATripIsLookedBackOn(t *testing.T) {
	sheets, entries := big(t, 12, 1)
	e := New()
	trip := tripFrom(today, -10, 7)
	var kept []husbandry.Entry
	leaves, _, _ := trip.Span(today.Location())
	for _, entry := range entries {
		if entry.At.Before(leaves) {
			kept = append(kept, entry)
		}
	}
	bin := kept[0].Bin
	visit := leaves.AddDate(0, 0, 4).Add(15 * time.Hour)
	kept = append(kept,
		husbandry.Entry{ID: "v1", Bin: bin, What: husbandry.Feel, Feel: "dry", At: visit, By: "sitter"},
		husbandry.Entry{ID: "v2", Bin: bin, What: husbandry.Water, WaterML: 45, At: visit.Add(time.Minute), By: "sitter"})
	e.Put(sheets, kept)
	report, err := e.TripReport(trip, today)
	if err != nil {
		t.Fatal(err)
	}
	for _, told := range report.Bins {
		if told.Bin == bin {
			if told.Opened != 1 || told.WaterML != 45 || told.Found != "dry" || !told.FoundAt.Equal(visit) || told.Dry <= 0 || told.Dry >= 1 {
				t.Errorf("%+v", told)
			}
			want := (1 - told.Dry) * (1 - told.Dry)
			if report.Score.N != 1 || report.Score.Brier == nil || fmt.Sprintf("%.9f", *report.Score.Brier) != fmt.Sprintf("%.9f", want) {
				t.Errorf("score %+v, want a Brier of %v", report.Score, want)
			}
		} else if told.Opened != 0 || told.Found != "" {
			t.Errorf("%+v", told)
		}
	}
}

func TestATripThatCannotBeReadGetsASentence(t *testing.T) {
	trip := tripFrom(today, 1, 7)
	trip.Leaves, trip.Returns = trip.Returns, trip.Leaves
	if _, err := New().Trip(trip, today); err == nil {
		t.Error("a return before leaving is worked out")
	}
	if _, err := New().TripJSON([]byte(`{"leaves":`), today); err == nil {
		t.Error("half a trip is worked out")
	}
}

// A month away is worked out for 200 bins, as on every touch of the form; of a
// trip that is on, the plan from before the last visit too.
func BenchmarkTrip200Bins(b *testing.B) {
	sheets, entries := big(b, 200, 1)
	e := New()
	e.Put(sheets, entries)
	e.Survey(today)
	for _, ahead := range []int{1, 9, -5} {
		trip := tripFrom(today, ahead, 30)
		b.Run(fmt.Sprint("ahead=", ahead), func(b *testing.B) {
			for n := 0; b.Loop(); n++ {
				trip.Name = fmt.Sprint("Away ", n) // another trip each time: nothing is kept
				mustTrip(b, e, trip, today)
			}
			limited(b, 500*time.Millisecond)
		})
	}
}
