package engine

import (
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/example"
	"underlog/internal/husbandry"
)

var today = time.Date(2026, 6, 1, 17, 0, 0, 0, time.FixedZone("summer", 2*3600))

func mustExample(tb testing.TB) ([]husbandry.Sheet, []husbandry.Entry) {
	tb.Helper()
	b := example.Book(today, "us")
	return append(husbandry.Seeds(), b.Sheets...), b.Entries
}

func mustJSON(tb interface {
	Helper()
	Fatal(...any)
}, v any) string {
	tb.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		tb.Fatal(err)
	}
	return string(raw)
}

// Whatever order records arrive in, and however often, the survey is the same.
func TestSurveyIsAFunctionOfTheRecords(t *testing.T) {
	sheets, entries := mustExample(t)
	whole := New()
	whole.Put(sheets, entries)
	want := mustJSON(t, whole.Survey(today))
	rapid.Check(t, func(rt *rapid.T) {
		shuffled := rapid.Permutation(entries).Draw(rt, "arrival")
		e := New()
		e.Put(nil, shuffled[:len(shuffled)/2])
		e.Survey(today.Add(-time.Hour)) // a question in between leaves no trace
		e.Put(sheets, shuffled[len(shuffled)/3:])
		if got := mustJSON(t, e.Survey(today)); got != want {
			rt.Fatal("the survey depends on the order of arrival")
		}
	})
}

func TestExampleHasSomethingDueToday(t *testing.T) {
	sheets, entries := mustExample(t)
	e := New()
	e.Put(sheets, entries)
	survey := e.Survey(today)
	if len(survey.Glances) != 24 {
		t.Fatalf("%d glances", len(survey.Glances))
	}
	due := map[string]int{}
	for _, c := range survey.Chores {
		if c.Due.Before(today.Add(12 * time.Hour)) {
			due[c.Chore]++
		}
		if c.Opens.After(c.Due) || c.Due.After(c.Closes) || c.Odds < 0 || c.Odds > 1 || c.Reason == "" {
			t.Errorf("not a window: %+v", c)
		}
		if c.Due.Second() != 0 {
			t.Errorf("%s is not due on a minute", c.Chore)
		}
	}
	if due[husbandry.ChoreLeftovers] == 0 || due[husbandry.ChoreFeel] == 0 {
		t.Errorf("due today: %v", due)
	}
}

func TestAReadingAndAStrikeMoveTheWindow(t *testing.T) {
	sheets, entries := mustExample(t)
	e := New()
	e.Put(sheets, entries)
	bin := e.Survey(today).Glances[0].Bin
	feel := func() husbandry.Chore {
		for _, c := range e.Survey(today).Chores {
			if c.Bin == bin && c.Chore == husbandry.ChoreFeel {
				return c
			}
		}
		t.Fatal("no chore to feel the damp side")
		return husbandry.Chore{}
	}
	before := feel()
	soaked := husbandry.Entry{ID: "soaked", Bin: bin, At: today.Add(-time.Minute), What: husbandry.Feel, Feel: "soaked"}
	e.Put(nil, []husbandry.Entry{soaked})
	if wet := feel(); !wet.Due.After(before.Due) {
		t.Errorf("soaked, yet due %v, not after %v", wet.Due, before.Due)
	}
	e.Put(nil, []husbandry.Entry{{ID: "strike", Bin: bin, At: today.Add(-time.Second), What: husbandry.Strike, Struck: "soaked"}})
	if struck := feel(); struck.Due != before.Due {
		t.Errorf("after the strike due %v, want %v", struck.Due, before.Due)
	}
}

func TestALeftoverLookIsDueTheDayAfterAndSettledByOne(t *testing.T) {
	e := New()
	tub := husbandry.CommonTub()
	tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position, tub.Kind = "b1", "Slate", "Alcove", 1, 1, "armadillidium-vulgare"
	sheet, _ := husbandry.NewSheet("bins", tub, husbandry.SeedStamp)
	e.Put(append(husbandry.Seeds(), sheet), []husbandry.Entry{
		{ID: "f1", Bin: "b1", At: today, What: husbandry.Feed, Food: "carrot", Pieces: 1},
	})
	leftovers := func(at time.Time) *husbandry.Chore {
		for _, c := range e.Survey(at).Chores {
			if c.Chore == husbandry.ChoreLeftovers {
				return &c
			}
			if c.Chore == husbandry.ChoreFeed {
				t.Error("a feeding is suggested on top of leftovers")
			}
		}
		return nil
	}
	c := leftovers(today.Add(20 * time.Hour))
	if c == nil || c.Of != "f1" || !c.Due.Equal(today.Add(24*time.Hour)) {
		t.Fatalf("got %+v", c)
	}
	e.Put(nil, []husbandry.Entry{{ID: "l1", Bin: "b1", At: today.Add(25 * time.Hour), What: husbandry.Leftovers, Of: "f1", Left: "some left", Mould: "none"}})
	if next := leftovers(today.Add(26 * time.Hour)); next == nil || !next.Due.After(today.Add(30*time.Hour)) {
		t.Errorf("firm clean food should get a next look: %+v", next)
	}
	e.Put(nil, []husbandry.Entry{{ID: "l2", Bin: "b1", At: today.Add(40 * time.Hour), What: husbandry.Leftovers, Of: "f1", Left: "all gone"}})
	for _, c := range e.Survey(today.Add(41 * time.Hour)).Chores {
		if c.Chore == husbandry.ChoreLeftovers {
			t.Errorf("settled, yet %+v", c)
		}
	}
}

func TestAnEmptyRoomAndANewBin(t *testing.T) {
	e := New()
	if s := e.Survey(today); len(s.Chores) != 0 || s.Chores == nil || s.Glances == nil {
		t.Errorf("an empty room: %+v", s)
	}
	tub := husbandry.CommonTub()
	tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position, tub.Kind = "b1", "New", "Alcove", 1, 1, "no-such-kind"
	sheet, _ := husbandry.NewSheet("bins", tub, husbandry.SeedStamp)
	e.Put([]husbandry.Sheet{sheet}, nil)
	if s := e.Survey(today); len(s.Chores) == 0 || len(s.Glances) != 1 {
		t.Errorf("a new bin: %+v", s)
	}
	if o := e.Outlook("b1", today); len(o.Fan) == 0 || o.Marks == nil {
		t.Errorf("no fan: %+v", o)
	}
	if o := e.Outlook("b9", today); o.Glance.Bin != "" {
		t.Errorf("a bin that is not there: %+v", o)
	}
}
