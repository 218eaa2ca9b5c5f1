package main_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"underlog/backend/acmetest"
	"underlog/backend/reach"
)

func mustRead(t *testing.T, client *http.Client, url string) string {
	t.Helper()
	response, err := client.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s %v", url, response.Status, err)
	}
	return string(body)
}

// A phone in the home network: it opens the page, trusts what it finds there,
// and reaches the app; the code for pairing leads to where it is.
func TestServeHome(t *testing.T) {
	command, data := mustBuild(t), t.TempDir()
	p := mustServe(t, command, data, "--home", "--name", "localhost", "--https", "127.0.0.1:0", "--guide", "127.0.0.1:0")
	serving, found, err := reach.FindServing(data)
	if err != nil || !found || serving.Way != reach.HomeNetwork || serving.Here != p.url {
		t.Fatalf("it leaves %+v (%v)", serving, err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM([]byte(mustRead(t, http.DefaultClient, serving.Guide+"/underlog-home.pem"))) {
		t.Fatal("the page hands out no certificate")
	}
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, ForceAttemptHTTP2: true}}
	if body := mustRead(t, phone, serving.Phones+"/api/underlog/welcome"); !strings.Contains(body, "empty") {
		t.Errorf("the phone reads %s", body)
	}
	if _, err := http.Get(serving.Phones); err == nil {
		t.Error("who does not trust the home gets in")
	}
	if response, err := phone.Get(serving.Phones + "/_/"); err != nil || response.StatusCode != http.StatusOK {
		t.Errorf("the dashboard, from this machine over TLS: %v", err)
	}

	token, _ := mustSetUp(t, p)
	if !strings.HasPrefix(mustPair(t, p, token), serving.Phones+"/#/pair/") {
		t.Errorf("the code leads elsewhere than %s", serving.Phones)
	}
	if err := p.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(); err != nil {
		t.Errorf("it did not stop in peace: %v %s", err, p.Said)
	}
	if _, found, _ := reach.FindServing(data); found {
		t.Error("it still says where it is")
	}
	// The next start shows the same authority.
	mustServe(t, command, data, "--home", "--name", "localhost", "--https", "127.0.0.1:0", "--guide", "127.0.0.1:0")
	serving, _, err = reach.FindServing(data)
	if err != nil {
		t.Fatal(err)
	}
	mustRead(t, phone, serving.Phones+"/api/underlog/welcome")
}

// The owner may let the dashboard be opened from a network, over TLS alone.
func TestServeDashboardFromANetwork(t *testing.T) {
	command := mustBuild(t)
	for _, c := range []struct {
		network         string
		secure, proxied int
	}{{"127.0.0.0/8", http.StatusOK, http.StatusNotFound}, {"192.168.7.0/24", http.StatusNotFound, http.StatusNotFound}} {
		data := t.TempDir()
		p := mustServe(t, command, data, "--home", "--name", "localhost", "--https", "127.0.0.1:0", "--guide", "127.0.0.1:0", "--dashboard-from", c.network)
		serving, _, err := reach.FindServing(data)
		if err != nil {
			t.Fatal(err)
		}
		client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}}
		status := func(base string, headers ...string) int {
			request, err := http.NewRequest("GET", base+"/_/", nil)
			if err != nil {
				t.Fatal(err)
			}
			request.Host = "shed.local" // as somebody elsewhere calls this machine
			for _, name := range headers {
				request.Header.Set(name, "127.0.0.9")
			}
			response, err := client.Do(request)
			if err != nil {
				t.Fatal(err)
			}
			response.Body.Close()
			return response.StatusCode
		}
		if got := status(serving.Phones); got != c.secure {
			t.Errorf("%s, over TLS: %d, want %d", c.network, got, c.secure)
		}
		if got := status(serving.Phones, "X-Forwarded-For"); got != c.proxied {
			t.Errorf("%s, through a proxy: %d, want %d", c.network, got, c.proxied)
		}
		if got := status(p.url); got != http.StatusNotFound {
			t.Errorf("%s, in plain: %d, want 404", c.network, got)
		}
	}
}

// A server with a public name: the real command asks a real authority, over the
// web, and shows what it gave.
func TestServeDomain(t *testing.T) {
	command, data, a := mustBuild(t), t.TempDir(), acmetest.MustStart(t)
	t.Setenv("SSL_CERT_FILE", a.Root)
	const name = "bins.example.org"
	p := mustServe(t, command, data, "--domain", name, "--acme", a.Directory, "--https", "127.0.0.1:0", "--challenge", a.Web)
	serving, found, err := reach.FindServing(data)
	if err != nil || !found || serving.Way != reach.PublicName {
		t.Fatalf("it leaves %+v (%v)", serving, err)
	}
	at, err := url.Parse(serving.Phones)
	if err != nil || at.Hostname() != name {
		t.Fatalf("phones are sent to %s (%v)", serving.Phones, err)
	}
	phone := &http.Client{Transport: &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: a.Issued},
		DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) { // the name leads here
			return (&net.Dialer{}).DialContext(ctx, network, net.JoinHostPort("127.0.0.1", at.Port()))
		}}}
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		if leaf, _ := reach.LeafOf(data, name); leaf != nil || time.Now().After(end) {
			break
		}
	}
	if body := mustRead(t, phone, serving.Phones+"/api/underlog/welcome"); !strings.Contains(body, "empty") {
		t.Errorf("the phone reads %s", body)
	}
	if err := p.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(); err != nil {
		t.Errorf("it did not stop in peace: %v %s", err, p.Said)
	}
}

func mustPair(t *testing.T, p *process, token string) (link string) {
	t.Helper()
	var code struct{ Link string }
	if err := p.call("/api/underlog/pairing", token, map[string]string{"origin": p.url}, &code); err != nil {
		t.Fatal(err)
	}
	return code.Link
}

func TestServeSaysWhyPhonesCannotReachIt(t *testing.T) {
	command := mustBuild(t)
	spoilt := t.TempDir()
	if err := os.MkdirAll(filepath.Join(spoilt, reach.Folder), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(spoilt, reach.Folder, reach.AuthorityKeyFile), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ args, want string }{
		{"--home --name bins.example.org", "--domain"},
		{"--home --domain bins.example.org", "none of the others can be"},
		{"--domain shed.local", "--home"},
		{"--domain 192.168.7.20", "public name"},
		{"--home --data " + spoilt, "chmod 600"},
		{"--home --name localhost --https 127.0.0.1:0 --guide 192.0.2.77:1", "--guide"},
		{"--dashboard-from shed", "such as 192.168.7.0/24"},
	} {
		args := append([]string{"serve", "--http", "127.0.0.1:0", "--data", t.TempDir()}, strings.Fields(c.args)...)
		out, err := exec.Command(command, args...).CombinedOutput()
		if err == nil || !strings.Contains(string(out), c.want) {
			t.Errorf("%s: %v %s", c.args, err, out)
		}
	}
}
