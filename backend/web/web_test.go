package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"testing"

	"underlog/backend/trial"
)

func get(t *testing.T, server *trial.Trial, path string, headers map[string]string) *http.Response {
	t.Helper()
	request, err := http.NewRequest("GET", "http://"+server.Addr()+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Accept-Encoding", "identity")
	for name, value := range headers {
		if name == "Host" {
			request.Host = value
			continue
		}
		request.Header.Set(name, value)
	}
	response, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { response.Body.Close() })
	return response
}

func TestFiles(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	cases := []struct {
		path   string
		status int
		kind   string
		cache  string
	}{
		{"/", 200, "text/html; charset=utf-8", "no-cache"},
		{"/index.html", 200, "text/html; charset=utf-8", "no-cache"},
		{"/sw.js", 200, "text/javascript; charset=utf-8", "no-cache"},
		{"/assets/app-1a.js", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"/engine.wasm", 200, "application/wasm", "no-cache"},
		// What is missing is missing, and never the app's page.
		{"/assets/app-0.js", 404, "text/plain; charset=utf-8", ""},
		{"/api/nothing", 404, "application/json", ""},
		{"/api/underlog/nothing", 404, "application/json", ""},
		{"/round", 404, "text/plain; charset=utf-8", ""},
		{"/.gitkeep", 404, "text/plain; charset=utf-8", ""},
		{"/assets/%2e%2e/index.html", 404, "text/plain; charset=utf-8", ""},
	}
	for _, c := range cases {
		response := get(t, server, c.path, nil)
		header := response.Header
		if response.StatusCode != c.status || header.Get("Content-Type") != c.kind || header.Get("Cache-Control") != c.cache {
			t.Errorf("%s: %d %q %q, want %d %q %q", c.path, response.StatusCode, header.Get("Content-Type"), header.Get("Cache-Control"), c.status, c.kind, c.cache)
		}
	}
}

func TestAFileThatIsKnownIsNotSentAgain(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	tag := get(t, server, "/assets/app-1a.js", nil).Header.Get("ETag")
	if tag == "" {
		t.Fatal("there is no ETag")
	}
	if got := get(t, server, "/assets/app-1a.js", map[string]string{"If-None-Match": tag}).StatusCode; got != 304 {
		t.Errorf("asked with its own tag: %d", got)
	}
	packed := get(t, server, "/assets/app-1a.js", map[string]string{"Accept-Encoding": "gzip"})
	if packed.Header.Get("Content-Encoding") != "gzip" || packed.Header.Get("ETag") == tag || packed.Header.Get("Vary") == "" {
		t.Errorf("packed: %v", packed.Header)
	}
	reader, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(reader); err != nil || !strings.HasPrefix(string(text), "let a") {
		t.Errorf("unpacked: %q %v", text, err)
	}
}

func TestHeadersOfEveryAnswer(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	for _, path := range []string{"/", "/assets/none.js", "/api/underlog/welcome", "/api/collections/bins/records", "/api/nothing"} {
		header := get(t, server, path, map[string]string{"Origin": "https://elsewhere.example"}).Header
		policy := header.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "frame-ancestors 'none'"} {
			if !strings.Contains(policy, want) {
				t.Errorf("%s: the policy %q lacks %q", path, policy, want)
			}
		}
		if strings.Contains(policy, "unsafe-inline") || strings.Contains(policy, "'unsafe-eval'") {
			t.Errorf("%s: the policy %q lets inline code run", path, policy)
		}
		if header.Get("X-Content-Type-Options") != "nosniff" || header.Get("X-Frame-Options") != "DENY" {
			t.Errorf("%s: %v", path, header)
		}
		for name := range header {
			if strings.HasPrefix(name, "Access-Control") {
				t.Errorf("%s: other sites may read this: %s", path, name)
			}
		}
	}
}

func TestTheDashboardIsForThisMachineAlone(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	login := "/api/collections/_superusers/records"
	cases := []struct {
		name    string
		path    string
		headers map[string]string
		status  int
	}{
		{"here", "/_/", nil, 200},
		{"by the name of this machine", "/_/", map[string]string{"Host": "localhost:8090"}, 200},
		{"through a proxy", "/_/", map[string]string{"X-Forwarded-For": "203.0.113.9"}, 404},
		{"through a proxy that says so otherwise", "/_/", map[string]string{"Forwarded": "for=203.0.113.9"}, 404},
		{"by a name that was bent to us", "/_/", map[string]string{"Host": "elsewhere.example"}, 404},
		{"its records here", login, nil, 403},
		{"its records through a proxy", login, map[string]string{"X-Forwarded-For": "203.0.113.9"}, 404},
		{"its records by another spelling", "/api/collections/_SuperUsers/records", map[string]string{"X-Forwarded-For": "203.0.113.9"}, 404},
		{"its records by their id", "/api/collections/pbc_3142635823/records", map[string]string{"X-Forwarded-For": "203.0.113.9"}, 404},
	}
	for _, c := range cases {
		if got := get(t, server, c.path, c.headers).StatusCode; got != c.status {
			t.Errorf("%s: %d, want %d", c.name, got, c.status)
		}
	}
}
