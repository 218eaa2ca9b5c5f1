package reach

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-acme/lego/v5/challenge/dns01"
)

// TestMain is also the program that sets records in the zone of the tests.
func TestMain(m *testing.M) {
	if zone := os.Getenv("ACME_TEST_ZONE"); zone != "" && len(os.Args) == 4 {
		if err := setRecord(zone, os.Args[1], os.Args[2], os.Args[3]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

func setRecord(zone, what, name, value string) error {
	path := map[string]string{"present": "/set-txt", "cleanup": "/clear-txt"}[what]
	body, err := json.Marshal(map[string]string{"host": name, "value": value})
	if err != nil {
		return err
	}
	response, err := http.Post(zone+path, "application/json", bytes.NewReader(body))
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("%s %s: %s", what, name, response.Status)
	}
	return nil
}

// An authority is a real ACME server on this machine (testdata/acme), with a
// name server that the tests fill.
type authority struct {
	directory string
	zone      string // where records are set
	dns       string
	web, alpn string       // where it looks for the answers of the web
	client    *http.Client // trusts it
	issued    *x509.CertPool
}

var built = sync.OnceValues(func() (string, error) {
	folder, err := os.MkdirTemp("", "underlog-acme-*") // outlives the first test
	if err != nil {
		return "", err
	}
	build := exec.Command("go", "build", "-o", folder, "github.com/letsencrypt/pebble/v2/cmd/pebble", "github.com/letsencrypt/pebble/v2/cmd/pebble-challtestsrv")
	build.Dir = "testdata/acme"
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w\n%s", err, out)
	}
	return folder, nil
})

func mustFreeAddress(t *testing.T) string {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	return listener.Addr().String()
}

func mustStartAuthority(t *testing.T) *authority {
	t.Helper()
	programs, err := built()
	if err != nil {
		t.Fatal(err)
	}
	a := &authority{dns: mustFreeAddress(t), web: mustFreeAddress(t), alpn: mustFreeAddress(t), issued: x509.NewCertPool()}
	listen, management, zone := mustFreeAddress(t), mustFreeAddress(t), mustFreeAddress(t)
	a.directory, a.zone = "https://"+listen+"/dir", "http://"+zone

	// Its own web server's certificate is one of a home's.
	home := mustHome(t, t.TempDir(), &clock{time.Now()})
	leaf, key, err := home.Authority.issue(nil, []net.IP{net.IPv4(127, 0, 0, 1)}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(home.Authority.Certificate)
	a.client = &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}

	folder := t.TempDir()
	_, web, _ := net.SplitHostPort(a.web)
	_, alpn, _ := net.SplitHostPort(a.alpn)
	config := fmt.Sprintf(`{"pebble": {"listenAddress": %q, "managementListenAddress": %q, "certificate": "tls.crt", "privateKey": "tls.key",
		"httpPort": %s, "tlsPort": %s, "retryAfter": {"authz": 1, "order": 1},
		"profiles": {"default": {"description": "usual", "validityPeriod": 7776000}}}}`, listen, management, web, alpn)
	for name, content := range map[string][]byte{
		"config.json": []byte(config),
		"tls.crt":     pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: leaf.Raw}),
		"tls.key":     pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}),
	} {
		if err := os.WriteFile(filepath.Join(folder, name), content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	mustRun(t, folder, filepath.Join(programs, "pebble-challtestsrv"), "-management", zone, "-dnsserver", a.dns,
		"-http01", "", "-https01", "", "-tlsalpn01", "", "-doh", "", "-defaultIPv6", "")
	mustRun(t, folder, filepath.Join(programs, "pebble"), "-config", "config.json", "-dnsserver", a.dns)

	root := a.mustGet(t, "https://"+management+"/roots/0")
	if !a.issued.AppendCertsFromPEM(root) {
		t.Fatal("the authority's root is none")
	}
	a.mustGet(t, a.directory)
	return a
}

func mustRun(t *testing.T, folder, program string, args ...string) {
	t.Helper()
	command := exec.Command(program, args...)
	command.Dir = folder
	command.Env = append(os.Environ(), "PEBBLE_VA_NOSLEEP=1")
	var said bytes.Buffer
	command.Stdout, command.Stderr = &said, &said
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = command.Process.Kill()
		_ = command.Wait()
		if t.Failed() {
			t.Logf("%s:\n%s", filepath.Base(program), said.String())
		}
	})
}

