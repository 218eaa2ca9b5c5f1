package pairing_test

import (
	"strings"
	"sync"
	"testing"
	"time"

	"underlog/backend/store"
	"underlog/backend/trial"
)

type offered struct{ Code, Until, Name, Link, Guide string }

type session struct {
	Token  string
	Record store.Person
}

const (
	route = "/api/underlog/pairing"
	claim = route + "/claim"
)

func mustOffer(p *trial.Phone, wish map[string]string) offered {
	p.Helper()
	var o offered
	p.MustCall("POST", route, p.Token, wish, 201, &o)
	return o
}

func mustState(p *trial.Phone, want string) {
	p.Helper()
	var got struct{ State string }
	p.MustCall("GET", route, p.Token, nil, 200, &got)
	if got.State != want {
		p.Errorf("the screen learns %q, want %q", got.State, want)
	}
}

func code(text string) map[string]string { return map[string]string{"code": text} }

// unlimited lets a test claim as often as it likes.
func unlimited(server *trial.Trial) { server.Store.App.Settings().RateLimits.Enabled = false }

func TestACodeLetsOneDeviceInOnce(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	mustState(owner, "none")
	o := mustOffer(owner, nil)
	if len(o.Code) != 11 || o.Name != "Robin" {
		t.Errorf("offered %+v", o)
	}
	mustState(owner, "waiting")
	var got session
	// Typed by hand: small letters, spaces for the dash.
	server.MustCall("POST", claim, "", code(" "+strings.ToLower(strings.ReplaceAll(o.Code, "-", " "))+" "), 200, &got)
	if got.Record != owner.Person {
		t.Errorf("%+v is signed in", got.Record)
	}
	mustState(owner, "claimed")
	server.MustCall("POST", claim, "", code(o.Code), 400, nil)

	// It is a session like any other: it exchanges, is listed, and ends alone.
	phone := &trial.Phone{Trial: server, Token: got.Token, Person: got.Record, Device: trial.NewID()}
	phone.MustExchange(nil, nil)
	var sessions []struct{ ID string }
	owner.MustCall("GET", "/api/underlog/sessions", owner.Token, nil, 200, &sessions)
	if len(sessions) != 2 {
		t.Errorf("there are %d sessions, want 2", len(sessions))
	}
	phone.MustCall("DELETE", "/api/underlog/sessions/here", phone.Token, nil, 204, nil)
	phone.MustCall("POST", "/api/underlog/exchange", phone.Token, phone.Request(nil, nil), 401, nil)
	owner.MustExchange(nil, nil)
}

func TestManyClaimAtOnceAndOneGetsIn(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	unlimited(server)
	owner := server.MustSetUp("Europe/Berlin")
	o := mustOffer(owner, nil)
	var in int
	var mu sync.Mutex
	var all sync.WaitGroup
	for range 20 {
		all.Add(1)
		go func() {
			defer all.Done()
			status, _, _ := server.Call("POST", claim, "", code(o.Code))
			mu.Lock()
			defer mu.Unlock()
			if status == 200 {
				in++
			}
		}()
	}
	all.Wait()
	if in != 1 {
		t.Errorf("%d devices are in", in)
	}
}

func TestCodesThatAreNoLongerGood(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	unlimited(server)
	owner := server.MustSetUp("Europe/Berlin")
	refused := func(why string, o offered) {
		t.Helper()
		status, answer, _ := server.Call("POST", claim, "", code(o.Code))
		if status != 400 || !strings.Contains(string(answer), "five minutes") {
			t.Errorf("%s: %d %s", why, status, answer)
		}
	}
	early := mustOffer(owner, nil)
	server.Clock.Advance(5*time.Minute - time.Second)
	mustState(owner, "waiting")
	server.Clock.Advance(time.Second)
	mustState(owner, "lapsed")
	refused("after five minutes", early)

	first := mustOffer(owner, nil)
	second := mustOffer(owner, nil)
	refused("a newer one was made", first)
	owner.MustCall("DELETE", route, owner.Token, nil, 204, nil)
	refused("it was withdrawn", second)
	mustState(owner, "none")

	other := server.MustSignIn("Robin")
	o := mustOffer(other, nil)
	other.MustCall("DELETE", "/api/underlog/sessions/here", other.Token, nil, 204, nil)
	refused("who made it is signed out", o)

	helper := owner.MustAddHelper("Kim")
	o = mustOffer(owner, map[string]string{"person": helper.Person.ID})
	owner.MustCall("DELETE", "/api/underlog/people/"+helper.Person.ID, owner.Token, nil, 204, nil)
	refused("the person is gone", o)

	o = mustOffer(owner, nil)
	server.MustRestart()
	unlimited(server)
	refused("the server was started again", o)
	refused("nobody made it", offered{Code: "22222-22222"})
	refused("it is empty", offered{})
}

