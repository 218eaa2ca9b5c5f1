// Package acmetest is an ACME authority on this machine for tests: a real one,
// built from a module of its own beside this file, with a name server that the
// tests fill and that sends every name to this machine.
package acmetest

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// An Authority is a running one.
type Authority struct {
	Directory string         // its address
	Zone      string         // where records are set: see SetRecord
	DNS       string         // its name server
	Web       string         // where it asks over plain http, which is port 80 in the world
	Handshake string         // where it asks over TLS, which is port 443 in the world
	Client    *http.Client   // trusts its web server
	Root      string         // file with the certificate by which its web server is trusted
	Issued    *x509.CertPool // by which the certificates are trusted that it gives
}

var built = sync.OnceValues(func() (string, error) {
	folder, err := os.MkdirTemp("", "underlog-acme-*") // outlives the first test
	if err != nil {
		return "", err
	}
	_, here, _, _ := runtime.Caller(0)
	build := exec.Command("go", "build", "-o", folder, "github.com/letsencrypt/pebble/v2/cmd/pebble", "github.com/letsencrypt/pebble/v2/cmd/pebble-challtestsrv")
	build.Dir = filepath.Join(filepath.Dir(here), "server")
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w\n%s", err, out)
	}
	return folder, nil
})

// Ports below those that a system lends to whoever connects: one that was
// found free is not lent to somebody else before it is used.
const firstPort, ports = 15_000, 15_000

var lastPort atomic.Uint32

func init() { lastPort.Store(rand.Uint32N(ports)) }

// MustFreeAddress is one of this machine on which nobody listens, and another
// at every call.
func MustFreeAddress(tb testing.TB) string {
	tb.Helper()
	var err error
	for range 100 {
		address := fmt.Sprintf("127.0.0.1:%d", firstPort+lastPort.Add(1)%ports)
		var listener net.Listener
		if listener, err = net.Listen("tcp", address); err == nil {
			listener.Close()
			return address
		}
	}
	tb.Fatal(err)
	return ""
}

// MustStart starts an authority; it ends with the test.
func MustStart(tb testing.TB) *Authority {
	tb.Helper()
	programs, err := built()
	if err != nil {
		tb.Fatal(err)
	}
	a := &Authority{DNS: MustFreeAddress(tb), Web: MustFreeAddress(tb), Handshake: MustFreeAddress(tb), Issued: x509.NewCertPool()}
	listen, management, zone := MustFreeAddress(tb), MustFreeAddress(tb), MustFreeAddress(tb)
	a.Directory, a.Zone = "https://"+listen+"/dir", "http://"+zone
	folder := tb.TempDir()
	a.Root = filepath.Join(folder, "tls.crt")
	_, web, _ := net.SplitHostPort(a.Web)
	_, handshake, _ := net.SplitHostPort(a.Handshake)
	config := fmt.Sprintf(`{"pebble": {"listenAddress": %q, "managementListenAddress": %q, "certificate": "tls.crt", "privateKey": "tls.key",
		"httpPort": %s, "tlsPort": %s, "retryAfter": {"authz": 1, "order": 1},
		"profiles": {"default": {"description": "usual", "validityPeriod": 7776000}}}}`, listen, management, web, handshake)
	must := func(err error) {
		if err != nil {
			tb.Helper()
			tb.Fatal(err)
		}
	}
	must(os.WriteFile(filepath.Join(folder, "config.json"), []byte(config), 0o600))
	must(a.keepPair(folder))
	run(tb, folder, filepath.Join(programs, "pebble-challtestsrv"), "-management", zone, "-dnsserver", a.DNS,
		"-http01", "", "-https01", "", "-tlsalpn01", "", "-doh", "", "-defaultIPv6", "")
	run(tb, folder, filepath.Join(programs, "pebble"), "-config", "config.json", "-dnsserver", a.DNS)
	if !a.Issued.AppendCertsFromPEM(a.mustGet(tb, "https://"+management+"/roots/0")) {
		tb.Fatal("the authority's root is none")
	}
	a.mustGet(tb, a.Directory)
	return a
}

// keepPair writes key and certificate of the authority's own web server: those
// of the standard library's for tests, which are good for this machine.
func (a *Authority) keepPair(folder string) error {
	lent := httptest.NewTLSServer(http.NotFoundHandler())
	defer lent.Close()
	pair := lent.TLS.Certificates[0]
	secret, err := x509.MarshalPKCS8PrivateKey(pair.PrivateKey)
	if err != nil {
		return err
	}
	roots := x509.NewCertPool()
	roots.AddCert(lent.Certificate())
	a.Client = &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	if err := os.WriteFile(a.Root, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: lent.Certificate().Raw}), 0o600); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, "tls.key"), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600)
}

func run(tb testing.TB, folder, program string, args ...string) {
	tb.Helper()
	command := exec.Command(program, args...)
	command.Dir = folder
	command.Env = append(os.Environ(), "PEBBLE_VA_NOSLEEP=1")
	var said bytes.Buffer
	command.Stdout, command.Stderr = &said, &said
	if err := command.Start(); err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		_ = command.Process.Kill()
		_ = command.Wait()
		if tb.Failed() {
			tb.Logf("%s:\n%s", filepath.Base(program), said.String())
		}
	})
}

// mustGet waits until something answers.
func (a *Authority) mustGet(tb testing.TB, url string) []byte {
	tb.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		response, err := a.Client.Get(url)
		if err == nil {
			body, err := io.ReadAll(response.Body)
			response.Body.Close()
			if err == nil && response.StatusCode == http.StatusOK {
				return body
			}
		}
		if time.Now().After(end) {
			tb.Fatalf("%s does not answer: %v", url, err)
		}
	}
}

// SetRecord sets (what is present) or removes (cleanup) a TXT record in an
// authority's zone.
func SetRecord(zone, what, name, value string) error {
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
