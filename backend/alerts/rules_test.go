package alerts_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"underlog/backend/pushtest"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// A shown message as the tests look at it.
type shown struct {
	WebPush      int `json:"web_push"`
	Notification struct {
		Title, Body, Navigate, Tag string
		Data                       struct {
			Sort  string
			At    int64
			Looks []int
			Last  []int64
			More  int
		}
		Actions []map[string]string
	}
	Badge   int `json:"app_badge"`
	Mutable bool
}

func mustRead(tb testing.TB, m pushtest.Message) shown {
	tb.Helper()
	var s shown
	if err := json.Unmarshal(m.Payload, &s); err != nil {
		tb.Fatal(err)
	}
	return s
}

// arrivals are when messages came, and what they said.
type arrival struct {
	at time.Time
	shown
	pushtest.Message
}

// watch lets time pass in steps and returns what came meanwhile and when.
func watch(p *trial.Phone, total, step time.Duration) []arrival {
	p.Helper()
	var all []arrival
	have := len(p.Push.Messages())
	for left := total; left > 0; left -= step {
		p.MustAdvance(min(step, left))
		messages := p.Push.Messages()
		for _, m := range messages[have:] {
			all = append(all, arrival{p.Clock.Now(), mustRead(p.TB, m), m})
		}
		have = len(messages)
	}
	return all
}

// watchFinely is watch in steps between two times of the household's day, and
// otherwise in one: a tick costs a real survey.
func watchFinely(p *trial.Phone, total, step, from, to time.Duration, zone string) []arrival {
	p.Helper()
	var all []arrival
	for left := total; left > 0; {
		local := p.Clock.Now().In(zoneOf(zone))
		passed := time.Duration(local.Hour())*time.Hour + time.Duration(local.Minute())*time.Minute
		pause := step
		switch {
		case passed < from:
			pause = from - passed
		case passed >= to:
			pause = 24*time.Hour - passed
		}
		pause = min(pause, left)
		all = append(all, watch(p, pause, pause)...)
		left -= pause
	}
	return all
}

func sorts(all []arrival) string {
	var words []string
	for _, one := range all {
		words = append(words, one.Notification.Data.Sort)
	}
	return strings.Join(words, " ")
}

// room starts a household with alerts and bins, of which nothing is logged.
func room(t *testing.T, at time.Time, zone string, many int, settings map[string]any) (*trial.Phone, []husbandry.Sheet) {
	t.Helper()
	phone := trial.MustStart(t, at).MustSetUp(zone)
	phone.MustAllowAlerts()
	if settings != nil {
		phone.MustSetAlerts(settings)
	}
	var bins []husbandry.Sheet
	for i := range many {
		bins = append(bins, phone.Bin(fmt.Sprintf("Bin %d", i+1)))
	}
	phone.MustStore(bins)
	return phone, bins
}

var noDigest = map[string]any{"digest": "off"}

func TestBinsThatWereFedOnOneRoundMakeOneAlert(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 9, noDigest)
	for _, bin := range bins {
		phone.MustStore(nil, phone.Feed(bin.ID))
		phone.MustAdvance(4 * time.Minute) // a round takes its time
	}
	all := watch(phone, 40*time.Hour, 5*time.Minute)
	if len(all) != 1 {
		t.Fatalf("%d messages came, want one of nine bins", len(all))
	}
	note := all[0].Notification
	if note.Title != "Check leftover food in 9 bins" || !strings.HasPrefix(note.Body, "W2-3 Bin 1: melon\nW2-3 Bin 2: melon\n") || !strings.HasSuffix(note.Body, "and 3 more") {
		t.Errorf("it says %q %q", note.Title, note.Body)
	}
	if len(note.Actions) != 0 || !strings.HasPrefix(note.Navigate, "/#/alert?of=") || note.Data.More != 4 {
		t.Errorf("it leads to %q with the buttons %v", note.Navigate, note.Actions)
	}
	if all[0].WebPush != 8030 || !all[0].Mutable || all[0].Badge != 9 {
		t.Errorf("the message is %+v", all[0].shown)
	}
}

