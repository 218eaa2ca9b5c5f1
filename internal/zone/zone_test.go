package zone

import (
	"testing"
	"time"
	_ "time/tzdata" // the same zones everywhere
)

// changesOf are the changes of one of Go's zones as a phone would find them.
func changesOf(zone *time.Location, from, to time.Time) []Change {
	var changes []Change
	for at := from; at.Before(to); {
		_, offset := at.In(zone).Zone()
		changes = append(changes, Change{At: at.Unix(), Offset: offset, Daylight: at.In(zone).IsDST()})
		_, ends := at.In(zone).ZoneBounds()
		if ends.IsZero() {
			break
		}
		at = ends
	}
	return changes
}

// Every quarter of an hour of four years is as in Go's own zones.
func TestAZoneIsAsItsChangesSay(t *testing.T) {
	from, to := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2029, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "Africa/Casablanca", "Pacific/Kiritimati"} {
		want, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		got, err := New(name, changesOf(want, from, to))
		if err != nil {
			t.Fatal(err)
		}
		for at := from; at.Before(to); at = at.Add(15 * time.Minute) {
			if is, should := at.In(got), at.In(want); is.Format(time.DateTime) != should.Format(time.DateTime) || is.IsDST() != should.IsDST() {
				t.Fatalf("%s: %s, want %s", name, is, should)
			}
		}
		year, month, day := 2027, time.March, 28
		if is, should := time.Date(year, month, day, 9, 0, 0, 0, got), time.Date(year, month, day, 9, 0, 0, 0, want); !is.Equal(should) {
			t.Errorf("%s: nine o'clock is %s, want %s", name, is, should)
		}
	}
}

func TestWhatIsNoZoneIsRefused(t *testing.T) {
	for _, changes := range [][]Change{nil, make([]Change, most+1), {{At: 5}, {At: 5}}, {{Offset: 27 * 3600}}} {
		if _, err := New("Nowhere/None", changes); err == nil {
			t.Errorf("%d changes make a zone", len(changes))
		}
	}
	many := make([]Change, most)
	for i := range many {
		many[i] = Change{At: int64(i) * 1000, Offset: i * 60}
	}
	if _, err := New("Nowhere/Many", many); err != nil {
		t.Error(err)
	}
}
