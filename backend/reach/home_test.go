package reach

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rsc.io/qr"
)

var noon = time.Date(2026, 5, 28, 10, 0, 0, 0, time.UTC)

// A clock that the test sets.
type clock struct{ time.Time }

func (c *clock) now() time.Time { return c.Time }

func mustHome(t *testing.T, data string, clock *clock, names ...string) *Home {
	t.Helper()
	home, err := OpenHome(data, names, clock.now)
	if err != nil {
		t.Fatal(err)
	}
	home.addresses = func() []net.IP { return []net.IP{net.IPv4(192, 168, 7, 20)} }
	return home
}

func mustCertificate(t *testing.T, home *Home) *x509.Certificate {
	t.Helper()
	certificate, err := home.certificate()
	if err != nil {
		t.Fatal(err)
	}
	return certificate.Leaf
}

// verify asks the standard library, as a device that trusts the authority.
func verify(authority *Authority, leaf *x509.Certificate, host string, at time.Time) error {
	roots := x509.NewCertPool()
	roots.AddCert(authority.Certificate)
	_, err := leaf.Verify(x509.VerifyOptions{DNSName: host, Roots: roots, CurrentTime: at})
	return err
}

func TestADeviceThatTrustsTheAuthorityTrustsTheServer(t *testing.T) {
	home := mustHome(t, t.TempDir(), &clock{noon}, "shed.local")
	leaf := mustCertificate(t, home)
	for _, host := range []string{"shed.local", "localhost", "192.168.7.20"} {
		if err := verify(home.Authority, leaf, host, noon); err != nil {
			t.Errorf("%s: %v", host, err)
		}
	}
	for _, host := range []string{"elsewhere.local", "192.168.7.21", "bank.example"} {
		if err := verify(home.Authority, leaf, host, noon); err == nil {
			t.Errorf("%s is taken for this server", host)
		}
	}
}

// Whoever steals the key gains nothing outside of homes: the standard library
// and OpenSSL both refuse what such a key signs for the world.
func TestTheAuthorityCannotSpeakForTheWorld(t *testing.T) {
	home := mustHome(t, t.TempDir(), &clock{noon})
	thief := *home.Authority
	wide := *home.Authority.Certificate
	thief.Certificate = &wide
	wide.PermittedDNSDomains = append(slices.Clone(wide.PermittedDNSDomains), "example")
	wide.PermittedIPRanges = append(slices.Clone(wide.PermittedIPRanges), mustRanges("203.0.113.0/24")...)
	for host, good := range map[string]bool{"bank.example": false, "203.0.113.9": false, "bank.local": true, "10.1.2.3": true} {
		var names []string
		var addresses []net.IP
		if address := net.ParseIP(host); address != nil {
			addresses = []net.IP{address}
		} else {
			names = []string{host}
		}
		leaf, _, err := thief.issue(names, addresses, noon)
		if err != nil {
			t.Fatal(err)
		}
		if len(leaf.DNSNames)+len(leaf.IPAddresses) != 1 {
			t.Fatalf("%s was not signed for: the test shows nothing", host)
		}
		err = verify(home.Authority, leaf, host, noon)
		var invalid x509.CertificateInvalidError
		if bound := errors.As(err, &invalid) && invalid.Reason == x509.CANotAuthorizedForThisName; bound == good {
			t.Errorf("%s: %v", host, err)
		}
		if out, err := openssl(t, home.Authority.Certificate, leaf); (err == nil) != good {
			t.Errorf("OpenSSL on %s: %v %s", host, err, out)
		} else if !good && !strings.Contains(out, "permitted subtree violation") {
			t.Errorf("OpenSSL refuses %s for another reason: %s", host, out)
		}
		// Nor does this server's own code sign for the world.
		if leaf, _, err := home.Authority.issue(names, addresses, noon); err != nil || !good && len(leaf.DNSNames)+len(leaf.IPAddresses) != 0 {
			t.Errorf("%s was signed for: %v", host, err)
		}
	}
}

func openssl(t *testing.T, authority, leaf *x509.Certificate) (string, error) {
	t.Helper()
	folder := t.TempDir()
	for name, certificate := range map[string]*x509.Certificate{"ca.pem": authority, "leaf.pem": leaf} {
		text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: certificate.Raw})
		if err := os.WriteFile(filepath.Join(folder, name), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	command := exec.Command("openssl", "verify", "-attime", "1779962400", "-purpose", "sslserver", "-CAfile", "ca.pem", "leaf.pem") // noon
	command.Dir = folder
	out, err := command.CombinedOutput()
	return string(out), err
}

