package alerts_test

import (
	"strings"
	"testing"
	"time"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

func TestTheDigestComesBeforeTheRound(t *testing.T) {
	start := time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC) // a Monday
	phone, bins := room(t, start, "Europe/Berlin", 4, map[string]any{"leftovers": "digest"})
	first := watch(phone, 24*time.Hour, 30*time.Minute)
	if sorts(first) != "digest" || clock(first[0], "Europe/Berlin") != "Mon 17:30" {
		t.Fatalf("on the first day came %q at %s, want the digest at 17:30", sorts(first), clock(first[0], "Europe/Berlin"))
	}
	note := first[0].Notification
	if note.Title != "4 bins want something on this round" || note.Navigate != "/#/" || first[0].Urgency != "normal" {
		t.Errorf("it says %+v, urgency %s", note, first[0].Urgency)
	}
	// Rounds on Tuesdays, Thursdays and Sundays at 20:15, for four weeks.
	walk := func(days int, step time.Duration) []arrival {
		var all []arrival
		for range days {
			local := phone.Clock.Now().In(zoneOf("Europe/Berlin"))
			switch local.Weekday() {
			case time.Tuesday, time.Thursday, time.Sunday:
				until := time.Date(local.Year(), local.Month(), local.Day(), 20, 15, 0, 0, local.Location()).Sub(local)
				all = append(all, watchFinely(phone, until, step, 19*time.Hour, 20*time.Hour, "Europe/Berlin")...)
				for _, bin := range bins {
					phone.MustStore(nil, phone.Log(bin.ID, husbandry.Look, nil))
				}
				all = append(all, watch(phone, 24*time.Hour-until, 24*time.Hour-until)...)
			default:
				all = append(all, watchFinely(phone, 24*time.Hour, step, 19*time.Hour, 20*time.Hour, "Europe/Berlin")...)
			}
		}
		return all
	}
	walk(28, 24*time.Hour)
	var came []string
	for _, one := range walk(7, 15*time.Minute) {
		if one.Notification.Data.Sort == "digest" {
			came = append(came, clock(one, "Europe/Berlin"))
		}
	}
	for _, at := range came {
		if at != "Tue 19:45" && at != "Thu 19:45" && at != "Sun 19:45" {
			t.Errorf("a digest came at %s, want half an hour before a round", at)
		}
	}
	if len(came) == 0 {
		t.Error("no digest came in the last week")
	}
	// Adjusted: Mondays at 7:10 only.
	phone.MustSetAlerts(map[string]any{"digest_at": "07:10", "digest_days": "mon", "quiet_to": "06:00"})
	came = nil
	for _, one := range watchFinely(phone, 14*24*time.Hour, 10*time.Minute, 7*time.Hour, 8*time.Hour, "Europe/Berlin") {
		if one.Notification.Data.Sort == "digest" {
			came = append(came, clock(one, "Europe/Berlin"))
		}
	}
	if strings.Join(came, ", ") != "Mon 07:10, Mon 07:10" {
		t.Errorf("digests came at %v, want Mondays at 07:10", came)
	}
}

func TestNothingToDoMakesNoDigest(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 1, nil)
	phone.MustStore([]husbandry.Sheet{phone.Edit(bins[0], "deleted", true)})
	if all := watch(phone, 72*time.Hour, time.Hour); len(all) != 0 {
		t.Errorf("%q came from an empty room", sorts(all))
	}
}