// mustGet waits until something answers.
func (a *authority) mustGet(t *testing.T, url string) []byte {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		response, err := a.client.Get(url)
		if err == nil {
			body, err := io.ReadAll(response.Body)
			response.Body.Close()
			if err == nil && response.StatusCode == http.StatusOK {
				return body
			}
		}
		if time.Now().After(end) {
			t.Fatalf("%s does not answer: %v", url, err)
		}
	}
}

func mustPublic(t *testing.T, a *authority, data string, clock *clock, program string) *Public {
	t.Helper()
	p := &Public{Domain: "bins.example.org", Data: data, Directory: a.directory, Program: program,
		Log: slog.New(slog.DiscardHandler), Now: clock.now, client: a.client}
	// The tests' name server answers for every name and has no zones to wait for.
	dns01.SetDefaultClient(dns01.NewClient(&dns01.Options{RecursiveNameservers: []string{a.dns}}))
	p.options = []dns01.ChallengeOption{dns01.WrapPreCheck(func(context.Context, string, string, string, dns01.PreCheckFunc) (bool, error) { return true, nil })}
	if err := p.Open(); err != nil {
		t.Fatal(err)
	}
	return p
}

// mustShow asks a server for its certificate in a real handshake, as somebody
// who trusts the authority.
func mustShow(t *testing.T, p *Public, a *authority) *x509.Certificate {
	t.Helper()
	server := httptest.NewUnstartedServer(http.NotFoundHandler())
	server.TLS = p.TLS()
	server.StartTLS()
	defer server.Close()
	line, err := tls.Dial("tcp", server.Listener.Addr().String(), &tls.Config{RootCAs: a.issued, ServerName: p.Domain})
	if err != nil {
		t.Fatal(err)
	}
	defer line.Close()
	return line.ConnectionState().PeerCertificates[0]
}

func TestACertificateByTheZone(t *testing.T) {
	a := mustStartAuthority(t)
	t.Setenv("ACME_TEST_ZONE", a.zone)
	data, clock := t.TempDir(), &clock{time.Now()}
	p := mustPublic(t, a, data, clock, os.Args[0])
	if _, err := p.TLS().GetCertificate(nil); err == nil {
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
	clock.Time = first.NotAfter.Add(-first.NotAfter.Sub(first.NotBefore)/3 + time.Minute)
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
	p.Directory = "https://" + mustFreeAddress(t) + "/dir"
	held := mustShow(t, p, a)
	clock.Time = held.NotAfter.Add(-time.Hour)
	if err := p.renew(t.Context()); err == nil {
		t.Error("nobody answered, and it was renewed")
	}
	if !mustShow(t, p, a).Equal(held) {
		t.Error("the certificate is gone")
	}
}

func TestTheZoneThatIsNotSetGivesNone(t *testing.T) {
	a := mustStartAuthority(t)
	for name, program := range map[string]string{"a program that does nothing": "true", "one that fails": "false", "one that is missing": "/none/at/all"} {
		p := mustPublic(t, a, t.TempDir(), &clock{time.Now()}, program)
		if err := p.renew(t.Context()); err == nil {
			t.Errorf("%s: a certificate came", name)
		}
	}
}

func TestACertificateOverTheWeb(t *testing.T) {
	a := mustStartAuthority(t)
	data := t.TempDir()
	p := mustPublic(t, a, data, &clock{time.Now()}, "")
	plain := p.Plain("https://bins.example.org")
	mustListen(t, a.web, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Host, _, _ = net.SplitHostPort(r.Host) // as it comes to port 80, which tests may not have
		plain.ServeHTTP(w, r)
	}))
	// Nobody listens where it would ask over TLS, so that the plain way is taken.
	if err := p.renew(t.Context()); err != nil {
		t.Fatal(err)
	}
	first := mustShow(t, p, a)
	p = mustPublic(t, a, data, &clock{time.Now()}, "")
	if !mustShow(t, p, a).Equal(first) {
		t.Error("a restart has another certificate")
	}
	if leaf, err := LeafOf(data, p.Domain); err != nil || !leaf.Equal(first) {
		t.Errorf("what is kept is another (%v)", err)
	}
	mustBePrivate(t, filepath.Join(data, Folder))
}

func TestThePlainAddressLeadsToTheSecureOne(t *testing.T) {
	for _, program := range []string{"", "true"} {
		p := &Public{Domain: "bins.example.org", Data: t.TempDir(), Program: program, Log: slog.New(slog.DiscardHandler), Now: time.Now}
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
