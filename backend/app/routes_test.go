package app_test

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// A row says what a route answers to nobody, to a helper and to the owner.
type row struct {
	route                 string // as the router knows it
	path                  string // as it is asked for; the route's own where empty
	body                  string
	nobody, helper, owner int
}

// The table is read together with design: deny by default; the owner may do
// everything that the app does, a helper may exchange and read and has power
// over no other person; the superuser's routes are closed to all three.
// {bin}, {log}, {chore}, {device}, {sensor}, {person} stand for ids of
// records that exist, {mine} for the id of whoever asks.
var table = []row{
	// The app's own routes. What would end the household comes last.
	{"GET /api/underlog/welcome", "", "", 200, 200, 200},
	{"POST /api/underlog/setup", "", `{"room":"x","name":"y","password":"12345678","time_zone":"UTC","units":"us"}`, 409, 409, 409},
	{"POST /api/underlog/example", "", `{"time_zone":"UTC","units":"us"}`, 409, 409, 409},
	{"DELETE /api/underlog/example", "", "", 401, 403, 409},
	{"POST /api/underlog/exchange", "", `{"protocol":1,"device":"0123456789abcdef0123456789abcdef"}`, 401, 200, 200},
	{"GET /api/underlog/alerts", "/api/underlog/alerts?device=0123456789abcdef0123456789abcdef", "", 401, 200, 200},
	{"PUT /api/underlog/alerts", "", `{"device":"0123456789abcdef0123456789abcdef"}`, 401, 400, 400},
	{"DELETE /api/underlog/alerts", "", `{"device":"0123456789abcdef0123456789abcdef"}`, 401, 204, 204},
	{"PUT /api/underlog/alerts/settings", "", `{"device":"0123456789abcdef0123456789abcdef","settings":{"weekly_cap":5}}`, 401, 200, 200},
	{"PUT /api/underlog/alerts/contact", "", `{"contact":"keeper@example.org"}`, 401, 403, 200},
	{"POST /api/underlog/alerts/snooze", "", `{"device":"0123456789abcdef0123456789abcdef","until":"tomorrow"}`, 401, 200, 200},
	{"POST /api/underlog/alerts/keep", "", `{"device":"0123456789abcdef0123456789abcdef","sort":"leftovers"}`, 401, 204, 204},
	{"POST /api/underlog/alerts/test", "", `{"device":"0123456789abcdef0123456789abcdef"}`, 401, 409, 409},
	{"GET /api/underlog/book", "", "", 401, 403, 200},
	{"POST /api/underlog/book", "/api/underlog/book?dry=true", `{"type":"book","version":1,"time_zone":"UTC"}`, 401, 403, 200},
	{"POST /api/underlog/people", "", `{"name":"","password":""}`, 401, 403, 400},
	{"DELETE /api/underlog/people/{id}", "/api/underlog/people/nobodyatall0000", "", 401, 403, 404},
	{"DELETE /api/underlog/people/{id}", "/api/underlog/people/{owner}", "", 401, 403, 400},
	{"POST /api/underlog/sensors", "", `{"name":""}`, 401, 403, 400},
	{"DELETE /api/underlog/sensors/{id}", "/api/underlog/sensors/nosensoratall00", "", 401, 403, 404},
	{"GET /api/underlog/sessions", "", "", 401, 200, 200},
	{"DELETE /api/underlog/sessions/{id}", "/api/underlog/sessions/nosuchsession00", "", 401, 404, 404},
	{"DELETE /api/underlog/sessions/{id}", "/api/underlog/sessions/{session}", "", 401, 404, 204}, // an owner's
	{"GET /api/underlog/pairing", "", "", 401, 200, 200},
	{"POST /api/underlog/pairing", "", `{}`, 401, 201, 201},
	{"POST /api/underlog/pairing", "", `{"helper":"Sam"}`, 401, 403, 201},
	{"POST /api/underlog/pairing", "", `{"person":"{owner}"}`, 401, 403, 201},
	{"POST /api/underlog/pairing", "", `{"person":"nobodyatall0000"}`, 401, 403, 404},
	{"DELETE /api/underlog/pairing", "", "", 401, 204, 204},
	{"POST /api/underlog/pairing/claim", "", `{"code":"22222-22222"}`, 400, 400, 400},
	{"POST /api/underlog/labels", "", `{}`, 401, 400, 400},
	{"POST /api/underlog/visit-sheet", "", `{}`, 401, 403, 400},
	{"GET /api/underlog/calendars", "", "", 401, 200, 200},
	{"POST /api/underlog/calendars", "", `{"of":"room","name":"Phone"}`, 401, 201, 201},
	{"POST /api/underlog/calendars", "", `{"of":"trip","name":"Next door"}`, 401, 403, 400}, // of no trip
	{"POST /api/underlog/calendars/{id}/link", "/api/underlog/calendars/nosuchlink00000/link", "", 401, 404, 404},
	{"POST /api/underlog/calendars/{id}/link", "/api/underlog/calendars/{calendar}/link", "", 401, 404, 200}, // an owner's
	{"DELETE /api/underlog/calendars/{id}", "/api/underlog/calendars/nosuchlink00000", "", 401, 404, 404},
	{"DELETE /api/underlog/calendars/{id}", "/api/underlog/calendars/{calendar}", "", 401, 404, 204},
	{"GET /api/underlog/calendar/{file}", "{link}", "", 200, 200, 200}, // whoever has the link
	{"GET /api/underlog/calendar/{file}", "/api/underlog/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAA.ics", "", 404, 404, 404},
	{"GET /api/underlog/calendar/{file}", "/api/underlog/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAA", "", 404, 404, 404},
	{"GET /api/underlog/honesty", "", "", 401, 200, 200},
	{"POST /api/underlog/climate", "", `{"temperature_c":20}`, 401, 401, 401}, // a person's token is no sensor's
	{"GET /api/underlog/photos", "", "", 401, 200, 200},
	{"HEAD /api/underlog/photos/{name}", "/api/underlog/photos/" + named, "", 401, 200, 200},
	{"HEAD /api/underlog/photos/{name}", "/api/underlog/photos/" + unnamed, "", 401, 404, 404},
	{"GET /api/underlog/photos/{name}", "/api/underlog/photos/" + named, "", 401, 404, 404}, // it has not come yet
	{"GET /api/underlog/photos/{name}", "/api/underlog/photos/passwd", "", 401, 400, 400},
	{"PATCH /api/underlog/photos/{name}", "/api/underlog/photos/" + named, "x", 401, 413, 413}, // says no length
	{"PATCH /api/underlog/photos/{name}", "/api/underlog/photos/" + unnamed, "x", 401, 404, 404},
	{"GET /api/underlog/passes", "", "", 401, 403, 200},
	{"POST /api/underlog/passes", "", `{}`, 401, 403, 400},
	{"POST /api/underlog/passes", "", `{"trip":"{trip}","sitter":"Sam"}`, 401, 403, 201},
	{"DELETE /api/underlog/passes/{id}", "/api/underlog/passes/nopassatall0000", "", 401, 403, 404},
	{"GET /api/underlog/passes/rehearsal/{trip}", "/api/underlog/passes/rehearsal/{trip}", "", 401, 403, 200},
	{"GET /api/underlog/pass/view", "", "", 401, 401, 401}, // a person's token is no pass
	{"POST /api/underlog/pass/exchange", "", `{"protocol":1,"device":"0123456789abcdef0123456789abcdef"}`, 401, 401, 401},
	{"HEAD /api/underlog/pass/photos/{name}", "/api/underlog/pass/photos/" + named, "", 401, 401, 401},
	{"GET /api/underlog/pass/photos/{name}", "/api/underlog/pass/photos/" + named, "", 401, 401, 401},
	{"PATCH /api/underlog/pass/photos/{name}", "/api/underlog/pass/photos/" + named, "x", 401, 401, 401},
	{"GET /{path...}", "/", "", 200, 200, 200},
	{"GET /{path...}", "/assets/none.js", "", 404, 404, 404},
	{"GET /{path...}", "/api/nothing", "", 404, 404, 404},

	// Records. A list that somebody may not read is empty or forbidden, never
	// a way to learn what exists; readsOf looks at what comes back.
	{"GET /api/collections/{collection}/records", "/api/collections/bins/records", "", 200, 200, 200},
	{"GET /api/collections/{collection}/records", "/api/collections/logs/records", "", 200, 200, 200},
	{"GET /api/collections/{collection}/records", "/api/collections/keys/records", "", 403, 403, 403},
	{"GET /api/collections/{collection}/records", "/api/collections/deliveries/records", "", 403, 403, 403},
	{"GET /api/collections/{collection}/records", "/api/collections/_superusers/records", "", 403, 403, 403},
	{"GET /api/collections/{collection}/records/{id}", "/api/collections/bins/records/{bin}", "", 404, 200, 200},
	{"GET /api/collections/{collection}/records/{id}", "/api/collections/logs/records/{log}", "", 404, 200, 200},
	{"GET /api/collections/{collection}/records/{id}", "/api/collections/devices/records/{device}", "", 404, 404, 200},
	{"GET /api/collections/{collection}/records/{id}", "/api/collections/sensors/records/{sensor}", "", 404, 404, 200},
	{"GET /api/collections/{collection}/records/{id}", "/api/collections/people/records/{owner}", "", 404, 200, 200},
	{"GET /api/collections/{collection}/records/{id}", "/api/collections/passes/records/{pass}", "", 404, 404, 200},
	{"POST /api/collections/{collection}/records", "/api/collections/passes/records", `{"trip":"x","sitter":"x"}`, 403, 403, 403},
	{"PATCH /api/collections/{collection}/records/{id}", "/api/collections/passes/records/{pass}", `{"revoked_at":""}`, 403, 403, 403},
	{"DELETE /api/collections/{collection}/records/{id}", "/api/collections/passes/records/{pass}", "", 403, 403, 403},
	{"POST /api/collections/{collection}/records", "/api/collections/logs/records", `{"what":"look"}`, 403, 403, 403},
	{"POST /api/collections/{collection}/records", "/api/collections/bins/records", `{"name":"x"}`, 403, 403, 403},
	{"POST /api/collections/{collection}/records", "/api/collections/people/records", `{"username":"x","name":"x","role":"owner","password":"12345678","passwordConfirm":"12345678"}`, 403, 403, 403},
	{"POST /api/collections/{collection}/records", "/api/collections/chores/records", `{}`, 403, 403, 403},
	{"POST /api/collections/{collection}/records", "/api/collections/devices/records", `{}`, 403, 403, 403},
	{"PATCH /api/collections/{collection}/records/{id}", "/api/collections/logs/records/{log}", `{"note":"x"}`, 403, 403, 403},
	{"PATCH /api/collections/{collection}/records/{id}", "/api/collections/bins/records/{bin}", `{"name":"x"}`, 403, 403, 403},
	{"PATCH /api/collections/{collection}/records/{id}", "/api/collections/people/records/{mine}", `{"role":"owner"}`, 403, 403, 403},
	{"DELETE /api/collections/{collection}/records/{id}", "/api/collections/logs/records/{log}", "", 403, 403, 403},
	{"DELETE /api/collections/{collection}/records/{id}", "/api/collections/bins/records/{bin}", "", 403, 403, 403},
	{"DELETE /api/collections/{collection}/records/{id}", "/api/collections/people/records/{owner}", "", 403, 403, 403},
	{"DELETE /api/collections/{collection}/records/{id}", "/api/collections/devices/records/{device}", "", 403, 403, 403},

	// Signing in.
	{"GET /api/collections/{collection}/auth-methods", "/api/collections/people/auth-methods", "", 200, 200, 200},
	{"GET /api/collections/{collection}/auth-methods", "/api/collections/bins/auth-methods", "", 404, 404, 404},
	{"POST /api/collections/{collection}/auth-refresh", "/api/collections/people/auth-refresh", "", 401, 200, 200},
	{"POST /api/collections/{collection}/auth-with-password", "/api/collections/people/auth-with-password", `{"identity":"Robin","password":"wrong wrong"}`, 400, 400, 400},
	{"POST /api/collections/{collection}/auth-with-password", "/api/collections/people/auth-with-password", `{"identity":"Nobody","password":"wrong wrong"}`, 400, 400, 400},
	{"POST /api/collections/{collection}/auth-with-oauth2", "/api/collections/people/auth-with-oauth2", `{}`, 403, 403, 403},
	{"POST /api/collections/{collection}/request-otp", "/api/collections/people/request-otp", `{"email":"a@example.org"}`, 403, 403, 403},
	{"POST /api/collections/{collection}/auth-with-otp", "/api/collections/people/auth-with-otp", `{"otpId":"x","password":"y"}`, 403, 403, 403},
	{"POST /api/collections/{collection}/request-password-reset", "/api/collections/people/request-password-reset", `{"email":"a@example.org"}`, 204, 204, 204},
	{"POST /api/collections/{collection}/confirm-password-reset", "/api/collections/people/confirm-password-reset", `{}`, 400, 400, 400},
	{"POST /api/collections/{collection}/request-verification", "/api/collections/people/request-verification", `{"email":"a@example.org"}`, 204, 204, 204},
	{"POST /api/collections/{collection}/confirm-verification", "/api/collections/people/confirm-verification", `{}`, 400, 400, 400},
	{"POST /api/collections/{collection}/request-email-change", "/api/collections/people/request-email-change", `{}`, 401, 400, 400},
	{"POST /api/collections/{collection}/confirm-email-change", "/api/collections/people/confirm-email-change", `{}`, 400, 400, 400},
	{"POST /api/collections/{collection}/impersonate/{id}", "/api/collections/people/impersonate/{owner}", "", 401, 403, 403},
	{"GET /api/oauth2-redirect", "", "", 307, 307, 307},
	{"POST /api/oauth2-redirect", "", "", 303, 303, 303},

	// The superuser's.
	{"GET /api/settings", "", "", 401, 403, 403},
	{"PATCH /api/settings", "", `{}`, 401, 403, 403},
	{"POST /api/settings/test/s3", "", `{}`, 401, 403, 403},
	{"POST /api/settings/test/email", "", `{}`, 401, 403, 403},
	{"POST /api/settings/apple/generate-client-secret", "", `{}`, 401, 403, 403},
	{"GET /api/collections", "", "", 401, 403, 403},
	{"POST /api/collections", "", `{}`, 401, 403, 403},
	{"GET /api/collections/{collection}", "/api/collections/bins", "", 401, 403, 403},
	{"PATCH /api/collections/{collection}", "/api/collections/bins", `{}`, 401, 403, 403},
	{"DELETE /api/collections/{collection}", "/api/collections/bins", "", 401, 403, 403},
	{"DELETE /api/collections/{collection}/truncate", "/api/collections/logs/truncate", "", 401, 403, 403},
	{"PUT /api/collections/import", "", `{}`, 401, 403, 403},
	{"GET /api/collections/meta/scaffolds", "", "", 401, 403, 403},
	{"GET /api/collections/meta/oauth2-providers", "", "", 401, 403, 403},
	{"POST /api/collections/meta/dry-run-view", "", `{}`, 401, 403, 403},
	{"GET /api/logs", "", "", 401, 403, 403},
	{"GET /api/logs/stats", "", "", 401, 403, 403},
	{"GET /api/logs/{id}", "/api/logs/abcdefabcdefabc", "", 401, 403, 403},
	{"GET /api/backups", "", "", 401, 403, 403},
	{"POST /api/backups", "", `{}`, 401, 403, 403},
	{"POST /api/backups/upload", "", `{}`, 401, 403, 403},
	{"GET /api/backups/{key}", "/api/backups/x.zip", "", 403, 403, 403},
	{"DELETE /api/backups/{key}", "/api/backups/x.zip", "", 401, 403, 403},
	{"POST /api/backups/{key}/restore", "/api/backups/x.zip/restore", "", 401, 403, 403},
	{"GET /api/crons", "", "", 401, 403, 403},
	{"POST /api/crons/{id}", "/api/crons/x", "", 401, 403, 403},
	{"POST /api/sql", "", `{"query":"SELECT 1"}`, 404, 404, 404},
	{"POST /api/files/token", "", "", 401, 200, 200},
	{"GET /api/files/{collection}/{recordId}/{filename}", "/api/files/bins/{bin}/x.png", "", 404, 404, 404},
	{"GET /api/files/{collection}/{recordId}/{filename}", "/api/files/photos/" + named + "/photo.jpg", "", 404, 404, 404},
	{"GET /api/collections/{collection}/records", "/api/collections/photos/records", "", 200, 200, 200},
	{"POST /api/collections/{collection}/records", "/api/collections/photos/records", `{}`, 403, 403, 403},
	{"DELETE /api/collections/{collection}/records/{id}", "/api/collections/photos/records/" + named, "", 403, 403, 403},
	{"POST /api/batch", "", `{"requests":[]}`, 403, 403, 403},
	{"GET /api/realtime", "", "", 200, 200, 200}, // a line on which nobody hears anything
	{"POST /api/realtime", "", `{"clientId":"x","subscriptions":["news"]}`, 404, 404, 404},
	{"GET /api/health", "", "", 200, 200, 200},
}