func TestALookThatLeftItInIsAlertedAnewAndSaysSo(t *testing.T) {
	phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
	watch(phone, 25*time.Hour, 10*time.Minute)
	phone.MustStore(nil, phone.Log(feeding.Bin, husbandry.Leftovers, func(e *husbandry.Entry) {
		e.Of, e.Left, e.Mould = feeding.ID, "some left", "specks"
	}))
	all := watch(phone, 48*time.Hour, 10*time.Minute)
	if len(all) != 1 || fmt.Sprint(all[0].Notification.Data.Looks) != "[1]" {
		t.Errorf("%d more messages came: %+v", len(all), all)
	}
}

// A bin that was felt once and then left alone dries out: one alert of its own
// before it does, and the digest every evening.
func TestDampnessAtRiskIsToldOnceByItself(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 2, noDigest)
	bin := bins[0].ID
	felt := phone.Log(bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "damp" })
	phone.MustStore(nil, felt)
	all := watch(phone, 60*24*time.Hour, 5*time.Hour)
	if sorts(all) != "dampness" {
		t.Fatalf("came: %q, want dampness once, and nothing of the bin that nobody has felt", sorts(all))
	}
	one := all[0]
	if one.Notification.Title != "Dampness at risk" || !strings.HasPrefix(one.Notification.Body, "W2-3 Bin 1: may dry out soon") ||
		one.Notification.Navigate != "/#/alert?damp="+bin || one.Notification.Data.Last[0] != felt.At.Unix() || one.Urgency != "high" {
		t.Errorf("it says %+v, urgency %s", one.Notification, one.Urgency)
	}
	// Felt dry and watered: a new drying, a new alert, and not at once.
	phone.MustStore(nil, phone.Log(bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "dry" }))
	if all := watch(phone, 5*time.Hour, 30*time.Minute); len(all) != 0 {
		t.Errorf("%q came to somebody who was just there", sorts(all))
	}
	phone.MustStore(nil, phone.Log(bin, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = 45 }))
	if all := watch(phone, 60*24*time.Hour, 5*time.Hour); sorts(all) != "dampness" {
		t.Errorf("after the water came %q, want dampness once", sorts(all))
	}
}

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

func zoneOf(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		panic(err) // a slip in this file
	}
	return zone
}

func clock(one arrival, zone string) string { return one.at.In(zoneOf(zone)).Format("Mon 15:04") }

func TestNothingToDoMakesNoDigest(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 1, nil)
	phone.MustStore([]husbandry.Sheet{phone.Edit(bins[0], "deleted", true)})
	if all := watch(phone, 72*time.Hour, time.Hour); len(all) != 0 {
		t.Errorf("%q came from an empty room", sorts(all))
	}
}

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

// After hours of standing still what matters yet is told in one message.
func TestAfterDowntimeThereIsOneMessage(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 4, nil)
	for _, bin := range bins {
		phone.MustStore(nil, phone.Feed(bin.ID))
	}
	before := len(phone.Push.Messages())
	phone.MustClose()
	phone.Clock.Advance(30 * time.Hour) // the food is six hours overdue, and the round is about to begin
	phone.MustOpen()
	phone.MustAdvance(time.Minute)
	all := phone.Push.Messages()[before:]
	if len(all) != 1 {
		t.Fatalf("%d messages came after the downtime, want one", len(all))
	}
	note := mustRead(t, all[0]).Notification
	if note.Data.Sort != "several" || note.Title != "4 bins want a look" || !strings.Contains(note.Navigate, "of=") ||
		!strings.HasPrefix(note.Body, "W2-3 Bin 1: leftover melon\nW2-3 Bin 2: leftover melon\n") || !strings.HasSuffix(note.Body, "The round: feel 4.") {
		t.Errorf("it says %+v", note)
	}
	if len(all[0].Payload) >= 1024 {
		t.Errorf("it has %d bytes", len(all[0].Payload))
	}
	if more := watch(phone, 3*time.Hour, 10*time.Minute); len(more) != 0 {
		t.Errorf("then came %q", sorts(more))
	}
}

