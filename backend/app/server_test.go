package app_test

import (
	"bufio"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// mustSuperuser makes a superuser and returns a token of it.
func mustSuperuser(t *testing.T, server *trial.Trial) string {
	t.Helper()
	collection, err := server.Store.App.FindCollectionByNameOrId(core.CollectionNameSuperusers)
	if err != nil {
		t.Fatal(err)
	}
	superuser := core.NewRecord(collection)
	superuser.SetEmail("keeper@example.org")
	superuser.SetPassword(trial.Password)
	if err := server.Store.App.Save(superuser); err != nil {
		t.Fatal(err)
	}
	token, err := superuser.NewAuthToken()
	if err != nil {
		t.Fatal(err)
	}
	return token
}

func TestAStartAfterAStopFindsEverything(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	var state struct{ State string }
	server.MustCall("GET", "/api/underlog/welcome", "", nil, 200, &state)
	if state.State != "empty" {
		t.Errorf("a new server is %q", state.State)
	}
	owner := server.MustSetUp("Europe/Berlin")
	bin := owner.Bin("Pied pillbugs")
	feeding := owner.Feed(bin.ID)
	owner.MustStore([]husbandry.Sheet{bin}, feeding)
	server.MustRestart()
	server.MustCall("GET", "/api/underlog/welcome", "", nil, 200, &state)
	if state.State != "ready" {
		t.Errorf("after a restart the server is %q", state.State)
	}
	epoch := owner.Epoch
	answer := owner.MustExchange(nil, []husbandry.Entry{feeding}) // the session still holds
	if answer.Epoch != epoch || answer.Verdicts[0].Verdict != store.Duplicate {
		t.Errorf("after a restart: %+v", answer)
	}
	server.MustSignIn("  robin ")
}

func TestASecondServerOnTheSameFolderDoesNotStart(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	first := server.Main
	defer func() { server.Main = first }()
	other := &trial.Trial{TB: expectFatal{TB: t}, Clock: server.Clock, Dir: server.Dir}
	defer func() {
		if recover() == nil {
			t.Error("it started")
		}
	}()
	other.MustOpen()
}

// expectFatal turns a fatal failure into a panic that a test can catch.
type expectFatal struct{ testing.TB }

func (expectFatal) Fatal(args ...any) { panic(args) }

func TestSetupSaysWhatIsWrong(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	sound := func() map[string]string {
		return map[string]string{"room": "Cellar", "name": "Robin", "password": trial.Password, "time_zone": "Europe/Berlin", "units": "us"}
	}
	for field, values := range map[string][]string{
		"room": {"", "   ", strings.Repeat("x", 81)}, "name": {"", "\t", strings.Repeat("x", 10000)},
		"password": {"", "short", strings.Repeat("x", 72)}, "time_zone": {"", "Berlin", "Local", "../../etc/passwd"}, "units": {"", "cubits"},
	} {
		for _, value := range values {
			wish := sound()
			wish[field] = value
			status, answer, _ := server.Call("POST", "/api/underlog/setup", "", wish)
			if status != 400 || !strings.Contains(string(answer), "give ") {
				t.Errorf("%s %.20q: %d %s", field, value, status, answer)
			}
		}
	}
	server.MustCall("POST", "/api/underlog/setup", "", []byte(`{"room":"Cel`), 400, nil)
	server.MustCall("POST", "/api/underlog/setup", "", sound(), 200, nil)
	server.MustCall("POST", "/api/underlog/setup", "", sound(), 409, nil)
}

func TestTheExampleComesAndGoes(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	var session struct{ Token string }
	server.MustCall("POST", "/api/underlog/example", "", map[string]string{"time_zone": "America/New_York", "units": "us"}, 200, &session)
	phone := &trial.Phone{Trial: server, Token: session.Token, Device: trial.NewID()}
	bins, entries, due := 0, 0, 0
	for more := true; more; {
		answer := phone.MustExchange(nil, nil)
		for _, sheet := range answer.Sheets {
			if sheet.Sheet == "bins" {
				bins++
			}
		}
		entries += len(answer.Entries)
		more = answer.More
	}
	server.MustAdvance(time.Minute)
	chores, err := server.Store.Chores()
	if err != nil {
		t.Fatal(err)
	}
	for _, chore := range chores {
		if chore.Due.Before(server.Clock.Now().Add(12 * time.Hour)) {
			due++
		}
	}
	if bins != 24 || entries < 1000 || due == 0 {
		t.Errorf("the example has %d bins, %d entries and %d chores due today", bins, entries, due)
	}
	epoch := phone.Epoch
	server.MustCall("DELETE", "/api/underlog/example", phone.Token, nil, 204, nil)
	server.MustCall("POST", "/api/underlog/exchange", phone.Token, phone.Request(nil, nil), 401, nil)
	owner := server.MustSetUp("Europe/Berlin")
	answer := owner.MustExchange(nil, nil)
	if answer.Epoch == epoch || len(answer.Entries) != 0 {
		t.Errorf("something of the example is left: epoch %s, %d entries", answer.Epoch, len(answer.Entries))
	}
	server.MustAdvance(2 * time.Hour)
	if chores, err := server.Store.Chores(); err != nil || len(chores) != 0 {
		t.Errorf("%d chores of the example are left (%v)", len(chores), err)
	}
	owner.MustCall("DELETE", "/api/underlog/example", owner.Token, nil, 409, nil)
}

func TestAnEditInTheDashboardTravels(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	superuser := mustSuperuser(t, server)
	owner := server.MustSetUp("Europe/Berlin")
	bin := owner.Bin("Pied pillbugs")
	owner.MustStore([]husbandry.Sheet{bin})
	owner.MustExchange(nil, nil)
	path := "/api/collections/bins/records/" + bin.ID
	server.MustCall("PATCH", path, superuser, map[string]any{"name": "Renamed", "shelf": 3}, 200, nil)
	answer := owner.MustExchange(nil, nil)
	if len(answer.Sheets) != 1 {
		t.Fatalf("%d sheets came", len(answer.Sheets))
	}
	got, err := husbandry.AsBin(answer.Sheets[0])
	if err != nil {
		t.Fatal(err)
	}
	if got.Name != "Renamed" || got.Shelf != 3 || got.LengthMM != 340 || len(got.Openings) != 1 {
		t.Errorf("the bin is now %+v", got)
	}
	for name, field := range answer.Sheets[0].Fields {
		edited := name == "name" || name == "shelf"
		if edited != strings.HasSuffix(string(field.Stamp), "-dashboard") {
			t.Errorf("%s carries the stamp %s", name, field.Stamp)
		}
	}
	// A later edit on the phone wins again, and nothing else is lost.
	server.Clock.Advance(time.Minute)
	owner.MustStore([]husbandry.Sheet{owner.Edit(bin, "name", "Mine")})
	if got, err := server.Store.Bin(bin.ID); err != nil || got.Name != "Mine" || got.Shelf != 3 {
		t.Errorf("the bin is now %+v (%v)", got, err)
	}
	// An edit that changes nothing makes no news; a wrong one is refused.
	cursor := owner.Cursor
	server.MustCall("PATCH", path, superuser, map[string]any{"name": "Mine"}, 200, nil)
	if answer := owner.MustExchange(nil, nil); answer.Cursor != cursor {
		t.Error("an edit that changes nothing was numbered")
	}
	server.MustCall("PATCH", path, superuser, map[string]any{"length_mm": 4e6}, 400, nil)
	server.MustCall("DELETE", path, superuser, nil, 400, nil)
}

func TestEntriesCannotBeEditedInTheDashboard(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	superuser := mustSuperuser(t, server)
	owner := server.MustSetUp("Europe/Berlin")
	bin := owner.Bin("Pied pillbugs")
	look := owner.Log(bin.ID, husbandry.Look, nil)
	owner.MustStore([]husbandry.Sheet{bin}, look)
	path := "/api/collections/logs/records"
	server.MustCall("GET", path+"/"+look.ID, superuser, nil, 200, nil)
	server.MustCall("PATCH", path+"/"+look.ID, superuser, map[string]any{"note": "no"}, 400, nil)
	server.MustCall("DELETE", path+"/"+look.ID, superuser, nil, 400, nil)
	server.MustCall("DELETE", "/api/collections/logs/truncate", superuser, nil, 400, nil)
	server.MustCall("POST", path, superuser, map[string]any{"what": "look", "at": "2026-05-28 10:00:00Z"}, 400, nil)
	server.MustCall("POST", "/api/sql", superuser, map[string]any{"query": "DELETE FROM logs"}, 404, nil)
	if count, err := server.Store.App.CountRecords(store.Logs); err != nil || count != 1 {
		t.Errorf("%d entries are left (%v)", count, err)
	}
}

// News reaches those who are signed in, and nobody else.
func TestTheNudge(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	heard, unheard := mustListen(t, server, owner.Token), mustListen(t, server, "")
	bin := owner.Bin("Pied pillbugs")
	owner.MustStore([]husbandry.Sheet{bin})
	select {
	case data := <-heard:
		var news struct{ Cursor int64 }
		if err := json.Unmarshal([]byte(data), &news); err != nil || news.Cursor != owner.Cursor {
			t.Errorf("the news is %s, want the cursor %d", data, owner.Cursor)
		}
	case <-time.After(5 * time.Second):
		t.Error("no news came")
	}
	select {
	case data := <-unheard:
		t.Errorf("nobody heard %s", data)
	case <-time.After(200 * time.Millisecond):
	}
}

// mustListen opens a realtime line and subscribes to everything there is.
func mustListen(t *testing.T, server *trial.Trial, token string) <-chan string {
	t.Helper()
	response, err := http.Get("http://" + server.Addr() + "/api/realtime")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { response.Body.Close() })
	lines := bufio.NewScanner(response.Body)
	var client struct{ ClientID string }
	for lines.Scan() {
		if data, found := strings.CutPrefix(lines.Text(), "data:"); found {
			if err := json.Unmarshal([]byte(data), &client); err != nil {
				t.Fatal(err)
			}
			break
		}
	}
	server.MustCall("POST", "/api/realtime", token, map[string]any{"clientId": client.ClientID,
		"subscriptions": []string{"news", "bins/*", "logs/*", "people/*"}}, 204, nil)
	data := make(chan string, 10)
	go func() {
		for lines.Scan() {
			if text, found := strings.CutPrefix(lines.Text(), "data:"); found {
				data <- text
			}
		}
	}()
	return data
}

