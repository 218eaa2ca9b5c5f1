package alerts_test

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// Four days of four bins; half a year of sixty is behind the tag verify.
func TestDaysInASmallRoom(t *testing.T) { live(t, 4, 4) }

// A told names what a phone may be told once: a feeding, or a day's digest.
type told struct{ endpoint, of string }

// live has a household live with its alerts: two phones, one of which is often
// without a line, feedings and looks, a server that is restarted, put off and
// asleep, a push service that is away for hours. It holds what was promised: no
// feeding is told twice to a phone, none is left out that stood at a civil
// hour, nothing comes in quiet hours.
func live(t *testing.T, days, many int) {
	chance := rand.New(rand.NewPCG(11, uint64(days)))
	zone := zoneOf("Europe/Berlin")
	start := time.Date(2026, 1, 20, 5, 0, 0, 0, time.UTC) // over the change of the clocks in March
	phone, bins := room(t, start, "Europe/Berlin", many, map[string]any{"weekly_cap": 70})
	helper := phone.MustAddHelper("Kim")
	helpers := helper.MustAllowAlerts().Endpoint
	helper.MustSetAlerts(map[string]any{"weekly_cap": 70, "quiet_from": "21:00", "quiet_to": "09:00"})

	var offline []husbandry.Entry // written on the phone that has no line
	type feeding struct {
		entry   husbandry.Entry
		settled time.Time // as the server knows it; zero: not yet
		stood   bool      // due at a civil hour with the server up
	}
	fed := map[string]*feeding{}
	lying := map[string]*feeding{} // by bin
	seen := map[told]string{}      // the message that told it
	bySort := map[string]int{}
	read, since := 0, start
	check := func() {
		messages, now := phone.Push.Messages(), phone.Clock.Now()
		for _, m := range messages[read:] {
			note := mustRead(t, m)
			// The instant of the tick that sent it. The scheduler ticks by
			// itself too, so it may be the one before the clock was put forward.
			sent := time.Unix(note.Notification.Data.At, 0)
			if sent.Before(since.Truncate(time.Second)) || sent.After(now) {
				t.Errorf("a message that came between %s and %s says that it was sent at %s", since, now, sent)
			}
			local := sent.In(zone)
			quiet := [2]int{22, 8}
			if m.Endpoint == helpers {
				quiet = [2]int{21, 9}
			}
			if hour := local.Hour(); hour >= quiet[0] || hour < quiet[1] {
				t.Errorf("%s: a message came in quiet hours", local)
			}
			bySort[note.Notification.Data.Sort]++
			var what []told
			if note.Notification.Data.Sort == "digest" {
				what = append(what, told{m.Endpoint, "digest " + local.Format(time.DateOnly)})
			}
			_, query, _ := strings.Cut(note.Notification.Navigate, "?")
			values, err := url.ParseQuery(query)
			if err != nil {
				t.Error(err)
			}
			for _, of := range strings.FieldsFunc(values.Get("of"), func(r rune) bool { return r == ',' }) {
				what = append(what, told{m.Endpoint, of})
			}
			// A message that was on its way when the server stopped comes again
			// under the same topic, and takes the first one's place.
			for _, one := range what {
				if first, told := seen[one]; told && first != m.Topic {
					t.Errorf("%s: %s was told a second time", local, one.of)
				}
				seen[one] = m.Topic
			}
		}
		read, since = len(messages), now
	}
	var away atomic.Int64 // until when the push service is, Unix seconds
	phone.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
		if phone.Clock.Now().Unix() < away.Load() {
			w.WriteHeader(http.StatusServiceUnavailable)
			return false
		}
		return true
	}
	exchange := func(p *trial.Phone, entries ...husbandry.Entry) {
		p.MustStore(nil, entries...)
		for _, e := range entries {
			if e.What == husbandry.Feed {
				fed[e.ID] = &feeding{entry: e}
			} else if f := fed[e.Of]; f != nil && f.settled.IsZero() {
				f.settled = p.Clock.Now()
			}
		}
	}
	settle := func(f *feeding) husbandry.Entry { return phone.AllGone(f.entry) }

	end := start.Add(time.Duration(days) * 24 * time.Hour)
	for phone.Clock.Now().Before(end) {
		now := phone.Clock.Now()
		local := now.In(zone)
		step := 20 * time.Minute
		if hour := local.Hour(); hour >= 22 || hour < 6 {
			step = 2 * time.Hour // it is quiet for everybody, and nobody is about
		}
		switch roll := chance.Float64(); {
		case roll < 0.01:
			phone.MustRestart()
		case roll < 0.013: // off for hours
			phone.MustClose()
			phone.Clock.Advance(time.Duration(1+chance.IntN(5)) * time.Hour)
			phone.MustOpen()
		case roll < 0.016: // asleep
			phone.MustAdvance(9 * time.Hour)
			check()
		case roll < 0.019:
			away.Store(now.Add(time.Duration(1+chance.IntN(5)) * time.Hour).Unix())
		}
		// A round in the evening, three times a week and now and then.
		if minute := local.Hour()*60 + local.Minute(); minute >= 18*60+30 && minute < 18*60+50 && (local.Weekday()%2 == 0 || chance.Float64() < 0.1) {
			var entries []husbandry.Entry
			for i, bin := range bins {
				if f := lying[bin.ID]; f != nil && chance.Float64() < 0.8 {
					entries = append(entries, settle(f))
					delete(lying, bin.ID)
				}
				if lying[bin.ID] == nil && (i+local.YearDay())%3 == 0 {
					entries = append(entries, phone.Feed(bin.ID))
					lying[bin.ID] = &feeding{entry: entries[len(entries)-1]}
				}
				if chance.Float64() < 0.3 {
					entries = append(entries, phone.Log(bin.ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "barely" }),
						phone.Log(bin.ID, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = 45 }))
				}
			}
			if chance.Float64() < 0.3 { // the cellar has no line tonight
				offline = append(offline, entries...)
			} else {
				exchange(phone, entries...)
			}
		}
		// Somebody looks after an alert, mostly within the day.
		for bin, f := range lying {
			if now.Sub(f.entry.At) > 26*time.Hour && chance.Float64() < 0.02 {
				look := settle(f)
				delete(lying, bin)
				if fed[f.entry.ID] == nil {
					offline = append(offline, look)
				} else {
					exchange(phone, look)
				}
			}
		}
		if len(offline) > 0 && chance.Float64() < 0.05 {
			exchange(phone, offline...)
			offline = nil
		}
		chores, err := phone.Store.ChoresDue(now)
		if err != nil {
			t.Fatal(err)
		}
		phone.MustAdvance(step)
		check()
		// What stood before the step and after it, by day, must have been told.
		after := phone.Clock.Now()
		if hour := after.In(zone).Hour(); hour >= 10 && hour < 20 && after.Add(-time.Hour-step).Unix() > away.Load() {
			for _, c := range chores {
				f := fed[c.Of]
				if c.Chore == husbandry.ChoreLeftovers && f != nil && f.settled.IsZero() && c.Due.Before(after.Add(-step)) && c.Closes.After(after) {
					f.stood = true
				}
			}
		}
	}
	once, missing := 0, 0
	var rows []struct {
		Of, Device, State string
		Times             int
	}
	err := phone.Store.App.DB().NewQuery("SELECT [[of]], device, state, COUNT(*) AS times FROM deliveries WHERE sort = 'leftovers' AND state = 'sent' GROUP BY 1, 2, instance").All(&rows)
	if err != nil {
		t.Fatal(err)
	}
	toldOf := map[string]int{}
	for _, row := range rows {
		if row.Times > 1 {
			t.Errorf("a feeding was told %d times to one phone", row.Times)
		}
		toldOf[row.Of]++
	}
	for id, f := range fed {
		switch {
		case toldOf[id] == 2:
			once++
		case f.stood:
			missing++
			t.Errorf("the feeding of %s stood by day and was told to %d of 2 phones", f.entry.At.In(zone), toldOf[id])
		}
	}
	if problems := phone.Push.Problems(); len(problems) > 0 {
		t.Error(problems)
	}
	if once == 0 {
		t.Error("no feeding was told: nothing is shown")
	}
	weeks := float64(days) / 7
	t.Logf("%d days of %d bins: %d feedings, %d told to both phones, %d missing; messages a week and phone: %s",
		days, many, len(fed), once, missing, perWeek(bySort, 2*weeks))
}

func perWeek(bySort map[string]int, phoneWeeks float64) string {
	var parts []string
	all := 0
	for _, sort := range []string{"leftovers", "dampness", "digest", "several"} {
		all += bySort[sort]
		parts = append(parts, fmt.Sprintf("%s %.1f", sort, float64(bySort[sort])/phoneWeeks))
	}
	return fmt.Sprintf("%.1f (%s)", float64(all)/phoneWeeks, strings.Join(parts, ", "))
}