// Whatever names people give: under 1 KiB, and valid.
func TestTheLongestNamesFit(t *testing.T) {
	phone, _ := room(t, trial.Noon, "Europe/Berlin", 0, nil)
	for i := range 12 {
		bin := phone.Bin(strings.Repeat("🪲", 70))
		phone.MustStore([]husbandry.Sheet{bin, phone.Sheet("foods", husbandry.Food{ID: trial.NewID(), Slug: fmt.Sprintf("food-%d-%s", i, strings.Repeat("x", 40)), Name: strings.Repeat("ß", 60), Class: "fruit"})})
		phone.MustStore(nil, phone.Log(bin.ID, husbandry.Feed, func(e *husbandry.Entry) { e.Food, e.Pieces = strings.Repeat("Ω", 80), 3 }),
			phone.Log(bin.ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "dry" }))
	}
	phone.MustClose()
	phone.Clock.Advance(24 * time.Hour)
	phone.MustOpen()
	all := watch(phone, 24*time.Hour, time.Hour)
	if len(all) == 0 {
		t.Fatalf("nothing came: %v", phone.Push.Problems())
	}
	for _, one := range all {
		listed := one.Notification.Data.Sort == "digest" || strings.Contains(one.Notification.Body, "more")
		if len(one.Payload) >= 1024 || one.Notification.Title == "" || !listed {
			t.Errorf("%d bytes: %s", len(one.Payload), one.Payload)
		}
	}
	if problems := phone.Push.Problems(); len(problems) > 0 {
		t.Error(problems)
	}
}

func TestTheContactReachesThePushService(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	phone.MustCall("PUT", "/api/underlog/alerts/contact", phone.Token, map[string]string{"contact": "mailto:mailto:keeper@example.org"}, 200, nil)
	code, answer, _ := phone.Call("PUT", "/api/underlog/alerts/contact", phone.Token, map[string]string{"contact": "me@localhost"})
	if code != 400 || !strings.Contains(string(answer), "contact is me@localhost") {
		t.Errorf("answered %d %s", code, answer)
	}
	phone.MustCall("POST", "/api/underlog/alerts/test", phone.Token, map[string]string{"device": phone.Device}, 200, nil)
	messages := phone.Push.Messages()
	if len(messages) != 1 || messages[0].Claims.Subject != "mailto:keeper@example.org" || messages[0].Claims.Expires-phone.Clock.Now().Unix() != 12*3600 {
		t.Errorf("the claims are %+v (%v)", messages, phone.Push.Problems())
	}
}

// A clock that differs from the push service's makes tokens that are refused:
// the page says so.
func TestAWrongClockIsNoticed(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	phone.Push.Now = func() time.Time { return phone.Clock.Now().Add(-7 * time.Minute) }
	phone.MustCall("POST", "/api/underlog/alerts/test", phone.Token, map[string]string{"device": phone.Device}, 200, nil)
	var state struct {
		Ahead int `json:"clock_ahead_s"`
	}
	phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &state)
	if state.Ahead != 420 {
		t.Errorf("the clock is said to be %d s ahead, want 420", state.Ahead)
	}
}

// What a push service answered is on the page in its own words.
func TestWhatThePushServiceAnsweredIsTold(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	phone.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
		http.Error(w, `{"reason":"BadJwtToken"}`, http.StatusForbidden)
		return false
	}
	phone.MustCall("POST", "/api/underlog/alerts/test", phone.Token, map[string]string{"device": phone.Device}, 200, nil)
	var state struct {
		Status int    `json:"last_status"`
		Answer string `json:"last_answer"`
		Sent   any    `json:"last_sent_at"`
	}
	phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &state)
	if state.Status != 403 || state.Answer != `{"reason":"BadJwtToken"}` || state.Sent != nil {
		t.Errorf("the page says %+v", state)
	}
}

// A browser that dropped its subscription and made another while an alert was
// on its way gets it at the new one.
func TestANewSubscriptionTakesOverWhatWaits(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	phone.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
		w.WriteHeader(410)
		return false
	}
	watch(phone, 25*time.Hour, 30*time.Minute)
	phone.Push.Answer = nil
	fresh := phone.MustAllowAlerts()
	all := watch(phone, 5*time.Hour, 10*time.Minute)
	if len(all) != 1 || all[0].Endpoint != fresh.Endpoint {
		t.Errorf("%d messages came, want one at the new subscription", len(all))
	}
}