func TestASensorsReading(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	var sensor struct{ ID, Token string }
	owner.MustCall("POST", "/api/underlog/sensors", owner.Token, map[string]string{"name": "Shelf"}, 201, &sensor)
	path, token := "/api/underlog/climate", "Bearer "+sensor.Token
	reading := map[string]any{"temperature_c": 0, "humidity_pct": 47}
	server.MustCall("POST", path, token, reading, 201, nil)
	server.Clock.Advance(time.Minute)
	server.MustCall("POST", path, token, reading, 200, nil) // too soon to be kept
	server.Clock.Advance(10 * time.Minute)
	server.MustCall("POST", path, token, map[string]any{"humidity_pct": 470}, 400, nil)
	server.MustCall("POST", path, token, map[string]any{}, 400, nil)
	server.MustCall("POST", path, token, []byte(`{"temp`), 400, nil)
	server.MustCall("POST", path, "Bearer wrong", reading, 401, nil)
	var got []husbandry.Entry
	for more := true; more; {
		answer := owner.MustExchange(nil, nil)
		got, more = append(got, answer.Entries...), answer.More
	}
	if len(got) != 1 || got[0].What != husbandry.Climate || *got[0].TemperatureC != 0 || *got[0].HumidityPct != 47 || got[0].By != "Shelf" {
		t.Errorf("the notebook has %+v", got)
	}
	owner.MustCall("DELETE", "/api/underlog/sensors/"+sensor.ID, owner.Token, nil, 204, nil)
	server.MustCall("POST", path, token, reading, 401, nil)
}

func TestAHelperWhoIsRemovedIsOut(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	bin := owner.Bin("Pied pillbugs")
	owner.MustStore([]husbandry.Sheet{bin})
	helper.MustStore(nil, helper.Log(bin.ID, husbandry.Look, nil))
	owner.MustCall("POST", "/api/underlog/people", owner.Token, map[string]string{"name": " kim ", "password": trial.Password}, 400, nil)
	owner.MustCall("DELETE", "/api/underlog/people/"+helper.Person.ID, owner.Token, nil, 204, nil)
	server.MustCall("POST", "/api/underlog/exchange", helper.Token, helper.Request(nil, nil), 401, nil)
	if answer := owner.MustExchange(nil, nil); len(answer.Entries) != 1 || len(answer.People) != 1 {
		t.Errorf("what the helper logged is gone: %+v", answer)
	}
}
