package alerts_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"underlog/backend/trial"
)

func TestWhatIsTurnedOffDoesNotCome(t *testing.T) {
	for level, want := range map[string]string{"alone": "leftovers", "digest": "", "off": ""} {
		t.Run(level, func(t *testing.T) {
			phone, bins := room(t, trial.Noon, "Europe/Berlin", 1, map[string]any{"digest": "off", "leftovers": level})
			phone.MustStore(nil, phone.Feed(bins[0].ID))
			if all := watch(phone, 30*time.Hour, 30*time.Minute); sorts(all) != want {
				t.Errorf("came %q, want %q", sorts(all), want)
			}
		})
	}
}

func TestSnooze(t *testing.T) {
	wait := func(p *trial.Phone, what map[string]any) time.Time {
		what["device"] = p.Device
		var answer struct{ Until time.Time }
		p.MustCall("POST", "/api/underlog/alerts/snooze", p.Token, what, 200, &answer)
		return answer.Until
	}
	t.Run("an alert until tonight", func(t *testing.T) {
		phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
		watch(phone, 25*time.Hour, 10*time.Minute)
		until := wait(phone, map[string]any{"until": "tonight", "of": []string{feeding.ID}})
		all := watch(phone, 30*time.Hour, 10*time.Minute)
		if len(all) != 1 || clock(all[0], "Europe/Berlin") != "Fri 18:00" || !all[0].at.Equal(until) {
			t.Errorf("came %q (%v), want one at 18:00 of the same day", sorts(all), all)
		}
	})
	t.Run("an alert until tomorrow that is settled first", func(t *testing.T) {
		phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
		watch(phone, 25*time.Hour, 10*time.Minute)
		wait(phone, map[string]any{"until": "tomorrow", "of": []string{feeding.ID}})
		phone.MustAdvance(time.Hour)
		phone.MustStore(nil, phone.AllGone(feeding))
		if all := watch(phone, 40*time.Hour, 10*time.Minute); len(all) != 0 {
			t.Errorf("came %q, want nothing", sorts(all))
		}
	})
	t.Run("tonight in the night is tomorrow", func(t *testing.T) {
		phone, _ := fed(t, trial.Noon, "Europe/Berlin")
		watch(phone, 11*time.Hour, time.Hour) // 23:00
		until := wait(phone, map[string]any{"until": "tonight"})
		if got := until.In(zoneOf("Europe/Berlin")).Format("Mon 15:04"); got != "Fri 09:00" {
			t.Errorf("it ends on %s, want Fri 09:00", got)
		}
	})
	t.Run("everything, then ended", func(t *testing.T) {
		phone, _ := fed(t, trial.Noon, "Europe/Berlin")
		watch(phone, 23*time.Hour, time.Hour)
		wait(phone, map[string]any{"until": "tomorrow"})
		if all := watch(phone, 10*time.Hour, 10*time.Minute); len(all) != 0 {
			t.Errorf("came %q during the snooze", sorts(all))
		}
		phone.MustCall("POST", "/api/underlog/alerts/snooze", phone.Token, map[string]any{"device": phone.Device, "until": ""}, 200, nil)
		if all := watch(phone, 12*time.Hour, 10*time.Minute); sorts(all) != "leftovers" {
			t.Errorf("came %q after it, want leftovers", sorts(all))
		}
	})
	t.Run("what is no time", func(t *testing.T) {
		phone, _ := fed(t, trial.Noon, "Europe/Berlin")
		code, answer, _ := phone.Call("POST", "/api/underlog/alerts/snooze", phone.Token, map[string]any{"device": phone.Device, "until": "whenever"})
		if code != 400 || !strings.Contains(string(answer), "until is whenever: give tonight or tomorrow") {
			t.Errorf("answered %d %s", code, answer)
		}
	})
}

func TestAWeekHasItsShareAndTheDigestYieldsFirst(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 1, map[string]any{"weekly_cap": 3})
	var kept int
	for range 7 {
		phone.MustStore(nil, phone.Feed(bins[0].ID))
		kept += len(watch(phone, 24*time.Hour, time.Hour))
	}
	if kept != 3 {
		t.Errorf("%d messages came in a week, want the three that are allowed", kept)
	}
	var state struct {
		Sent int `json:"sent_this_week"`
		Held int `json:"held_this_week"`
	}
	phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &state)
	if state.Sent != 3 || state.Held == 0 {
		t.Errorf("the page says %+v, want 3 sent and some held", state)
	}
	count := map[string]int{}
	for _, m := range phone.Push.Messages() {
		count[mustRead(t, m).Notification.Data.Sort]++
	}
	if count["digest"] > 2 {
		t.Errorf("%d digests came, want two thirds of the share at most", count["digest"])
	}
}

func TestASortThatIsIgnoredIsOfferedToBeTurnedDown(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 1, noDigest)
	type offers struct {
		Offers []struct {
			Sort    string
			Ignored int
		}
	}
	ask := func() string {
		var state offers
		phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &state)
		return fmt.Sprint(state.Offers)
	}
	ignore := func(times int) {
		for range times {
			phone.MustStore(nil, phone.Feed(bins[0].ID))
			watch(phone, 50*time.Hour, 2*time.Hour)
		}
	}
	ignore(4)
	if got := ask(); got != "[]" {
		t.Errorf("after four the app offers %s", got)
	}
	ignore(1)
	if got := ask(); got != "[{leftovers 5}]" {
		t.Errorf("after five the app offers %s", got)
	}
	phone.MustCall("POST", "/api/underlog/alerts/keep", phone.Token, map[string]string{"device": phone.Device, "sort": "leftovers"}, 204, nil)
	if got := ask(); got != "[]" {
		t.Errorf("after it was declined the app offers %s", got)
	}
	ignore(5)
	if got := ask(); got != "[{leftovers 5}]" {
		t.Errorf("after five more the app offers %s", got)
	}
	// One that is followed breaks the row.
	feeding := phone.Feed(bins[0].ID)
	phone.MustStore(nil, feeding)
	watch(phone, 26*time.Hour, time.Hour)
	phone.MustStore(nil, phone.AllGone(feeding))
	watch(phone, 30*time.Hour, time.Hour)
	if got := ask(); got != "[]" {
		t.Errorf("after one was followed the app offers %s", got)
	}
}
