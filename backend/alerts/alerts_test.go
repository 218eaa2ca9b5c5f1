package alerts_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"underlog/backend/pushtest"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// fed starts a household whose owner allowed alerts, but no digest, and fed a
// bin.
func fed(t *testing.T, at time.Time, zone string) (*trial.Phone, husbandry.Entry) {
	t.Helper()
	phone := trial.MustStart(t, at).MustSetUp(zone)
	phone.MustAllowAlerts()
	phone.MustSetAlerts(map[string]any{"digest": "off"})
	bin := phone.Bin("Pied pillbugs")
	feeding := phone.Feed(bin.ID)
	phone.MustStore([]husbandry.Sheet{bin}, feeding)
	return phone, feeding
}

// hourly lets hours pass as a server lives through them.
func hourly(phone *trial.Phone, hours int) {
	phone.Helper()
	for range hours {
		phone.MustAdvance(time.Hour)
	}
}

func TestTheDayAfterAFeedingThePhoneIsToldOnce(t *testing.T) {
	phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
	hourly(phone, 60)
	messages := phone.Push.Messages()
	if len(messages) != 1 {
		t.Fatalf("%d messages came, want 1 (problems: %v)", len(messages), phone.Push.Problems())
	}
	var payload struct {
		WebPush      int `json:"web_push"`
		Notification struct {
			Title, Body, Navigate, Tag string
			Data                       struct{ Sort string }
			Actions                    []map[string]string
		}
	}
	if err := json.Unmarshal(messages[0].Payload, &payload); err != nil {
		t.Fatal(err)
	}
	note := payload.Notification
	if payload.WebPush != 8030 || note.Title != "Check leftover food" || note.Body != "W2-3 Pied pillbugs: melon since yesterday 12:00" {
		t.Errorf("the message says %s", messages[0].Payload)
	}
	if note.Navigate != "/#/alert?of="+feeding.ID+"&in="+feeding.Bin || note.Data.Sort != "leftovers" || len(note.Actions) != 2 {
		t.Errorf("the message leads to %s", messages[0].Payload)
	}
	if len(messages[0].Payload) >= 1024 {
		t.Errorf("the message has %d bytes, want under 1 KiB", len(messages[0].Payload))
	}
	if messages[0].Urgency != "high" || messages[0].TTL == "0" {
		t.Errorf("urgency %q, TTL %q", messages[0].Urgency, messages[0].TTL)
	}
}

func TestARestartNeitherRepeatsNorForgets(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	hourly(phone, 20)
	for range 10 { // a restart every hour, before, at and after the instant
		phone.MustRestart()
		phone.MustAdvance(time.Hour)
	}
	if got := len(phone.Push.Messages()); got != 1 {
		t.Errorf("%d messages came, want 1", got)
	}
}

func TestAServerThatWasDownTellsOnceAfterwards(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	phone.MustClose()
	phone.Clock.Advance(27 * time.Hour)
	phone.MustOpen()
	phone.MustAdvance(time.Minute)
	phone.MustAdvance(time.Minute)
	if got := len(phone.Push.Messages()); got != 1 {
		t.Errorf("%d messages came, want 1", got)
	}
}

func TestWhatIsSettledIsNotSent(t *testing.T) {
	settle := map[string]func(*trial.Phone, husbandry.Entry) husbandry.Entry{
		"looked at": func(p *trial.Phone, f husbandry.Entry) husbandry.Entry { return p.AllGone(f) },
		"struck": func(p *trial.Phone, f husbandry.Entry) husbandry.Entry {
			return p.Log(f.Bin, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = f.ID })
		},
	}
	for name, entry := range settle {
		t.Run(name, func(t *testing.T) {
			phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
			phone.MustAdvance(3 * time.Hour)
			phone.MustStore(nil, entry(phone, feeding))
			hourly(phone, 60)
			if got := len(phone.Push.Messages()); got != 0 {
				t.Errorf("%d messages came, want none", got)
			}
		})
	}
}

func TestWhatIsSettledWhileTheServiceIsAwayIsNotSent(t *testing.T) {
	phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
	var away atomic.Bool
	away.Store(true)
	var tries atomic.Int64
	phone.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
		tries.Add(1)
		if away.Load() {
			w.WriteHeader(http.StatusServiceUnavailable)
			return false
		}
		return true
	}
	hourly(phone, 26)
	if tries.Load() == 0 {
		t.Fatal("nothing was tried, so the test shows nothing")
	}
	phone.MustStore(nil, phone.AllGone(feeding))
	away.Store(false)
	hourly(phone, 30)
	if got := len(phone.Push.Messages()); got != 0 {
		t.Errorf("%d messages came, want none", got)
	}
}