func TestTheCertificateIsRenewedBeforeItLapses(t *testing.T) {
	clock := &clock{noon}
	home := mustHome(t, t.TempDir(), clock)
	first := mustCertificate(t, home)
	for step := time.Duration(0); step < 400*24*time.Hour; step += 12 * time.Hour {
		clock.Time = noon.Add(step)
		leaf := mustCertificate(t, home)
		if left := leaf.NotAfter.Sub(clock.Time); left < renewBefore {
			t.Fatalf("on day %v only %v are left", step, left)
		}
		if err := verify(home.Authority, leaf, "localhost", clock.Time); err != nil {
			t.Fatal(err)
		}
	}
	clock.Time = noon.Add(59 * 24 * time.Hour)
	if mustCertificate(t, home).Equal(first) {
		t.Error("the first certificate is back")
	}
	clock.Time = noon.Add(-48 * time.Hour) // the clock was put right
	if leaf := mustCertificate(t, home); clock.Time.Before(leaf.NotBefore) {
		t.Error("the certificate is not valid yet after the clock was set back")
	}
}

func TestANewAddressIsInTheCertificateWithinAMinute(t *testing.T) {
	clock := &clock{noon}
	home := mustHome(t, t.TempDir(), clock)
	first := mustCertificate(t, home)
	home.addresses = func() []net.IP { return []net.IP{net.IPv4(10, 0, 0, 5), net.IPv4(203, 0, 113, 5)} }
	if !mustCertificate(t, home).Equal(first) {
		t.Error("the addresses are looked at with every line")
	}
	clock.Time = clock.Add(lookAgain)
	second := mustCertificate(t, home)
	if err := verify(home.Authority, second, "10.0.0.5", clock.Time); err != nil {
		t.Error(err)
	}
	clock.Time = clock.Add(lookAgain)
	if !mustCertificate(t, home).Equal(second) {
		t.Error("a public address, for which there can be no certificate, has one made every minute")
	}
}

func TestTheAuthorityStaysTheSameAndItsKeyPrivate(t *testing.T) {
	data := t.TempDir()
	first := mustHome(t, data, &clock{noon}).Authority
	second := mustHome(t, data, &clock{noon.AddDate(1, 0, 0)}).Authority
	if !first.Certificate.Equal(second.Certificate) {
		t.Error("a restart made another authority: every phone would have to trust it anew")
	}
	mustBePrivate(t, filepath.Join(data, Folder))
}

