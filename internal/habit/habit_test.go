package habit_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/habit"
)

// evenings are rounds of five entries on some days of the week at an hour of
// Berlin's wall clock, for weeks before now.
func evenings(now time.Time, weeks int, clock string, days ...time.Weekday) []time.Time {
	zone := now.Location()
	start, _ := time.Parse("15:04", clock)
	var entries []time.Time
	for back := 1; back <= weeks*7; back++ {
		year, month, day := now.AddDate(0, 0, -back).Date()
		at := time.Date(year, month, day, start.Hour(), start.Minute(), 0, 0, zone)
		for _, wanted := range days {
			if at.Weekday() == wanted {
				for i := range 5 {
					entries = append(entries, at.Add(time.Duration(i)*4*time.Minute))
				}
			}
		}
	}
	return entries
}

func TestLearn(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	// Six weeks back from here the clocks were put forward.
	now := time.Date(2026, 4, 20, 12, 0, 0, 0, zone)
	three := []time.Weekday{time.Tuesday, time.Thursday, time.Sunday}
	every := habit.Usual().Days
	some := [7]bool{time.Tuesday: true, time.Thursday: true, time.Sunday: true}
	lone := []time.Time{now.Add(-26 * time.Hour), now.Add(-50 * time.Hour), now.Add(-80 * time.Hour)}
	cases := map[string]struct {
		entries []time.Time
		days    [7]bool
		minute  int
		known   bool
	}{
		"nothing logged":                       {nil, every, 18 * 60, false},
		"two rounds are no habit":              {evenings(now, 1, "19:00", time.Tuesday, time.Sunday), every, 18 * 60, false},
		"single entries are no rounds":         {lone, every, 18 * 60, false},
		"three evenings a week":                {evenings(now, 6, "19:32", three...), some, 19*60 + 30, true},
		"over a change of the clocks":          {evenings(now, 8, "07:15", three...), some, 7*60 + 15, true},
		"a stray round now and then":           {append(evenings(now, 6, "19:30", three...), evenings(now, 1, "11:00", time.Monday)...), some, 19*60 + 30, true},
		"what was long ago":                    {evenings(now.AddDate(0, 0, -90), 6, "19:30", three...), every, 18 * 60, false},
		"what is dated in the future":          {evenings(now.AddDate(1, 0, 0), 6, "19:30", three...), every, 18 * 60, false},
		"around midnight":                      {append(evenings(now, 6, "23:50", time.Tuesday, time.Sunday), evenings(now, 6, "00:10", time.Friday)...), [7]bool{0: true, 2: true, 5: true}, 23*60 + 50, true},
		"fortnightly is on no day":             {fortnightly(now), every, 20 * 60, true},
		"a habit that is one week old is told": {evenings(now, 1, "19:30", three...), some, 19*60 + 30, true},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			got := habit.Learn(c.entries, zone, now)
			if want := (habit.Habit{Days: c.days, Minute: c.minute, Known: c.known}); got != want {
				t.Errorf("learned %+v, want %+v", got, want)
			}
		})
	}
}

// fortnightly are four rounds on four different weekdays of eight weeks.
func fortnightly(now time.Time) []time.Time {
	var entries []time.Time
	for i, back := range []int{55, 40, 25, 10} {
		year, month, day := now.AddDate(0, 0, -back).Date()
		at := time.Date(year, month, day, 20, i, 0, 0, now.Location())
		entries = append(entries, at, at.Add(time.Minute), at.Add(2*time.Minute))
	}
	return entries
}

// Whatever was logged: a minute of the day, a day at least, and the order of
// arrival does not matter.
func TestLearnIsSound(t *testing.T) {
	now := time.Date(2026, 4, 20, 12, 0, 0, 0, time.UTC)
	rapid.Check(t, func(r *rapid.T) {
		backs := rapid.SliceOfN(rapid.IntRange(-1000, 60*24*60), 0, 60).Draw(r, "minutes back")
		entries := make([]time.Time, len(backs))
		reversed := make([]time.Time, len(backs))
		for i, back := range backs {
			entries[i] = now.Add(-time.Duration(back) * time.Minute)
			reversed[len(backs)-1-i] = entries[i]
		}
		got := habit.Learn(entries, time.UTC, now)
		if got.Minute < 0 || got.Minute >= 24*60 || got.Minute%5 != 0 || got.Days == [7]bool{} {
			r.Fatalf("learned %+v", got)
		}
		if again := habit.Learn(reversed, time.UTC, now); again != got {
			r.Fatalf("learned %+v and the other way round %+v", got, again)
		}
	})
}
