package alerts_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"underlog/backend/trial"
)

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
