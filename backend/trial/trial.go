// Package trial starts the wired server for tests: a temporary folder, a free
// port, a clock that the test puts forward and a push service of its own. Its
// phones speak the exchange as the app does.
package trial

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/uuid"
	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/alerts"
	"underlog/backend/app"
	"underlog/backend/pushtest"
	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// A Trial is a running server.
type Trial struct {
	testing.TB
	*app.Main
	Clock *clockwork.FakeClock
	Push  *pushtest.Receiver
	Dir   string
	// Outbound is the way to the push services from the next start on.
	Outbound alerts.Outbound
}

// Noon is a good time to begin: nothing is quiet and no clock is about to be
// changed.
var Noon = time.Date(2026, 5, 28, 10, 0, 0, 0, time.UTC) // 12:00 in Berlin

// MustStart starts a server at an instant; it ends with the test.
func MustStart(tb testing.TB, at time.Time) *Trial {
	tb.Helper()
	t := &Trial{TB: tb, Clock: clockwork.NewFakeClockAt(at), Push: pushtest.Start(), Dir: tb.TempDir(), Outbound: alerts.Outbound{AnyEndpoint: true}}
	t.Push.Now = t.Clock.Now
	tb.Cleanup(t.Push.Close)
	mustLayOut(tb, t.Dir)
	t.MustOpen()
	tb.Cleanup(func() {
		if t.Main != nil {
			t.MustClose()
		}
	})
	return t
}

// fresh is a data folder as a first start leaves it; making it anew for every
// test would take most of their time.
var fresh struct {
	sync.Once
	folder string
}

func mustLayOut(tb testing.TB, folder string) {
	tb.Helper()
	must := func(err error) {
		if err != nil {
			tb.Fatal(err)
		}
	}
	fresh.Do(func() {
		made := filepath.Join(tb.TempDir(), "fresh")
		main, err := app.Start(app.Config{DataDir: made, Addr: "127.0.0.1:0", Clock: clockwork.NewFakeClockAt(Noon), Files: files, Log: slog.New(slog.DiscardHandler)})
		must(err)
		// Passwords that are quick to check: what they hold off is not tested here.
		people, err := main.Store.App.FindCollectionByNameOrId(store.People)
		must(err)
		people.Fields.GetByName("password").(*core.PasswordField).Cost = 4
		must(main.Store.App.Save(people))
		must(main.Close())
		fresh.folder, err = os.MkdirTemp("", "underlog-trial-*") // outlives this test
		must(err)
		must(os.CopyFS(fresh.folder, os.DirFS(made)))
	})
	must(os.CopyFS(folder, os.DirFS(fresh.folder)))
	// Keys and the epoch are each household's own.
	must(forget(filepath.Join(folder, "data.db")))
}

func forget(database string) error {
	db, err := store.Open(database)
	if err != nil {
		return err
	}
	_, err = db.NewQuery("DELETE FROM keys").Execute()
	return errors.Join(err, db.Close())
}

// MustOpen starts the server on its folder.
func (t *Trial) MustOpen() {
	t.Helper()
	var err error
	t.Main, err = app.Start(app.Config{
		DataDir: t.Dir, Addr: "127.0.0.1:0", Clock: t.Clock, Files: files,
		Log: slog.New(slog.DiscardHandler), Push: t.Outbound,
	})
	if err != nil {
		t.Fatal(err)
	}
}

var files = fstest.MapFS{
	"index.html":       {Data: []byte("<!doctype html><title>Underlog</title>")},
	"sw.js":            {Data: []byte("self")},
	"assets/app-1a.js": {Data: []byte(strings.Repeat("let a = 1;\n", 200))},
	"engine.wasm":      {Data: []byte("\x00asm")},
}

// MustClose stops the server, its folder stays.
func (t *Trial) MustClose() {
	t.Helper()
	if err := t.Main.Close(); err != nil {
		t.Error(err)
	}
	t.Main = nil
}

// MustRestart stops the server and starts it on the same folder.
func (t *Trial) MustRestart() {
	t.Helper()
	t.MustClose()
	t.MustOpen()
}