func TestAHelperComesInByACodeAlone(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	owner.MustCall("POST", route, owner.Token, map[string]string{"helper": " robin "}, 400, nil)
	owner.MustCall("POST", route, owner.Token, map[string]string{"helper": strings.Repeat("x", 81)}, 400, nil)
	o := mustOffer(owner, map[string]string{"helper": " Kim  Sand "})
	people, err := server.Store.People()
	if err != nil || len(people) != 1 {
		t.Errorf("before anybody came in there are %d people (%v)", len(people), err)
	}
	var kim session
	server.MustCall("POST", claim, "", code(o.Code), 200, &kim)
	if kim.Record.Name != "Kim Sand" || kim.Record.Role != store.Helper {
		t.Errorf("%+v is signed in", kim.Record)
	}
	// Again for the same person, on another phone.
	o = mustOffer(owner, map[string]string{"person": kim.Record.ID})
	var again session
	server.MustCall("POST", claim, "", code(o.Code), 200, &again)
	if again.Record != kim.Record || again.Token == kim.Token {
		t.Errorf("%+v", again.Record)
	}
	// A helper lets in only themselves.
	server.MustCall("POST", route, kim.Token, map[string]string{"helper": "Lou"}, 403, nil)
	server.MustCall("POST", route, kim.Token, map[string]string{"person": owner.Person.ID}, 403, nil)
	phone := &trial.Phone{Trial: server, Token: kim.Token}
	o = mustOffer(phone, nil)
	server.MustCall("POST", claim, owner.Token, code(o.Code), 200, &again) // whatever the request is signed in as
	if again.Record != kim.Record {
		t.Errorf("%+v is signed in", again.Record)
	}
	again2 := &trial.Phone{Trial: server, Token: again.Token, Device: trial.NewID()}
	again2.MustExchange(nil, nil)
}

func TestTheLinkLeadsToWhereThePhoneReachesTheServer(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	for _, c := range []struct{ phones, guide, origin, want string }{
		{"", "", "http://localhost:8090", ""},
		{"", "", "http://127.0.0.1:8090", ""},
		{"", "", "http://[::1]:8090", ""},
		{"", "", "javascript:alert(1)", ""},
		{"", "", "", ""},
		{"", "", "https://bins.example.org", "https://bins.example.org"}, // behind somebody's own proxy
		{"https://192.168.7.20:8443", "http://192.168.7.20:8081", "http://localhost:8090", "https://192.168.7.20:8443"},
		{"https://192.168.7.20:8443", "", "https://shed.local:8443/x", "https://shed.local:8443"},
	} {
		server.Pairing.Reach(c.phones, c.guide)
		o := mustOffer(owner, map[string]string{"origin": c.origin})
		want := ""
		if c.want != "" {
			want = c.want + "/#/pair/" + o.Code
		}
		if o.Link != want || o.Guide != c.guide {
			t.Errorf("from %s: %+v", c.origin, o)
		}
	}
}

func TestGuessingIsSlow(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	o := mustOffer(owner, nil)
	limited := 0
	for range 20 {
		if status, _, _ := server.Call("POST", claim, "", code("22222-22222")); status == 429 {
			limited++
		}
	}
	if limited != 10 {
		t.Errorf("%d of 20 guesses in a row were held off, want 10", limited)
	}
	if status, _, _ := server.Call("POST", claim, "", code(o.Code)); status != 429 {
		t.Errorf("after many wrong ones the right one answers %d", status)
	}
}
