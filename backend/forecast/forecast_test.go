package forecast_test

import (
	"fmt"
	"log/slog"
	"math/rand/v2"
	"testing"
	"time"

	"underlog/backend/forecast"
	"underlog/backend/trial"
	"underlog/internal/engine"
	"underlog/internal/husbandry"
)

// Chores that were kept up to date exchange by exchange are those that are
// computed anew from everything that is stored.
func TestStepByStepIsAllAtOnce(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 9))
	phone := trial.MustStart(t, trial.Noon).MustSetUp("UTC")
	var bins []husbandry.Sheet
	for i := range 5 {
		bins = append(bins, phone.Bin(fmt.Sprint("Bin ", i)))
	}
	phone.MustStore(bins)
	var feedings, all []husbandry.Entry
	for range 60 {
		bin := bins[random.IntN(len(bins))].ID
		var entry husbandry.Entry
		switch random.IntN(6) {
		case 0:
			entry = phone.Feed(bin)
			feedings = append(feedings, entry)
		case 1:
			entry = phone.Log(bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = husbandry.FeelWords[random.IntN(4)] })
		case 2:
			entry = phone.Log(bin, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = 10 + 50*random.Float64() })
		case 3:
			entry = phone.Log(bin, husbandry.Leaves, func(e *husbandry.Entry) { e.Leaves = husbandry.LeavesWords[random.IntN(3)] })
		case 4:
			if len(feedings) == 0 {
				continue
			}
			entry = phone.AllGone(feedings[random.IntN(len(feedings))])
		case 5:
			if len(all) == 0 {
				continue
			}
			struck := all[random.IntN(len(all))]
			entry = phone.Log(struck.Bin, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = struck.ID })
		}
		if entry.What != husbandry.Strike {
			all = append(all, entry)
		}
		entry.At = entry.At.Add(-time.Duration(random.IntN(72)) * time.Hour) // late entries too
		phone.MustStore(nil, entry)
		phone.MustAdvance(time.Duration(random.IntN(20)) * time.Hour)
		if random.IntN(15) == 0 {
			phone.MustRestart()
		}
		phone.MustAdvance(61 * time.Minute) // so that the odds are of now
		mustAgree(t, phone)
	}
}

func mustAgree(t *testing.T, phone *trial.Phone) {
	t.Helper()
	kept, err := phone.Store.Chores()
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := phone.Store.Sheets()
	if err != nil {
		t.Fatal(err)
	}
	entries, err := phone.Store.Entries(time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	zone, err := phone.Store.Zone()
	if err != nil {
		t.Fatal(err)
	}
	anew := engine.New()
	anew.Put(sheets, entries)
	want := map[string]string{}
	for _, chore := range anew.Survey(phone.Clock.Now().In(zone)).Chores {
		want[chore.Chore+chore.Bin+chore.Of] = words(chore)
	}
	if len(kept) != len(want) {
		t.Fatalf("%d chores are kept, %d computed anew", len(kept), len(want))
	}
	for _, chore := range kept {
		if got := words(chore); got != want[chore.Chore+chore.Bin+chore.Of] {
			t.Fatalf("kept:          %s\ncomputed anew: %s", got, want[chore.Chore+chore.Bin+chore.Of])
		}
	}
}

func words(c husbandry.Chore) string {
	return fmt.Sprint(c.Chore, c.Of, c.Food, c.Opens.UTC(), c.Due.UTC(), c.Closes.UTC(), c.DoseML, c.Handfuls, c.Odds, c.Reason)
}

// What the exchange brought is in the chores without anybody asking.
func TestChoresFollowByThemselves(t *testing.T) {
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	bin := phone.Bin("Pied pillbugs")
	phone.MustStore([]husbandry.Sheet{bin}, phone.Feed(bin.ID))
	for deadline := time.Now().Add(5 * time.Second); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		chores, err := phone.Store.Chores()
		if err != nil {
			t.Fatal(err)
		}
		for _, chore := range chores {
			if chore.Chore == husbandry.ChoreLeftovers {
				return
			}
		}
	}
	t.Error("no chore came of a feeding")
}

func TestTheChoresAreRebuiltFromNothing(t *testing.T) {
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	bin := phone.Bin("Pied pillbugs")
	phone.MustStore([]husbandry.Sheet{bin}, phone.Feed(bin.ID))
	phone.MustAdvance(61 * time.Minute) // so that the odds are of now
	before, err := phone.Store.Chores()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := phone.Store.WriteChores(nil); err != nil {
		t.Fatal(err)
	}
	anew, err := forecast.Start(phone.Store, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	defer anew.Close()
	if err := anew.Refresh(); err != nil {
		t.Fatal(err)
	}
	after, err := phone.Store.Chores()
	if err != nil || len(after) == 0 || fmt.Sprint(after) != fmt.Sprint(before) {
		t.Errorf("before: %v\nafter: %v (%v)", before, after, err)
	}
}

// A clock that was set back does not have the chores wait until it is where it
// was.
func TestAClockThatIsSetBackIsFollowed(t *testing.T) {
	phone := trial.MustStart(t, trial.Noon).MustSetUp("UTC")
	var at time.Time
	f, err := forecast.Start(phone.Store, slog.New(slog.DiscardHandler), func(survey engine.Survey, _ func(string) []husbandry.Entry) { at = survey.At })
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, by := range []time.Duration{0, 2 * time.Hour, -9 * time.Hour} {
		phone.Clock.Advance(by)
		if err := f.Refresh(); err != nil {
			t.Fatal(err)
		}
		if !at.Equal(phone.Clock.Now()) {
			t.Errorf("put forward by %s it is %s, and the chores are of %s", by, phone.Clock.Now(), at)
		}
	}
}
