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

// sitting starts a household whose owner allowed alerts and is away, at an hour
// of Berlin, and returns the sitter's phone too.
func sitting(t *testing.T, hour int) (owner *trial.Phone, sitter *trial.Sitter, bin husbandry.Sheet) {
	t.Helper()
	owner = trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	owner.MustAllowAlerts()
	owner.MustSetAlerts(map[string]any{"digest": "off", "dampness": "off", "leftovers": "off"})
	bin = owner.Bin("Pied pillbugs")
	trip, sheet := owner.Trip(1, 14)
	owner.MustStore([]husbandry.Sheet{bin, sheet})
	owner.Clock.Advance(72*time.Hour + time.Duration(hour-12)*time.Hour)
	return owner, owner.MustMakePass(trip.ID, "Kim", nil), bin
}

// mustHear waits for so many messages: what a sitter finds wrong is sent by
// itself, with no tick of the clock.
func mustHear(t *testing.T, owner *trial.Phone, count int) []pushtest.Message {
	t.Helper()
	deadline := time.Now().Add(10 * time.Second)
	for time.Now().Before(deadline) {
		if len(owner.Push.Messages()) >= count {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	messages := owner.Push.Messages()
	if len(messages) != count {
		t.Fatalf("%d messages came, want %d (problems: %v)", len(messages), count, owner.Push.Problems())
	}
	return messages
}

func TestWhatASitterFindsWrongReachesTheOwnerAtOnce(t *testing.T) {
	for name, hour := range map[string]int{"by day": 12, "in quiet hours": 23} {
		t.Run(name, func(t *testing.T) {
			owner, sitter, bin := sitting(t, hour)
			owner.MustCall("POST", "/api/underlog/alerts/snooze", owner.Token, map[string]string{"device": owner.Device, "until": "tomorrow"}, 200, nil)
			note := sitter.Says(bin.ID, "Mites, very many.\nOn the wood.")
			sitter.MustStore(note)
			message := mustHear(t, owner, 1)[0]
			var payload struct {
				WebPush      int `json:"web_push"`
				Notification struct {
					Title, Body, Navigate string
					Data                  struct{ Sort string }
				}
			}
			if err := json.Unmarshal(message.Payload, &payload); err != nil {
				t.Fatal(err)
			}
			n := payload.Notification
			if payload.WebPush != 8030 || n.Title != "Something is wrong, says Kim" || n.Body != "W2-3 Pied pillbugs: Mites, very many. On the wood." ||
				n.Navigate != "/#/alert?wrong="+note.ID || n.Data.Sort != "wrong" || message.Urgency != "high" {
				t.Errorf("the message says %s, urgency %s", message.Payload, message.Urgency)
			}
			for range 3 {
				owner.MustAdvance(time.Hour)
			}
			sitter.MustExchange(note)
			owner.MustAdvance(time.Minute)
			mustHear(t, owner, 1) // told once
		})
	}
}

func TestWhatIsWrongIsHeldBackByTheDevicesOwnSwitchAlone(t *testing.T) {
	owner, sitter, bin := sitting(t, 12)
	helper := owner.MustAddHelper("Ottilie")
	helper.MustAllowAlerts() // a helper is not told
	owner.MustSetAlerts(map[string]any{"weekly_cap": 1})
	for i := range 3 {
		sitter.MustStore(sitter.Says(bin.ID, strings.Repeat("Again. ", i+1)))
		mustHear(t, owner, i+1)
	}
	var state struct {
		SentThisWeek int `json:"sent_this_week"`
	}
	owner.MustCall("GET", "/api/underlog/alerts?device="+owner.Device, owner.Token, nil, 200, &state)
	if state.SentThisWeek != 0 {
		t.Errorf("it takes %d of what others may send", state.SentThisWeek)
	}
	owner.MustSetAlerts(map[string]any{"wrong": "off"})
	sitter.MustStore(sitter.Says(bin.ID, "Once more."))
	owner.MustAdvance(time.Hour)
	mustHear(t, owner, 3)
}

func TestANoteOfTheHouseholdRingsNowhere(t *testing.T) {
	owner, sitter, bin := sitting(t, 12)
	owner.MustStore(nil, owner.Log(bin.ID, husbandry.Note, func(e *husbandry.Entry) { e.Note = "Mites?" }))
	sitter.MustStore(sitter.Feel(bin.ID, "dry"))
	owner.MustAdvance(time.Minute)
	mustHear(t, owner, 0)
}

func TestWhatWasTakenBackIsNotSent(t *testing.T) {
	owner, sitter, bin := sitting(t, 12)
	var away atomic.Bool
	away.Store(true)
	var tries atomic.Int64
	owner.Push.Answer = func(w http.ResponseWriter, _ *http.Request) bool {
		tries.Add(1)
		if away.Load() {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		return !away.Load()
	}
	note := sitter.Says(bin.ID, "It is dead.")
	sitter.MustStore(note)
	owner.MustAdvance(time.Minute)
	if tries.Load() == 0 {
		t.Fatal("nothing was tried, so the test shows nothing")
	}
	sitter.MustStore(sitter.Log(bin.ID, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = note.ID }))
	away.Store(false)
	for range 3 {
		owner.MustAdvance(time.Hour)
	}
	mustHear(t, owner, 0)
}

// A report of a phone that had no signal is still news; several come together.
func TestLateReportsComeTogether(t *testing.T) {
	owner, sitter, bin := sitting(t, 12)
	first, second := sitter.Says(bin.ID, "Furry all over."), sitter.Says("", "The window was open.")
	owner.Clock.Advance(50 * time.Hour)
	sitter.MustStore(first, second)
	message := mustHear(t, owner, 1)[0]
	for _, want := range []string{"Furry all over.", "The room: The window was open.", first.ID, second.ID, "says Kim (2)"} {
		if !strings.Contains(string(message.Payload), want) {
			t.Errorf("the message does not say %q: %s", want, message.Payload)
		}
	}
}