// Names of a photo that an entry names and of one that none does.
var named, unnamed = strings.Repeat("ab", 32), strings.Repeat("cd", 32)

// A tenancy is a household of which every record of the table is there.
type tenancy struct {
	*trial.Trial
	owner, helper *trial.Phone
	sitter        *trial.Sitter
	ids           map[string]string
}

func mustTenant(t *testing.T) *tenancy {
	t.Helper()
	server := trial.MustStart(t, trial.Noon)
	server.Store.App.Settings().RateLimits.Enabled = false // signing in wrongly is part of the table
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	bin := owner.Bin("Pied pillbugs")
	look := owner.Log(bin.ID, husbandry.Look, nil)
	photo := owner.Log(bin.ID, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = named })
	trip, sheet := owner.Trip(1, 14, bin.ID)
	owner.MustStore([]husbandry.Sheet{bin, sheet}, look, photo)
	var sensor struct{ ID string }
	owner.MustCall("POST", "/api/underlog/sensors", owner.Token, map[string]string{"name": "Shelf"}, 201, &sensor)

	var asked, other struct{ ID, Path string }
	owner.MustCall("POST", "/api/underlog/calendars", owner.Token, map[string]string{"of": "room", "name": "Desk"}, 201, &asked)
	owner.MustCall("POST", "/api/underlog/calendars", owner.Token, map[string]string{"of": "room", "name": "Wall"}, 201, &other)

	second := server.MustSignIn("Robin")
	sitter := owner.MustMakePass(trip.ID, "Jo", nil)
	return &tenancy{server, owner, helper, sitter, map[string]string{"{trip}": trip.ID, "{pass}": sitter.Pass, "{session}": mustSession(t, second), "{bin}": bin.ID, "{log}": look.ID, "{sensor}": sensor.ID, "{calendar}": other.ID, "{link}": asked.Path, "{owner}": owner.Person.ID,
		"{device}": store.DeviceID(owner.Person.ID, owner.Device)}}
}

