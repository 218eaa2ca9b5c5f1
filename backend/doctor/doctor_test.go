package doctor

import (
	"bytes"
	"crypto/tls"
	"encoding/json"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"underlog/backend/reach"
	"underlog/backend/store"
	"underlog/backend/trial"
)

// A service stands in for every push service: how far its clock is behind the
// visit's, and whether it answers.
type service struct {
	now  func() time.Time
	off  time.Duration
	away bool
}

func (s service) RoundTrip(*http.Request) (*http.Response, error) {
	if s.away {
		return nil, errors.New("no route to host")
	}
	header := http.Header{"Date": {s.now().Add(-s.off).UTC().Format(http.TimeFormat)}}
	return &http.Response{StatusCode: 404, Status: "404 Not Found", Header: header, Body: http.NoBody}, nil
}

func mustVisit(t *testing.T, server *trial.Trial, s service) map[string]Finding {
	t.Helper()
	if err := os.Chmod(server.Dir, 0o700); err != nil {
		t.Fatal(err)
	}
	s.now = server.Clock.Now
	v := &Visit{Data: server.Dir, Now: server.Clock.Now, Local: time.UTC, Push: &http.Client{Transport: s}}
	found := map[string]Finding{}
	for _, f := range v.Look(t.Context()) {
		found[f.Name] = f
		if f.Says == "" || f.State == Bad && f.Do == "" {
			t.Errorf("%+v does not say what is wrong, or what to do", f)
		}
	}
	return found
}

func expect(t *testing.T, found map[string]Finding, name, state, words string) {
	t.Helper()
	f, there := found[name]
	if !there || f.State != state || !strings.Contains(f.Says+" "+f.Do, words) {
		t.Errorf("%s is %+v, want %s with %q", name, f, state, words)
	}
}

func mustKeep(t *testing.T, server *trial.Trial, s reach.Serving) {
	t.Helper()
	if s.Here == "" {
		s.Here = server.URL()
	}
	if err := s.Keep(server.Dir); err != nil {
		t.Fatal(err)
	}
}

func TestAComputerAlone(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	server.MustSetUp("Europe/Berlin")
	found := mustVisit(t, server, service{})
	expect(t, found, "server", Unknown, "not running")
	mustKeep(t, server, reach.Serving{Way: reach.ThisComputer})
	found = mustVisit(t, server, service{})
	expect(t, found, "data folder", Good, "closed")
	expect(t, found, "server", Good, "answers")
	expect(t, found, "secure address", Bad, "--home")
	expect(t, found, "keys", Good, "belong together")
	expect(t, found, "contact", Mind, "e-mail")
	expect(t, found, "push service", Good, "answers")
	expect(t, found, "clock", Good, "within 1s")
	expect(t, found, "time zone", Good, "Europe/Berlin, where it is 12:00 on Thursday")
	expect(t, found, "devices", Mind, "No device")
	mustKeep(t, server, reach.Serving{Way: reach.ThisComputer, Here: "http://127.0.0.1:1"})
	expect(t, mustVisit(t, server, service{}), "server", Bad, "killed")
}

