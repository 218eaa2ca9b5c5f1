package sessions_test

import (
	"testing"
	"time"

	"underlog/backend/trial"
)

type session struct {
	ID, Person, Label, Device, Since string
	SeenAt                           string `json:"seen_at"`
	Here                             bool
}

func mustList(t *testing.T, phone *trial.Phone) []session {
	t.Helper()
	var sessions []session
	phone.MustCall("GET", "/api/underlog/sessions", phone.Token, nil, 200, &sessions)
	return sessions
}

func here(t *testing.T, phone *trial.Phone) session {
	t.Helper()
	for _, s := range mustList(t, phone) {
		if s.Here {
			return s
		}
	}
	t.Fatal("no session is here")
	return session{}
}

const exchange = "/api/underlog/exchange"

func TestALostPhoneIsSignedOutFromAnother(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	phone := server.MustSetUp("Europe/Berlin")
	lost := server.MustSignIn("Robin")
	lost.MustExchange(nil, nil)
	lost.MustAllowAlerts()
	sessions := mustList(t, phone)
	if len(sessions) != 2 {
		t.Fatalf("there are %d sessions, want 2", len(sessions))
	}
	var id string
	for _, s := range sessions {
		if s.Device == lost.Device {
			id = s.ID
		}
	}
	phone.MustCall("DELETE", "/api/underlog/sessions/"+id, phone.Token, nil, 204, nil)
	lost.MustCall("POST", exchange, lost.Token, lost.Request(nil, nil), 401, nil)
	lost.MustCall("POST", "/api/collections/people/auth-refresh", lost.Token, nil, 401, nil)
	lost.MustCall("GET", "/api/collections/bins/records/none00000000000", lost.Token, nil, 404, nil)
	phone.MustExchange(nil, nil) // the others stay
	if devices, err := server.Store.Subscribed(); err != nil || len(devices) != 0 {
		t.Errorf("the lost phone still takes alerts: %v (%v)", devices, err)
	}
}

func TestARefreshedTokenIsOfTheSameSession(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	phone := server.MustSetUp("Europe/Berlin")
	before := here(t, phone)
	var fresh struct{ Token string }
	phone.MustCall("POST", "/api/collections/people/auth-refresh", phone.Token, nil, 200, &fresh)
	old := phone.Token
	phone.Token = fresh.Token
	if after := here(t, phone); after.ID != before.ID {
		t.Errorf("the session was %s and is %s", before.ID, after.ID)
	}
	phone.MustCall("DELETE", "/api/underlog/sessions/here", phone.Token, nil, 204, nil)
	for _, token := range []string{old, fresh.Token} {
		phone.MustCall("POST", exchange, token, phone.Request(nil, nil), 401, nil)
	}
}

func TestAHelperEndsNobodyElsesSession(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	for _, s := range mustList(t, helper) {
		if s.Person != helper.Person.ID {
			t.Errorf("a helper sees a session of %s", s.Person)
		}
	}
	helper.MustCall("DELETE", "/api/underlog/sessions/"+here(t, owner).ID, helper.Token, nil, 404, nil)
	owner.MustExchange(nil, nil)
	owner.MustCall("DELETE", "/api/underlog/sessions/"+here(t, helper).ID, owner.Token, nil, 204, nil)
	helper.MustCall("POST", exchange, helper.Token, helper.Request(nil, nil), 401, nil)
}

func TestATokenWithoutASessionIsNobodys(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	phone := server.MustSetUp("Europe/Berlin")
	record, err := server.Store.App.FindRecordById("people", phone.Person.ID)
	if err != nil {
		t.Fatal(err)
	}
	bare, err := record.NewAuthToken()
	if err != nil {
		t.Fatal(err)
	}
	phone.MustCall("POST", exchange, bare, phone.Request(nil, nil), 401, nil)
}

func TestTheListSaysWhenADeviceWasSeen(t *testing.T) {
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	phone.Clock.Advance(time.Hour)
	phone.MustExchange(nil, nil)
	s := here(t, phone)
	if s.Since != "2026-05-28T10:00:00Z" || s.SeenAt != "2026-05-28T11:00:00Z" || s.Device != phone.Device || s.Label == "" {
		t.Errorf("the session is %+v", s)
	}
}

// Guessing passwords is slow; a phone that comes back after a month is not.
func TestWhatIsThrottled(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	phone := server.MustSetUp("Europe/Berlin")
	throttled := false
	for range 15 {
		status, _, _ := server.Call("POST", "/api/collections/people/auth-with-password", "", map[string]string{"identity": "Robin", "password": "guess number"})
		throttled = throttled || status == 429
	}
	if !throttled {
		t.Error("fifteen guesses in a second were all heard")
	}
	for range 350 { // 175,000 entries' worth of requests
		phone.MustExchange(nil, nil)
	}
}
