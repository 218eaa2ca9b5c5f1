package alerts_test

import (
	"testing"
	"time"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// Alerts on days on which the clocks change, in the zones of the quiet hours'
// test: a feeding, the instants at which its alert may come by the wall clock,
// and what happened to the machine meanwhile. Quiet hours are the usual ones.
func TestAlertsComeAtACivilHourEverywhere(t *testing.T) {
	cases := []struct {
		name, zone, fed string
		dark            time.Duration // from the feeding on the machine is off or asleep
		want            string        // by the wall clock; empty: never
	}{
		{"the short day, at noon", "Europe/Berlin", "2026-03-28T12:00:00+01:00", 0, "2026-03-29T13:00:00+02:00"},
		{"the long day, at noon", "Europe/Berlin", "2026-10-24T12:00:00+02:00", 0, "2026-10-25T11:00:00+01:00"},
		{"into the short night", "Europe/Berlin", "2026-03-28T03:00:00+01:00", 0, "2026-03-29T08:00:00+02:00"},
		{"into the hour that comes twice", "Europe/Berlin", "2026-10-24T02:30:00+02:00", 0, "2026-10-25T08:00:00+01:00"},
		{"at midnight", "Europe/Berlin", "2026-05-28T00:00:00+02:00", 0, "2026-05-29T08:00:00+02:00"},
		{"onto a leap day", "Europe/Berlin", "2028-02-28T10:00:00+01:00", 0, "2028-02-29T10:00:00+01:00"},
		{"the short day, at noon", "America/New_York", "2026-03-07T12:00:00-05:00", 0, "2026-03-08T13:00:00-04:00"},
		{"the long day, in the evening", "America/New_York", "2026-10-31T22:30:00-04:00", 0, "2026-11-01T21:30:00-05:00"},
		{"half an hour shorter", "Australia/Lord_Howe", "2026-10-03T09:00:00+10:30", 0, "2026-10-04T09:30:00+11:00"},
		{"half an hour longer, to just before eight", "Australia/Lord_Howe", "2026-04-04T08:15:00+11:00", 0, "2026-04-05T08:00:00+10:30"},
		{"never a change", "Asia/Kathmandu", "2026-03-29T10:15:00+05:45", 0, "2026-03-30T10:15:00+05:45"},
		{"at night", "Asia/Kathmandu", "2026-05-28T23:15:00+05:45", 0, "2026-05-30T08:00:00+05:45"},
		{"a laptop that slept over it", "Europe/Berlin", "2026-05-28T12:00:00+02:00", 28 * time.Hour, "2026-05-29T16:00:00+02:00"},
		{"a laptop that slept over it and into the night", "Europe/Berlin", "2026-05-28T12:00:00+02:00", 35 * time.Hour, "2026-05-30T08:00:00+02:00"},
		{"a laptop that slept through the short night", "Europe/Berlin", "2026-03-28T06:00:00+01:00", 25 * time.Hour, "2026-03-29T08:00:00+02:00"},
		{"a machine that was off until all was over", "Europe/Berlin", "2026-05-28T12:00:00+02:00", 9 * 24 * time.Hour, ""},
	}
	for _, c := range cases {
		t.Run(c.zone+" "+c.name, func(t *testing.T) {
			t.Parallel()
			at, err := time.Parse(time.RFC3339, c.fed)
			if err != nil {
				t.Fatal(err)
			}
			phone, _ := fed(t, at, c.zone)
			phone.Clock.Advance(c.dark)
			phone.MustAdvance(0)
			var came []time.Time
			if len(phone.Push.Messages()) > 0 {
				came = append(came, phone.Clock.Now())
			}
			for _, one := range watch(phone, 50*time.Hour, 15*time.Minute) {
				came = append(came, one.at)
			}
			if c.want == "" {
				if len(came) != 0 {
					t.Errorf("it came at %v, want never", came)
				}
				return
			}
			want, err := time.Parse(time.RFC3339, c.want)
			if err != nil {
				t.Fatal(err)
			}
			if len(came) != 1 || !came[0].Equal(want) {
				t.Errorf("it came at %v, want once at %s", came, want.In(zoneOf(c.zone)))
			}
		})
	}
}

// The digest follows the wall clock over both changes, once a day.
func TestTheDigestFollowsTheWallClock(t *testing.T) {
	for zone, days := range map[string][]string{
		"Europe/Berlin":       {"2026-03-27T00:00:00Z", "2026-10-23T00:00:00Z"},
		"America/New_York":    {"2026-03-06T06:00:00Z", "2026-10-30T06:00:00Z"},
		"Australia/Lord_Howe": {"2026-10-02T00:00:00Z", "2026-04-03T00:00:00Z"},
		"Asia/Kathmandu":      {"2028-02-27T00:00:00Z"},
	} {
		for _, day := range days {
			t.Run(zone+" "+day, func(t *testing.T) {
				t.Parallel()
				start, err := time.Parse(time.RFC3339, day)
				if err != nil {
					t.Fatal(err)
				}
				// In the gap of Berlin and of Lord Howe's hours, so that the change itself is hit.
				phone, bins := room(t, start, zone, 1, map[string]any{"digest_at": "02:15", "quiet_from": "12:00", "quiet_to": "12:00", "dampness": "digest"})
				// Something to tell of every day: nobody waters what was found dry.
				phone.MustStore(nil, phone.Log(bins[0].ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "dry" }))
				seen := map[string]int{}
				for _, one := range watch(phone, 96*time.Hour, 15*time.Minute) {
					local := one.at.In(zoneOf(zone))
					seen[local.Format(time.DateOnly)]++
					if at := local.Format("15:04"); at != "02:15" && at != "03:00" && at != "02:30" {
						t.Errorf("a digest came at %s", local)
					}
				}
				if len(seen) < 4 {
					t.Errorf("digests came on %v, want one on each of four days", seen)
				}
				for date, times := range seen {
					if times != 1 {
						t.Errorf("%d digests came on %s", times, date)
					}
				}
			})
		}
	}
}

// A clock that is set back tells nothing twice, and goes on.
func TestAClockThatIsSetBack(t *testing.T) {
	for _, back := range []time.Duration{time.Hour, 9 * time.Hour, 50 * time.Hour} {
		t.Run(back.String(), func(t *testing.T) {
			t.Parallel()
			phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
			watch(phone, 25*time.Hour, 30*time.Minute)
			phone.Clock.Advance(-back)
			again := watch(phone, back+26*time.Hour, 30*time.Minute)
			if len(phone.Push.Messages()) != 1 || len(again) != 0 {
				t.Fatalf("%d messages came in all, want one (problems: %v)", len(phone.Push.Messages()), phone.Push.Problems())
			}
			next := phone.Feed(feeding.Bin)
			phone.MustStore(nil, phone.AllGone(feeding), next)
			if all := watch(phone, 48*time.Hour, 30*time.Minute); len(all) != 1 {
				t.Errorf("afterwards %d came of the next feeding, want one: %v", len(all), all)
			}
		})
	}
}

// Quiet hours hold at the moment of sending, whatever the plan was: here they
// are changed while an alert waits for a service that is away.
func TestQuietHoursHoldWhenItIsSent(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	watch(phone, 23*time.Hour, time.Hour)
	phone.MustSetAlerts(map[string]any{"quiet_from": "11:00", "quiet_to": "20:00"})
	all := watch(phone, 12*time.Hour, 10*time.Minute)
	if len(all) != 1 || clock(all[0], "Europe/Berlin") != "Fri 20:00" {
		t.Errorf("came %v, want one at 20:00", all)
	}
}