// answer is the status of a row's route for who comes with a token.
func (h *tenancy) answer(t *testing.T, r row, token, mine string) (asked string, status int) {
	t.Helper()
	fill := func(path string) string {
		for place, id := range h.ids {
			path = strings.ReplaceAll(path, place, id)
		}
		return strings.ReplaceAll(path, "{mine}", mine)
	}
	method, path, _ := strings.Cut(r.route, " ")
	if r.path != "" {
		path = r.path
	}
	return method + " " + path, ask(t, "http://"+h.Addr()+fill(path), method, token, fill(r.body))
}

func TestEveryRouteForEveryRole(t *testing.T) {
	h := mustTenant(t)
	owner, helper := h.owner, h.helper
	listed := map[string]bool{}
	for _, r := range table {
		listed[r.route] = true
		for _, who := range []struct {
			name, token, id string
			want            int
		}{
			{"nobody", "", "nobodyatall0000", r.nobody},
			{"a helper", helper.Token, helper.Person.ID, r.helper},
			{"the owner", owner.Token, owner.Person.ID, r.owner},
		} {
			if asked, got := h.answer(t, r, who.token, who.id); got != who.want {
				t.Errorf("%s answers %d to %s, want %d", asked, got, who.name, who.want)
			}
		}
	}
	for _, route := range mustRoutes(t, h.Trial) {
		if !listed[route] {
			t.Errorf("the table does not know %s", route)
		}
	}
}