func TestWhatStandsInTheWay(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	expect(t, mustVisit(t, server, service{off: 6 * time.Minute}), "clock", Bad, "6m0s ahead")
	expect(t, mustVisit(t, server, service{off: -6 * time.Minute}), "clock", Bad, "6m0s behind")
	expect(t, mustVisit(t, server, service{off: 4 * time.Minute}), "clock", Good, "4m0s")
	away := mustVisit(t, server, service{away: true})
	expect(t, away, "push service", Bad, "no route to host")
	expect(t, away, "clock", Unknown, "could not be compared")

	owner.MustAllowAlerts()
	found := mustVisit(t, server, service{})
	expect(t, found, "devices", Good, "1 device")
	expect(t, found, "push service", Good, "127.0.0.1 answers") // the one that the device uses
	if err := server.Store.NoteAnswer(store.DeviceID(owner.Person.ID, owner.Device), 403, "no"); err != nil {
		t.Fatal(err)
	}
	expect(t, mustVisit(t, server, service{}), "devices", Mind, "Phone (403 Forbidden)")

	for _, c := range []struct{ key, value, words string }{
		{store.KeyVAPIDPrivate, "AAAA", "do not belong together"}, {store.KeyVAPIDPublic, "", "no keys"},
	} {
		if err := server.Store.SetKey(server.Store.App, c.key, c.value); err != nil {
			t.Fatal(err)
		}
		expect(t, mustVisit(t, server, service{}), "keys", Bad, c.words)
	}
	v := &Visit{Data: server.Dir, Now: server.Clock.Now, Local: time.FixedZone("Home", -5*3600), Push: &http.Client{Transport: service{now: server.Clock.Now}}}
	for _, f := range v.Look(t.Context()) {
		if f.Name == "time zone" && (f.State != Mind || !strings.Contains(f.Says, "own clock shows 05:00")) {
			t.Errorf("%+v", f)
		}
	}
	if err := os.Chmod(server.Dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if f := v.folder(); f.State != Mind || !strings.Contains(f.Do, "chmod 700") {
		t.Errorf("%+v", f)
	}
}

func TestAHome(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	server.MustSetUp("Europe/Berlin")
	// The visit's TLS follows the wall clock, so the certificate does too.
	home, err := reach.OpenHome(server.Dir, []string{"localhost"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	listener, err := tls.Listen("tcp", "127.0.0.1:0", home.TLS())
	if err != nil {
		t.Fatal(err)
	}
	secure := &http.Server{Handler: http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}), ErrorLog: log.New(io.Discard, "", 0)}
	go func() { _ = secure.Serve(listener) }()
	defer secure.Close()
	_, port, _ := net.SplitHostPort(listener.Addr().String())
	at := func(host string) map[string]Finding {
		mustKeep(t, server, reach.Serving{Way: reach.HomeNetwork, Phones: "https://" + net.JoinHostPort(host, port), Guide: "http://localhost:8081"})
		return mustVisit(t, server, service{})
	}
	expect(t, at("localhost"), "secure address", Good, "http://localhost:8081")
	expect(t, at("127.0.0.1"), "secure address", Good, "certificate that phones take")
	expect(t, at("192.168.250.250"), "secure address", Bad, "") // where it was before
	expect(t, at("nobody.invalid"), "secure address", Bad, "--name")
	server.Clock.Advance(home.Authority.Certificate.NotAfter.AddDate(0, -6, 0).Sub(server.Clock.Now()))
	expect(t, at("localhost"), "authority", Mind, "lapses on")
	if err := os.Chmod(filepath.Join(server.Dir, reach.Folder, reach.AuthorityKeyFile), 0o644); err != nil {
		t.Fatal(err)
	}
	expect(t, at("localhost"), "secure address", Bad, "chmod 600")
	if err := os.RemoveAll(filepath.Join(server.Dir, reach.Folder)); err != nil {
		t.Fatal(err)
	}
	expect(t, at("localhost"), "secure address", Bad, "no such file")
	if _, err := os.Stat(filepath.Join(server.Dir, reach.Folder)); err == nil {
		t.Error("looking made an authority")
	}
}

func TestAPublicNameWithoutACertificate(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	server.MustSetUp("Europe/Berlin")
	mustKeep(t, server, reach.Serving{Way: reach.PublicName, Phones: "https://bins.example.org"})
	expect(t, mustVisit(t, server, service{}), "secure address", Bad, "No certificate has come")
}

func TestTheCommand(t *testing.T) {
	run := func(args ...string) (string, error) {
		var out bytes.Buffer
		command := Command()
		command.SetArgs(args)
		command.SetOut(&out)
		command.SetErr(io.Discard)
		command.SilenceUsage = true // as the whole program does
		err := command.Execute()
		return out.String(), err
	}
	missing := filepath.Join(t.TempDir(), "none")
	text, err := run("--data", missing)
	if err == nil || !strings.HasPrefix(text, "BAD   records: There is no data folder") || !strings.Contains(text, "\n      Do: Start") {
		t.Errorf("%v %q", err, text)
	}
	text, err = run("--data", missing, "--json")
	var findings []Finding
	if jsonErr := json.Unmarshal([]byte(text), &findings); jsonErr != nil || err == nil || len(findings) != 1 || findings[0].State != Bad {
		t.Errorf("%v %v %q", err, jsonErr, text)
	}
	if _, err := os.Stat(missing); err == nil {
		t.Error("looking made the folder")
	}
	if text, err := run("--data", t.TempDir()); err == nil || !strings.Contains(text, "records cannot be read") {
		t.Errorf("an empty folder: %v %q", err, text)
	}
}
