package reach

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-acme/lego/v5/challenge/dns01"
	"github.com/jonboulle/clockwork"

	"underlog/backend/acmetest"
)

// TestMain is also the program that sets records in the zone of the tests.
func TestMain(m *testing.M) {
	if zone := os.Getenv("ACME_TEST_ZONE"); zone != "" && len(os.Args) == 4 {
		if err := acmetest.SetRecord(zone, os.Args[1], os.Args[2], os.Args[3]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

func mustPublic(t *testing.T, a *acmetest.Authority, data string, clock clockwork.Clock, program string) *Public {
	t.Helper()
	p := &Public{Domain: "bins.example.org", Data: data, Directory: a.Directory, Program: program,
		Log: slog.New(slog.DiscardHandler), Clock: clock, client: a.Client}
	if program != "" { // the library has one client for all
		dns01.SetDefaultClient(dns01.NewClient(&dns01.Options{RecursiveNameservers: []string{a.DNS}}))
	}
	// The tests' name server answers for every name and has no zones to wait for.
	p.options = []dns01.ChallengeOption{dns01.WrapPreCheck(func(context.Context, string, string, string, dns01.PreCheckFunc) (bool, error) { return true, nil })}
	if err := p.Open(); err != nil {
		t.Fatal(err)
	}
	return p
}

// mustShow asks a server for its certificate in a real handshake, as somebody
// who trusts the authority.
func mustShow(t *testing.T, p *Public, a *acmetest.Authority) *x509.Certificate {
	t.Helper()
	server := httptest.NewUnstartedServer(http.NotFoundHandler())
	server.TLS = p.TLS()
	server.StartTLS()
	defer server.Close()
	line, err := tls.Dial("tcp", server.Listener.Addr().String(), &tls.Config{RootCAs: a.Issued, ServerName: p.Domain})
	if err != nil {
		t.Fatal(err)
	}
	defer line.Close()
	return line.ConnectionState().PeerCertificates[0]
}

func TestACertificateByTheZone(t *testing.T) {
	a := acmetest.MustStart(t)
	t.Setenv("ACME_TEST_ZONE", a.Zone)
	data, clock := t.TempDir(), clockwork.NewFakeClockAt(time.Now())
	p := mustPublic(t, a, data, clock, os.Args[0])
	if _, err := p.TLS().GetCertificate(&tls.ClientHelloInfo{}); err == nil {
		t.Error("there is a certificate before one came")
	}
	if err := p.renew(t.Context()); err != nil {
		t.Fatal(err)
	}
	first := mustShow(t, p, a)
	if err := p.renew(t.Context()); err != nil || !mustShow(t, p, a).Equal(first) {
		t.Errorf("a fresh one was renewed (%v)", err)
	}
	// A restart finds it; a third of its time before its end it is renewed.
	p = mustPublic(t, a, data, clock, os.Args[0])
	if !mustShow(t, p, a).Equal(first) {
		t.Error("a restart has another certificate")
	}
	clock.Advance(first.NotAfter.Add(-first.NotAfter.Sub(first.NotBefore)/3 + time.Minute).Sub(clock.Now()))
	if err := p.renew(t.Context()); err != nil {
		t.Fatal(err)
	}
	if second := mustShow(t, p, a); second.Equal(first) {
		t.Error("it was not renewed")
	}
	if leaf, err := LeafOf(data, p.Domain); err != nil || !leaf.Equal(mustShow(t, p, a)) {
		t.Errorf("what is kept is another (%v)", err)
	}
	mustBePrivate(t, filepath.Join(data, Folder))

	// The record is gone again, and an authority that is away takes nothing away.
	p.Directory = "https://" + acmetest.MustFreeAddress(t) + "/dir"
	held := mustShow(t, p, a)
	clock.Advance(held.NotAfter.Add(-time.Hour).Sub(clock.Now()))
	if err := p.renew(t.Context()); err == nil {
		t.Error("nobody answered, and it was renewed")
	}
	if !mustShow(t, p, a).Equal(held) {
		t.Error("the certificate is gone")
	}
}

func TestTheZoneThatIsNotSetGivesNone(t *testing.T) {
	a := acmetest.MustStart(t)
	for name, program := range map[string]string{"a program that does nothing": "true", "one that fails": "false", "one that is missing": "/none/at/all"} {
		p := mustPublic(t, a, t.TempDir(), clockwork.NewRealClock(), program)
		if err := p.renew(t.Context()); err == nil {
			t.Errorf("%s: a certificate came", name)
		}
	}
}

// mustAnswerPlainly has a server answer where the authority asks over plain
// http.
func mustAnswerPlainly(t *testing.T, p *Public, a *acmetest.Authority) {
	t.Helper()
	mustListen(t, a.Web, p.Plain("https://bins.example.org"))
}

// mustAnswerInHandshakes has one answer where it asks over TLS (RFC 8737).
func mustAnswerInHandshakes(t *testing.T, p *Public, a *acmetest.Authority) {
	t.Helper()
	listener, err := tls.Listen("tcp", a.Handshake, p.TLS())
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: http.NotFoundHandler(), ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)}
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(func() { _ = server.Close() })
}

// One of the two ports is enough, whichever it is.
func TestACertificateOverTheWeb(t *testing.T) {
	t.Parallel()
	for port, answer := range map[string]func(*testing.T, *Public, *acmetest.Authority){
		"in plain at port 80": mustAnswerPlainly, "in a handshake at port 443": mustAnswerInHandshakes,
	} {
		t.Run(port, func(t *testing.T) {
			t.Parallel()
			a := acmetest.MustStart(t)
			data := t.TempDir()
			p := mustPublic(t, a, data, clockwork.NewRealClock(), "")
			answer(t, p, a)
			if err := p.renew(t.Context()); err != nil {
				t.Fatal(err)
			}
			first := mustShow(t, p, a)
			if len(p.web.texts)+len(p.web.shown) != 0 {
				t.Errorf("it still answers: %d in plain, %d in handshakes", len(p.web.texts), len(p.web.shown))
			}
			p = mustPublic(t, a, data, clockwork.NewRealClock(), "")
			if !mustShow(t, p, a).Equal(first) {
				t.Error("a restart has another certificate")
			}
			if leaf, err := LeafOf(data, p.Domain); err != nil || !leaf.Equal(first) {
				t.Errorf("what is kept is another (%v)", err)
			}
			mustBePrivate(t, filepath.Join(data, Folder))
		})
	}
}

// Where neither port leads here nothing comes, and the sentence names both.
func TestNobodyAnswersOverTheWeb(t *testing.T) {
	t.Parallel()
	a := acmetest.MustStart(t)
	err := mustPublic(t, a, t.TempDir(), clockwork.NewRealClock(), "").renew(t.Context())
	if err == nil || strings.Count(err.Error(), "bins.example.org") < 2 {
		t.Errorf("it says %v", err)
	}
}

// Left to itself for its certificate's whole life, a server shows the first
// one while two thirds of it last, and another long before it lapses.
func TestItIsRenewedBeforeItLapses(t *testing.T) {
	t.Parallel()
	a := acmetest.MustStart(t)
	clock := clockwork.NewFakeClockAt(time.Now())
	p := mustPublic(t, a, t.TempDir(), clock, "")
	mustAnswerPlainly(t, p, a)
	ctx, stop := context.WithCancel(t.Context())
	var keeping sync.WaitGroup
	keeping.Go(func() { p.Keep(ctx) })
	t.Cleanup(func() { stop(); keeping.Wait() })
	pass := func(by time.Duration) { // when it waits, what was due is done
		t.Helper()
		clock.Advance(by)
		waited, enough := context.WithTimeout(t.Context(), 20*time.Second)
		defer enough()
		if err := clock.BlockUntilContext(waited, 1); err != nil {
			t.Fatal(err)
		}
	}
	pass(0)
	first := mustShow(t, p, a)
	whole := first.NotAfter.Sub(first.NotBefore)
	for clock.Now().Before(first.NotAfter) {
		left := first.NotAfter.Sub(clock.Now())
		switch same := mustShow(t, p, a).Equal(first); {
		case same && left < whole/3-2*longestPause:
			t.Fatalf("%s before it lapses it is still the first", left)
		case !same && left > whole/3:
			t.Fatalf("%s before it lapses it was renewed", left)
		case !same:
			return
		}
		pass(longestPause)
	}
	t.Error("it lapsed")
}

func TestThePlainAddressLeadsToTheSecureOne(t *testing.T) {
	for _, program := range []string{"", "true"} {
		p := &Public{Domain: "bins.example.org", Data: t.TempDir(), Program: program, Log: slog.New(slog.DiscardHandler), Clock: clockwork.NewRealClock()}
		if err := p.Open(); err != nil {
			t.Fatal(err)
		}
		answer := httptest.NewRecorder()
		p.Plain("https://bins.example.org:8443").ServeHTTP(answer, httptest.NewRequest("GET", "http://elsewhere.example/a?b=c", nil))
		if got := answer.Header().Get("Location"); got != "https://bins.example.org:8443/a?b=c" {
			t.Errorf("it leads to %q", got)
		}
	}
}

func TestNamesThatCannotBePublic(t *testing.T) {
	for _, name := range []string{"", "bins", "192.168.7.20", "bins.example.org/", "https://bins.example.org", "shed.local", "shed.home.arpa", "*.example.org"} {
		if err := CheckDomain(name); err == nil || !strings.Contains(err.Error(), "--domain") {
			t.Errorf("%q: %v", name, err)
		}
	}
	if err := CheckDomain("bins.example.org"); err != nil {
		t.Error(err)
	}
}

func mustListen(t *testing.T, address string, handler http.Handler) {
	t.Helper()
	listener, err := net.Listen("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: handler}
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(func() { _ = server.Close() })
}