func mustBePrivate(t *testing.T, folder string) {
	t.Helper()
	err := filepath.WalkDir(folder, func(path string, entry os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := entry.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %04o", path, info.Mode().Perm())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestWhatIsWrongWithAHomeIsSaid(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(folder string) error
		want  string
	}{
		"a key that others can read": {func(f string) error { return os.Chmod(filepath.Join(f, AuthorityKeyFile), 0o644) }, "chmod 600"},
		"no certificate":             {func(f string) error { return os.Remove(filepath.Join(f, AuthorityFile)) }, "no such file"},
		"a damaged certificate":      {func(f string) error { return os.WriteFile(filepath.Join(f, AuthorityFile), []byte("x"), 0o600) }, "damaged"},
		"a damaged key":              {func(f string) error { return os.WriteFile(filepath.Join(f, AuthorityKeyFile), nil, 0o600) }, "damaged"},
		"another's key": {func(f string) error {
			_, other, err := newKey()
			return errors.Join(err, keepPrivate(filepath.Join(f, AuthorityKeyFile), other))
		}, "not the one of"},
		"years later": {func(string) error { return nil }, "lapsed"},
	} {
		data := t.TempDir()
		mustHome(t, data, &clock{noon})
		if err := c.spoil(filepath.Join(data, Folder)); err != nil {
			t.Fatal(err)
		}
		at := noon
		if c.want == "lapsed" {
			at = noon.AddDate(authorityYears, 0, 1)
		}
		if _, err := OpenHome(data, nil, (&clock{at}).now); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := OpenHome(t.TempDir(), []string{"bins.example.org"}, (&clock{noon}).now); err == nil || !strings.Contains(err.Error(), "--domain") {
		t.Errorf("a public name: %v", err)
	}
}

func TestHostIsWherePhonesFindThisMachine(t *testing.T) {
	home := mustHome(t, t.TempDir(), &clock{noon})
	if host, err := home.Host(); err != nil || host == "localhost" {
		t.Errorf("%q %v", host, err)
	}
	home.addresses = func() []net.IP { return []net.IP{net.IPv4(127, 0, 0, 1), net.IPv4(203, 0, 113, 5)} }
	if Outgoing() != nil && !home.Authority.permitsAddress(Outgoing()) {
		if host, err := home.Host(); err == nil {
			t.Errorf("phones are sent to %s", host)
		}
	}
	named := mustHome(t, t.TempDir(), &clock{noon}, "shed.local")
	if host, err := named.Host(); err != nil || host != "shed.local" {
		t.Errorf("%q %v", host, err)
	}
}

// The certificate in a real handshake, and the page that hands out what to
// trust.
func TestTheGuideLeadsToTrust(t *testing.T) {
	home := mustHome(t, t.TempDir(), &clock{time.Now()})
	app := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { _, _ = io.WriteString(w, r.Proto) }))
	app.TLS, app.EnableHTTP2 = home.TLS(), true
	app.StartTLS()
	defer app.Close()
	guide := httptest.NewServer((&Guide{Authority: home.Authority, URL: "https://192.168.7.20:8443"}).Handler())
	defer guide.Close()
	get := func(path, agent string) (string, http.Header) {
		request, err := http.NewRequest("GET", guide.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("User-Agent", agent)
		response, err := http.DefaultClient.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		defer response.Body.Close()
		body, err := io.ReadAll(response.Body)
		if err != nil || response.StatusCode != 200 {
			t.Fatalf("%s: %d %v", path, response.StatusCode, err)
		}
		return string(body), response.Header
	}

	der, header := get("/underlog-home.crt", "")
	if header.Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("the certificate is %s", header.Get("Content-Type"))
	}
	given, err := x509.ParseCertificate([]byte(der))
	if err != nil {
		t.Fatal(err)
	}
	text, _ := get("/underlog-home.pem", "")
	if block, _ := pem.Decode([]byte(text)); block == nil || !bytes.Equal(block.Bytes, given.Raw) {
		t.Error("the two forms of the certificate differ")
	}
	trusting := x509.NewCertPool()
	trusting.AddCert(given)
	for _, c := range []struct {
		roots *x509.CertPool
		good  bool
	}{{trusting, true}, {x509.NewCertPool(), false}} {
		client := &http.Client{Transport: &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: c.roots, ServerName: "localhost"}}}
		response, err := client.Get(app.URL)
		if (err == nil) != c.good {
			t.Errorf("a device that trusts it: %v, answer: %v", c.good, err)
		}
		if err == nil {
			if proto, _ := io.ReadAll(response.Body); string(proto) != "HTTP/2.0" {
				t.Errorf("it speaks %s", proto)
			}
			response.Body.Close()
		}
	}

	for agent, first := range map[string]string{
		"Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X)": "iPhone and iPad",
		"Mozilla/5.0 (Linux; Android 15)":                        "Android",
		"Mozilla/5.0 (X11; Linux x86_64)":                        "Linux, and Firefox",
	} {
		page, _ := get("/", agent)
		if _, open, found := strings.Cut(page, "<details open>\n<summary>"); !found || !strings.HasPrefix(open, first) || strings.Count(page, "<details open>") != 1 {
			t.Errorf("%s sees other steps first than %s", agent, first)
		}
		for _, want := range []string{Fingerprint(given), "https://192.168.7.20:8443", "What this means", "To take it off", "employer"} {
			if !strings.Contains(page, want) {
				t.Errorf("the page does not say %q", want)
			}
		}
	}
}

// The code that is drawn has exactly the dark modules of the code.
func TestTheDrawnCode(t *testing.T) {
	const text = "https://192.168.7.20:8443"
	drawing, err := drawCode(text)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		t.Fatal(err)
	}
	dark := 0
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				dark++
			}
		}
	}
	if got := strings.Count(string(drawing), "h1v1h-1z"); got != dark {
		t.Errorf("%d modules are drawn, want %d", got, dark)
	}
}