func TestWhatAServiceAnswers(t *testing.T) {
	cases := []struct {
		name       string
		answer     func(http.ResponseWriter)
		times      int // how often it answers so before it is sound
		messages   int // that arrive in the end
		subscribed bool
	}{
		{"201", nil, 0, 1, true},
		{"404 ends the subscription", status(404), 1, 0, false},
		{"410 ends the subscription", status(410), 1, 0, false},
		{"429 waits", status(429), 2, 1, true},
		{"429 waits as long as it is told", func(w http.ResponseWriter) {
			w.Header().Set("Retry-After", "7200")
			w.WriteHeader(429)
		}, 1, 1, true},
		{"500 tries again", status(500), 3, 1, true},
		{"503 tries again", status(503), 3, 1, true},
		{"403 keeps the subscription and tries again", status(403), 1, 1, true},
		{"400 keeps the subscription and tries again", status(400), 1, 1, true},
		{"401 keeps the subscription and tries again", status(401), 1, 1, true},
		{"413 will never be taken", status(413), 1, 0, true},
		{"a redirect is not followed", func(w http.ResponseWriter) {
			w.Header().Set("Location", "http://127.0.0.1:1/elsewhere")
			w.WriteHeader(307)
		}, 1, 1, true},
		{"a connection that breaks", func(http.ResponseWriter) { panic(http.ErrAbortHandler) }, 2, 1, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			phone, _ := fed(t, trial.Noon, "Europe/Berlin")
			var asked atomic.Int64
			phone.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
				if asked.Add(1) <= int64(c.times) {
					c.answer(w)
					return false
				}
				return true
			}
			hourly(phone, 22) // until before the instant
			for range 6 * 20 {
				phone.MustAdvance(3 * time.Minute)
			}
			if got := len(phone.Push.Messages()); got != c.messages {
				t.Errorf("%d messages came, want %d (asked %d times)", got, c.messages, asked.Load())
			}
			if asked.Load() < int64(c.times) {
				t.Errorf("asked %d times, want at least %d", asked.Load(), c.times)
			}
			var state struct{ Subscribed bool }
			phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &state)
			if state.Subscribed != c.subscribed {
				t.Errorf("subscribed is %v, want %v", state.Subscribed, c.subscribed)
			}
		})
	}
}

func status(code int) func(http.ResponseWriter) {
	return func(w http.ResponseWriter) { w.WriteHeader(code) }
}

func TestRetryAfterIsKept(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	var asked []time.Time
	phone.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
		asked = append(asked, phone.Clock.Now())
		if len(asked) == 1 {
			w.Header().Set("Retry-After", "7200")
			w.WriteHeader(429)
			return false
		}
		return true
	}
	hourly(phone, 23)
	for range 5 * 12 {
		phone.MustAdvance(5 * time.Minute)
	}
	if len(asked) != 2 || asked[1].Sub(asked[0]) < 2*time.Hour {
		t.Errorf("asked at %v, want twice with two hours between", asked)
	}
}

func TestTwoPhonesAreToldEachOnce(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	helper := phone.MustAddHelper("Kim")
	second := helper.MustAllowAlerts()
	helper.MustSetAlerts(map[string]any{"digest": "off"})
	hourly(phone, 40)
	count := map[string]int{}
	for _, message := range phone.Push.Messages() {
		count[message.Endpoint]++
	}
	if len(count) != 2 || count[second.Endpoint] != 1 {
		t.Errorf("messages by endpoint: %v, want one for each of two", count)
	}
}

func TestAnAlertInQuietHoursWaitsUntilTheyEnd(t *testing.T) {
	// Fed at 23:30: the look falls due in the next night.
	evening := time.Date(2026, 5, 28, 21, 30, 0, 0, time.UTC)
	phone, _ := fed(t, evening, "Europe/Berlin")
	var at []time.Time
	phone.Push.Answer = func(http.ResponseWriter, *http.Request) bool {
		at = append(at, phone.Clock.Now())
		return true
	}
	for range 48 * 2 {
		phone.MustAdvance(30 * time.Minute)
	}
	if len(at) != 1 {
		t.Fatalf("%d messages came, want 1", len(at))
	}
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	// Due at 23:30 on the 29th, the day after.
	if want := time.Date(2026, 5, 30, 8, 0, 0, 0, berlin); !at[0].Equal(want) {
		t.Errorf("it came at %s, want %s", at[0].In(berlin), want)
	}
}

func TestTheTestMessageComesAtOnce(t *testing.T) {
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	var answer struct{ Status int }
	phone.MustCall("POST", "/api/underlog/alerts/test", phone.Token, map[string]string{"device": phone.Device}, 409, nil)
	phone.MustAllowAlerts()
	phone.MustCall("POST", "/api/underlog/alerts/test", phone.Token, map[string]string{"device": phone.Device}, 200, &answer)
	if answer.Status != 201 || len(phone.Push.Messages()) != 1 {
		t.Errorf("the service answered %d and has %d messages (%v)", answer.Status, len(phone.Push.Messages()), phone.Push.Problems())
	}
}

func TestAllMessagesAreSignedByTheKeyThatSubscribersGot(t *testing.T) {
	phone, _ := fed(t, trial.Noon, "Europe/Berlin")
	var state struct{ Key string }
	phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &state)
	phone.MustRestart()
	hourly(phone, 40)
	messages := phone.Push.Messages()
	if len(messages) != 1 || messages[0].Key != state.Key {
		t.Errorf("the messages %+v are not signed by %s", messages, state.Key)
	}
}

func TestASubscriptionThatIsNoneIsRefusedWithASentence(t *testing.T) {
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	good := phone.Push.Subscribe()
	cases := map[string]struct {
		device       string
		subscription pushtest.Subscription
		want         string
	}{
		"no device":   {"", good, "device"},
		"no key":      {phone.Device, pushtest.Subscription{Endpoint: good.Endpoint}, "p256dh"},
		"no secret":   {phone.Device, pushtest.Subscription{Endpoint: good.Endpoint, Keys: pushtest.Keys{P256dh: good.Keys.P256dh}}, "auth"},
		"not a point": {phone.Device, pushtest.Subscription{Endpoint: good.Endpoint, Keys: pushtest.Keys{P256dh: strings.Repeat("A", 87), Auth: good.Keys.Auth}}, "p256dh"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			code, answer, _ := phone.Call("PUT", "/api/underlog/alerts", phone.Token,
				map[string]any{"device": c.device, "subscription": c.subscription})
			if code != 400 || !strings.Contains(string(answer), c.want) {
				t.Errorf("answered %d %s, want 400 with %q", code, answer, c.want)
			}
		})
	}
}
