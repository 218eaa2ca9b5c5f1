package ical

import (
	"testing"
	"time"
)

var noon = time.Date(2026, 5, 28, 12, 0, 0, 0, time.UTC)

func inDays(days int, uid, says string) Event {
	start := noon.AddDate(0, 0, days)
	return Event{UID: uid, Start: start, End: start.Add(time.Hour), Summary: says}
}

// What a calendar that follows the events sees of them, step by step.
func TestChangesAreToldAsChanges(t *testing.T) {
	published := Update(nil, []Event{inDays(2, "b", "two"), inDays(1, "a", "one")}, noon)
	check := func(step string, want ...Event) {
		t.Helper()
		if len(published) != len(want) {
			t.Fatalf("%s: %d events, want %d: %+v", step, len(published), len(want), published)
		}
		for i, got := range published {
			if got.UID != want[i].UID || got.Sequence != want[i].Sequence || got.Cancelled != want[i].Cancelled || got.Summary != want[i].Summary || !got.Modified.Equal(want[i].Modified) {
				t.Errorf("%s: %+v, want %+v", step, got, want[i])
			}
		}
	}
	at := func(hours int) time.Time { return noon.Add(time.Duration(hours) * time.Hour) }
	is := func(uid, says string, sequence, hours int, cancelled bool) Event {
		return Event{UID: uid, Summary: says, Sequence: sequence, Modified: at(hours), Cancelled: cancelled}
	}
	check("first", is("a", "one", 0, 0, false), is("b", "two", 0, 0, false))

	again := Update(published, []Event{inDays(1, "a", "one"), inDays(2, "b", "two")}, at(1))
	if !Equal(again, published) {
		t.Errorf("nothing changed, and yet: %+v", again)
	}
	published = Update(published, []Event{inDays(1, "a", "one"), inDays(2, "b", "two more"), inDays(3, "c", "three")}, at(2))
	check("one changed, one came", is("a", "one", 0, 0, false), is("b", "two more", 1, 2, false), is("c", "three", 0, 2, false))

	published = Update(published, []Event{inDays(1, "a", "one")}, at(3))
	check("two gone", is("a", "one", 0, 0, false), is("b", "two more", 2, 3, true), is("c", "three", 1, 3, true))
	if again := Update(published, []Event{inDays(1, "a", "one")}, at(4)); !Equal(again, published) {
		t.Errorf("what is gone is gone once: %+v", again)
	}

	published = Update(published, []Event{inDays(2, "b", "two more")}, at(30))
	check("back, and what has begun stays", is("a", "one", 0, 0, false), is("b", "two more", 3, 30, false), is("c", "three", 1, 3, true))

	published = Update(published, []Event{inDays(2, "b", "two again")}, at(29)) // a clock that was set back
	if b := published[1]; b.Sequence != 4 || !b.Modified.After(at(30)) {
		t.Errorf("after a clock was set back: %+v", b)
	}
	if late := Update(published, nil, noon.AddDate(0, 0, 40)); len(late) != 0 {
		t.Errorf("what is long over is still kept: %+v", late)
	}
}