// What a pass opens, by when it is asked for; at every other route of the table
// its holder is nobody.
var stages = []struct {
	name                   string
	after                  time.Duration // since the pass was made; the trip is from the next day on for a fortnight
	revoked                bool
	view, exchange, photos int
}{
	{"before the trip", 0, false, 200, 200, 404},
	{"on the trip", 5 * 24 * time.Hour, false, 200, 200, 404},
	{"on the day of grace", 16 * 24 * time.Hour, false, 200, 200, 404},
	{"after it", 18 * 24 * time.Hour, false, 410, 200, 404},
	{"a month after it", 48 * 24 * time.Hour, false, 410, 410, 410},
	{"ended before the trip", 0, true, 403, 403, 403},
	{"ended on the trip", 5 * 24 * time.Hour, true, 403, 403, 403},
	{"ended, a month after it", 48 * 24 * time.Hour, true, 403, 403, 403},
}

func TestEveryRouteForASitter(t *testing.T) {
	for _, stage := range stages {
		t.Run(stage.name, func(t *testing.T) {
			h := mustTenant(t)
			h.Clock.Advance(stage.after)
			if stage.revoked {
				h.MustCall("DELETE", "/api/underlog/passes/"+h.sitter.Pass, h.owner.Token, nil, 204, nil)
			}
			for _, r := range table {
				want := r.nobody
				switch _, path, _ := strings.Cut(r.route, " "); {
				case path == "/api/underlog/pass/view":
					want = stage.view
				case path == "/api/underlog/pass/exchange":
					want = stage.exchange
				case strings.HasPrefix(path, "/api/underlog/pass/photos/"):
					want = stage.photos
				}
				if asked, got := h.answer(t, r, h.sitter.Token(), h.sitter.Person); got != want {
					t.Errorf("%s answers %d, want %d", asked, got, want)
				}
			}
		})
	}
}