// MustAdvance puts the clock forward and does what fell due.
func (t *Trial) MustAdvance(by time.Duration) {
	t.Helper()
	t.Clock.Advance(by)
	if err := t.Alerts.Tick(); err != nil {
		t.Fatal(err)
	}
}

// Call asks the server; body may be nil, bytes, or anything that JSON can
// hold.
func (t *Trial) Call(method, path, token string, body any) (int, []byte, http.Header) {
	t.Helper()
	var reader io.Reader
	switch body := body.(type) {
	case nil:
	case []byte:
		reader = bytes.NewReader(body)
	default:
		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		reader = bytes.NewReader(raw)
	}
	request, err := http.NewRequest(method, "http://"+t.Addr()+path, reader)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/json")
	if token != "" {
		request.Header.Set("Authorization", token)
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	answer, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, answer, response.Header
}

// MustCall is Call where only one status is right; the answer goes into into,
// if there is one.
func (t *Trial) MustCall(method, path, token string, body any, status int, into any) {
	t.Helper()
	got, answer, _ := t.Call(method, path, token, body)
	if got != status {
		t.Fatalf("%s %s answered %d, want %d: %s", method, path, got, status, answer)
	}
	if into != nil {
		if err := json.Unmarshal(answer, into); err != nil {
			t.Fatalf("%s %s: %v in %s", method, path, err, answer)
		}
	}
}

// A Phone is a device in somebody's hands.
type Phone struct {
	*Trial
	Token  string
	Person store.Person
	Device string
	Epoch  string
	Cursor int64
}

// Password is everybody's.
const Password = "moss and bark"

type session struct {
	Token  string       `json:"token"`
	Record store.Person `json:"record"`
}

// MustSetUp begins a household in a time zone and returns its owner's phone.
func (t *Trial) MustSetUp(zone string) *Phone {
	t.Helper()
	var got session
	t.MustCall("POST", "/api/underlog/setup", "", map[string]string{
		"room": "Cellar", "name": "Robin", "password": Password, "time_zone": zone, "units": "metric"}, 200, &got)
	return &Phone{Trial: t, Token: got.Token, Person: got.Record, Device: NewID()}
}

// MustAddHelper has the owner add a helper and returns the helper's phone.
func (p *Phone) MustAddHelper(name string) *Phone {
	p.Helper()
	p.MustCall("POST", "/api/underlog/people", p.Token, map[string]string{"name": name, "password": Password}, 201, nil)
	return p.MustSignIn(name)
}

// MustSignIn signs somebody in on a new phone.
func (t *Trial) MustSignIn(name string) *Phone {
	t.Helper()
	var got session
	t.MustCall("POST", "/api/collections/people/auth-with-password", "", map[string]string{"identity": name, "password": Password}, 200, &got)
	return &Phone{Trial: t, Token: got.Token, Person: got.Record, Device: NewID()}
}

// An Answer is what an exchange answered.
type Answer struct {
	Protocol int               `json:"protocol"`
	Epoch    string            `json:"epoch"`
	Cursor   int64             `json:"cursor"`
	Durable  int64             `json:"durable"`
	At       time.Time         `json:"at"`
	Sheets   []husbandry.Sheet `json:"sheets"`
	Entries  []husbandry.Entry `json:"entries"`
	Verdicts []store.Verdict   `json:"verdicts"`
	People   []store.Person    `json:"people"`
	More     bool              `json:"more"`
}

// Request is an exchange's request as the phone would send it.
func (p *Phone) Request(sheets, entries any) map[string]any {
	return map[string]any{"protocol": 1, "device": p.Device, "epoch": p.Epoch, "cursor": p.Cursor,
		"at": p.Clock.Now().Format(time.RFC3339), "sheets": orNone(sheets), "entries": orNone(entries)}
}

func orNone(list any) any {
	if list == nil {
		return []any{}
	}
	return list
}

// MustExchange offers records, takes what is new and moves the cursor.
func (p *Phone) MustExchange(sheets, entries any) Answer {
	p.Helper()
	var answer Answer
	p.MustCall("POST", "/api/underlog/exchange", p.Token, p.Request(sheets, entries), 200, &answer)
	p.Epoch, p.Cursor = answer.Epoch, answer.Cursor
	return answer
}

// MustStore offers records that must all be stored.
func (p *Phone) MustStore(sheets []husbandry.Sheet, entries ...husbandry.Entry) Answer {
	p.Helper()
	answer := p.MustExchange(sheets, entries)
	for _, verdict := range answer.Verdicts {
		if verdict.Verdict != store.Stored {
			p.Fatalf("a record was not stored: %+v", verdict)
		}
	}
	return answer
}

// MustAllowAlerts subscribes the phone at the test's push service.
func (p *Phone) MustAllowAlerts() pushtest.Subscription {
	p.Helper()
	subscription := p.Push.Subscribe()
	p.MustCall("PUT", "/api/underlog/alerts", p.Token,
		map[string]any{"device": p.Device, "label": "Phone", "subscription": subscription}, 204, nil)
	return subscription
}

// MustSetAlerts changes what the phone is told, and when.
func (p *Phone) MustSetAlerts(change map[string]any) {
	p.Helper()
	p.MustCall("PUT", "/api/underlog/alerts/settings", p.Token, map[string]any{"device": p.Device, "settings": change}, 200, nil)
}

// Bin makes a bin as the phone would.
func (p *Phone) Bin(name string) husbandry.Sheet {
	p.Helper()
	bin := husbandry.CommonTub()
	bin.ID, bin.Name, bin.Rack, bin.Shelf, bin.Position, bin.Kind = NewID(), name, "Window", 2, 3, "armadillidium-vulgare"
	return p.Sheet("bins", bin)
}

// Sheet makes a whole sheet under one stamp of the phone.
func (p *Phone) Sheet(sort string, record any) husbandry.Sheet {
	p.Helper()
	sheet, err := husbandry.NewSheet(sort, record, p.Stamp())
	if err != nil {
		p.Fatal(err)
	}
	for name, field := range sheet.Fields {
		if string(field.Value) == `""` {
			delete(sheet.Fields, name)
		}
	}
	return sheet
}

// Stamp is a stamp of the phone at the clock's time.
func (p *Phone) Stamp() husbandry.Stamp { return husbandry.NextStamp(p.Clock.Now(), p.Device, "") }

// Edit is a partial sheet that sets one field.
func (p *Phone) Edit(sheet husbandry.Sheet, field string, value any) husbandry.Sheet {
	p.Helper()
	raw, err := json.Marshal(value)
	if err != nil {
		p.Fatal(err)
	}
	return husbandry.Sheet{Sheet: sheet.Sheet, ID: sheet.ID,
		Fields: map[string]husbandry.Stamped{field: {Value: raw, Stamp: p.Stamp()}}}
}

// Log makes an entry of the phone at the clock's time.
func (p *Phone) Log(bin, what string, more func(*husbandry.Entry)) husbandry.Entry {
	entry := husbandry.Entry{ID: NewID(), Bin: bin, At: p.Clock.Now().UTC(), What: what, By: p.Person.ID, Device: p.Device}
	if more != nil {
		more(&entry)
	}
	return entry
}

// Feed is a feeding of melon.
func (p *Phone) Feed(bin string) husbandry.Entry {
	return p.Log(bin, husbandry.Feed, func(e *husbandry.Entry) { e.Food, e.Pieces = "melon", 2 })
}

// AllGone is the look at a feeding of which nothing is left.
func (p *Phone) AllGone(feeding husbandry.Entry) husbandry.Entry {
	return p.Log(feeding.Bin, husbandry.Leftovers, func(e *husbandry.Entry) {
		e.Of, e.Left, e.Mould = feeding.ID, "all gone", "none"
	})
}

// NewID makes an id as devices do.
func NewID() string {
	return strings.ReplaceAll(uuid.Must(uuid.NewV7()).String(), "-", "")
}
