package alerts

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
)

// The changes of clocks are those of the tz database: Berlin 2026-03-29 and
// 2026-10-25 at 01:00 UTC, New York 2026-03-08 07:00 UTC and 2026-11-01 06:00
// UTC, Lord Howe (half an hour) 2026-10-03 15:30 UTC and 2026-04-04 15:00
// UTC, Santiago 2026-09-06 04:00 UTC (over midnight), Kathmandu none.
func TestQuietHoursEndWhereTheyShould(t *testing.T) {
	night := "22:00-08:00"
	cases := []struct{ name, zone, quiet, due, want string }{
		{"by day it rings at once", "Europe/Berlin", night, "2026-05-28T12:00:00+02:00", "2026-05-28T12:00:00+02:00"},
		{"at the last minute it rings", "Europe/Berlin", night, "2026-05-28T21:59:59+02:00", "2026-05-28T21:59:59+02:00"},
		{"from ten on it waits for tomorrow", "Europe/Berlin", night, "2026-05-28T22:00:00+02:00", "2026-05-29T08:00:00+02:00"},
		{"after midnight it waits for today", "Europe/Berlin", night, "2026-05-29T00:00:00+02:00", "2026-05-29T08:00:00+02:00"},
		{"at the end it rings", "Europe/Berlin", night, "2026-05-29T08:00:00+02:00", "2026-05-29T08:00:00+02:00"},
		{"the short night", "Europe/Berlin", night, "2026-03-28T23:00:00+01:00", "2026-03-29T08:00:00+02:00"},
		{"the long night", "Europe/Berlin", night, "2026-10-24T23:00:00+02:00", "2026-10-25T08:00:00+01:00"},
		{"an end that is left out", "Europe/Berlin", "22:00-02:30", "2026-03-29T01:00:00+01:00", "2026-03-29T03:00:00+02:00"},
		{"an end that comes twice is the first", "Europe/Berlin", "22:00-02:30", "2026-10-25T01:00:00+02:00", "2026-10-25T02:30:00+02:00"},
		{"after the first end it rings", "Europe/Berlin", "22:00-02:30", "2026-10-25T02:10:00+01:00", "2026-10-25T02:10:00+01:00"},
		{"before a leap day", "Europe/Berlin", night, "2028-02-28T23:00:00+01:00", "2028-02-29T08:00:00+01:00"},
		{"after a leap day", "Europe/Berlin", night, "2028-02-29T23:00:00+01:00", "2028-03-01T08:00:00+01:00"},
		{"the turn of the year", "Europe/Berlin", night, "2026-12-31T23:30:00+01:00", "2027-01-01T08:00:00+01:00"},
		{"the short night", "America/New_York", night, "2026-03-07T22:30:00-05:00", "2026-03-08T08:00:00-04:00"},
		{"the long night", "America/New_York", night, "2026-10-31T23:00:00-04:00", "2026-11-01T08:00:00-05:00"},
		{"an end that is left out", "America/New_York", "21:00-02:30", "2026-03-08T00:00:00-05:00", "2026-03-08T03:00:00-04:00"},
		{"an end that comes twice is the first", "America/New_York", "21:00-01:30", "2026-10-31T23:00:00-04:00", "2026-11-01T01:30:00-04:00"},
		{"half an hour shorter", "Australia/Lord_Howe", night, "2026-10-03T23:00:00+10:30", "2026-10-04T08:00:00+11:00"},
		{"half an hour longer", "Australia/Lord_Howe", night, "2026-04-04T23:00:00+11:00", "2026-04-05T08:00:00+10:30"},
		{"an end that is left out", "Australia/Lord_Howe", "22:00-02:15", "2026-10-04T01:00:00+10:30", "2026-10-04T02:30:00+11:00"},
		{"an end that comes twice is the first", "Australia/Lord_Howe", "22:00-01:45", "2026-04-05T00:00:00+11:00", "2026-04-05T01:45:00+11:00"},
		{"by day", "Asia/Kathmandu", night, "2026-05-28T12:00:00+05:45", "2026-05-28T12:00:00+05:45"},
		{"at night", "Asia/Kathmandu", night, "2026-05-28T23:00:00+05:45", "2026-05-29T08:00:00+05:45"},
		{"a midnight that is left out", "America/Santiago", "20:00-00:00", "2026-09-05T22:00:00-04:00", "2026-09-06T01:00:00-03:00"},
		{"quiet by day", "Europe/Berlin", "09:00-17:00", "2026-05-28T12:00:00+02:00", "2026-05-28T17:00:00+02:00"},
		{"never quiet", "Europe/Berlin", "08:00-08:00", "2026-05-28T23:00:00+02:00", "2026-05-28T23:00:00+02:00"},
	}
	for _, c := range cases {
		t.Run(c.zone+" "+c.name, func(t *testing.T) {
			quiet := quietOf(husbandry.AlertSettings{QuietFrom: c.quiet[:5], QuietTo: c.quiet[6:]})
			got, want := quiet.After(mustTime(t, c.due), mustZone(t, c.zone)), mustTime(t, c.want)
			if !got.Equal(want) {
				t.Errorf("%s rings at %s, want %s", c.due, got.In(want.Location()).Format(time.RFC3339), c.want)
			}
		})
	}
}

// Whatever the zone and the hours: it never rings early, what may ring rings
// then, and the wall clock shows no quiet time except in an hour that comes
// twice.
func TestQuietHoursAreKeptEverywhere(t *testing.T) {
	zones := []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "America/Santiago", "Africa/Cairo", "Pacific/Apia", "UTC"}
	rapid.Check(t, func(r *rapid.T) {
		zone := mustZone(t, rapid.SampledFrom(zones).Draw(r, "zone"))
		quiet := Quiet{rapid.IntRange(0, 1439).Draw(r, "from"), rapid.IntRange(0, 1439).Draw(r, "to")}
		due := time.Unix(rapid.Int64Range(1_700_000_000, 1_900_000_000).Draw(r, "due"), 0)
		at := quiet.After(due, zone)
		if at.Before(due) || at.Sub(due) > 26*time.Hour {
			r.Fatalf("%s became %s", due.In(zone), at.In(zone))
		}
		if again := quiet.After(at, zone); !again.Equal(at) {
			r.Fatalf("%s became %s and then %s", due.In(zone), at.In(zone), again.In(zone))
		}
		before := quiet.Before(due, zone)
		if before.After(due) || due.Sub(before) > 26*time.Hour {
			r.Fatalf("before %s is %s", due.In(zone), before.In(zone))
		}
	})
}

func mustTime(tb testing.TB, text string) time.Time {
	tb.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		tb.Fatal(err)
	}
	return at
}

func mustZone(tb testing.TB, name string) *time.Location {
	tb.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		tb.Fatal(err)
	}
	return zone
}