// mustSession is the id of the session of a phone.
func mustSession(t *testing.T, phone *trial.Phone) string {
	t.Helper()
	var sessions []struct {
		ID   string
		Here bool
	}
	phone.MustCall("GET", "/api/underlog/sessions", phone.Token, nil, 200, &sessions)
	for _, session := range sessions {
		if session.Here {
			return session.ID
		}
	}
	t.Fatalf("no session is here: %+v", sessions)
	return ""
}

// ask returns the status alone: one of the routes never ends its answer.
func ask(t *testing.T, url, method, token, body string) int {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/json")
	if token != "" {
		request.Header.Set("Authorization", token)
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	response, err := client.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	return response.StatusCode
}

// What each role reads of each collection, and that nothing secret is in it.
func TestWhatEachRoleReads(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	bin := owner.Bin("Pied pillbugs")
	trip, sheet := owner.Trip(1, 14)
	owner.MustStore([]husbandry.Sheet{bin, sheet}, owner.Feed(bin.ID))
	sitter := owner.MustMakePass(trip.ID, "Jo", nil)
	owner.MustAllowAlerts()
	helper.MustAllowAlerts()
	owner.MustCall("POST", "/api/underlog/sensors", owner.Token, map[string]string{"name": "Shelf"}, 201, nil)
	owner.MustCall("POST", "/api/underlog/calendars", owner.Token, map[string]string{"of": "room", "name": "Desk"}, 201, nil)
	owner.MustAdvance(time.Minute)
	chores, err := server.Store.Chores()
	if err != nil || len(chores) == 0 {
		t.Fatalf("there are %d chores (%v)", len(chores), err)
	}

	windows, err := server.Store.App.CountRecords("windows")
	if err != nil {
		t.Fatal(err)
	}

	cases := []struct {
		collection    string
		helper, owner int // records; -1 where the collection is closed
	}{
		{"rooms", 1, 1}, {"bins", 1, 1}, {"kinds", len(husbandry.Kinds()), len(husbandry.Kinds())},
		{"foods", len(husbandry.Foods()), len(husbandry.Foods())}, {"trips", 1, 1}, {"batches", 0, 0}, {"mixes", 0, 0}, {"stock", 0, 0}, {"supplies", 0, 0}, {"passes", 0, 1}, {"logs", 1, 1}, {"people", 2, 2},
		{"chores", len(chores), len(chores)}, {"photos", 0, 0}, {"windows", int(windows), int(windows)},
		{"sessions", 1, 2}, {"calendars", 0, 1}, {"devices", 1, 2}, {"sensors", 0, 1}, {"deliveries", -1, -1}, {"keys", -1, -1}, {"_superusers", -1, -1},
	}
	collections, err := server.Store.App.FindAllCollections()
	if err != nil {
		t.Fatal(err)
	}
	for _, collection := range collections {
		known := collection.System // PocketBase's own, closed to all but superusers
		for _, c := range cases {
			known = known || c.collection == collection.Name
		}
		if !known {
			t.Errorf("the table does not know the collection %s", collection.Name)
		}
	}
	for _, c := range cases {
		path := "/api/collections/" + c.collection + "/records?perPage=500"
		nobody := 0
		if c.helper < 0 {
			nobody = -1
		}
		for _, who := range []struct {
			name, token string
			want        int
		}{{"nobody", "", nobody}, {"a sitter", sitter.Token(), nobody}, {"a helper", helper.Token, c.helper}, {"the owner", owner.Token, c.owner}} {
			status, answer, _ := server.Call("GET", path, who.token, nil)
			var page struct{ Items []json.RawMessage }
			got := -1
			if status == 200 {
				if err := json.Unmarshal(answer, &page); err != nil {
					t.Fatal(err)
				}
				got = len(page.Items)
			}
			if got != who.want {
				t.Errorf("%s reads %d records of %s, want %d", who.name, got, c.collection, who.want)
			}
			for _, secret := range []string{"p256dh", "endpoint", "tokenKey", `"password"`, `"hash"`} {
				if bytes.Contains(answer, []byte(secret)) {
					t.Errorf("%s reads %s in %s", who.name, secret, c.collection)
				}
			}
		}
	}
}

// A helper may name the owner's device, which every entry made on it does,
// and has no power over it.
func TestAHelperCannotTouchAnothersAlerts(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	owner.MustAllowAlerts()
	helper.Device = owner.Device
	helper.MustAllowAlerts()
	helper.MustExchange(nil, nil)
	helper.MustCall("DELETE", "/api/underlog/alerts", helper.Token, map[string]string{"device": owner.Device}, 204, nil)
	var state struct{ Subscribed bool }
	owner.MustCall("GET", "/api/underlog/alerts?device="+owner.Device, owner.Token, nil, 200, &state)
	if !state.Subscribed {
		t.Error("the owner's phone takes no alerts any more")
	}
}

// mustRoutes returns every route of the server as METHOD PATH.
func mustRoutes(t *testing.T, server *trial.Trial) []string {
	t.Helper()
	router, err := apis.NewRouter(server.Store.App)
	if err != nil {
		t.Fatal(err)
	}
	server.Bind(&core.ServeEvent{App: server.Store.App, Router: router})
	var routes []string
	// The router tells nobody what it holds, so it is looked into.
	var walk func(group reflect.Value, prefix string)
	walk = func(group reflect.Value, prefix string) {
		children := group.FieldByName("children")
		for i := range children.Len() {
			child := children.Index(i).Elem().Elem()
			if path := child.FieldByName("Path"); path.IsValid() {
				routes = append(routes, child.FieldByName("Method").String()+" "+prefix+path.String())
				continue
			}
			walk(child, prefix+child.FieldByName("Prefix").String())
		}
	}
	walk(reflect.ValueOf(router.RouterGroup).Elem(), "")
	if len(routes) < 60 {
		t.Fatalf("only %d routes were found", len(routes))
	}
	return routes
}
