package alerts_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"underlog/backend/alerts"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// What becomes of the delivery and of the subscription where a push service
// does not answer as it should.
func TestAPushServiceThatMisbehavesOnPurpose(t *testing.T) {
	cases := []struct {
		name       string
		answer     func(http.ResponseWriter, *http.Request)
		times      int    // how often it answers so
		state      string // of the delivery in the end
		attempts   int    // at least
		subscribed bool
	}{
		{"201", nil, 0, "sent", 1, true},
		{"404", code(404), 1, "gone", 1, false},
		{"410", code(410), 1, "gone", 1, false},
		{"413", code(413), 1, "failed", 1, true},
		{"429 with Retry-After in seconds", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "3600")
			w.WriteHeader(429)
		}, 2, "sent", 3, true},
		{"429 with Retry-After as nonsense", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "-1")
			w.WriteHeader(429)
		}, 2, "sent", 3, true},
		{"500", code(500), 3, "sent", 4, true},
		{"500 until it is of no use", code(500), 1 << 30, "late", 20, true},
		{"slow", func(w http.ResponseWriter, _ *http.Request) {
			time.Sleep(150 * time.Millisecond)
			w.WriteHeader(503)
		}, 1, "sent", 2, true},
		{"hanging", func(http.ResponseWriter, *http.Request) { time.Sleep(time.Second) }, 2, "sent", 3, true},
		{"a body of many megabytes", func(w http.ResponseWriter, _ *http.Request) {
			w.WriteHeader(502)
			for range 128 {
				if _, err := w.Write(make([]byte, 1<<16)); err != nil {
					return
				}
			}
		}, 1, "sent", 2, true},
		{"a redirect inside", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Location", "http://127.0.0.1:1/elsewhere")
			w.WriteHeader(307)
		}, 1, "sent", 2, true},
		{"garbage", func(w http.ResponseWriter, _ *http.Request) {
			connection, _, err := w.(http.Hijacker).Hijack()
			if err != nil {
				panic(err)
			}
			_, _ = connection.Write([]byte("\x00\xff not HTTP at all\r\n\r\n"))
			_ = connection.Close()
		}, 1, "sent", 2, true},
		{"a connection that breaks", func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }, 1, "sent", 2, true},
		{"201 with an endless promise", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "10")
			w.WriteHeader(201)
		}, 1, "sent", 1, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			phone, _ := fedOver(t, alerts.Outbound{AnyEndpoint: true, Timeout: 400 * time.Millisecond})
			var asked atomic.Int64
			phone.Push.Answer = func(w http.ResponseWriter, r *http.Request) bool {
				if asked.Add(1) <= int64(c.times) {
					c.answer(w, r)
					return false
				}
				return true
			}
			hourly(phone, 23)
			for range 30 {
				phone.MustAdvance(10 * time.Minute)
			}
			hourly(phone, 50) // until whatever waits is late
			var state, answer string
			var attempts int
			row := phone.Store.App.DB().NewQuery("SELECT state, attempts, answer FROM deliveries")
			if err := row.Row(&state, &attempts, &answer); err != nil {
				t.Fatal(err)
			}
			if state != c.state || attempts < c.attempts {
				t.Errorf("the delivery is %q after %d attempts (%s), want %q after %d", state, attempts, answer, c.state, c.attempts)
			}
			var page struct{ Subscribed bool }
			phone.MustCall("GET", "/api/underlog/alerts?device="+phone.Device, phone.Token, nil, 200, &page)
			if page.Subscribed != c.subscribed {
				t.Errorf("subscribed is %v, want %v", page.Subscribed, c.subscribed)
			}
		})
	}
}

func code(status int) func(http.ResponseWriter, *http.Request) {
	return func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(status) }
}

// fedOver is fed with another way to the push services.
func fedOver(t *testing.T, outbound alerts.Outbound) (*trial.Phone, string) {
	t.Helper()
	server := trial.MustStart(t, trial.Noon)
	server.MustClose()
	server.Outbound = outbound
	server.MustOpen()
	phone := server.MustSetUp("Europe/Berlin")
	phone.MustAllowAlerts()
	phone.MustSetAlerts(noDigest)
	bin := phone.Bin("Pied pillbugs")
	phone.MustStore([]husbandry.Sheet{bin}, phone.Feed(bin.ID))
	return phone, bin.ID
}

// A certificate that nobody vouches for is no push service: the message is
// kept, nothing is sent in the clear, the subscription stays.
func TestACertificateThatNobodyVouchesFor(t *testing.T) {
	var asked atomic.Int64
	service := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		asked.Add(1)
		w.WriteHeader(201)
	}))
	t.Cleanup(service.Close)
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	subscription := phone.Push.Subscribe()
	subscription.Endpoint = service.URL + "/x"
	phone.MustCall("PUT", "/api/underlog/alerts", phone.Token, map[string]any{"device": phone.Device, "subscription": subscription}, 204, nil)
	var answer struct {
		Status int
		Answer string
	}
	phone.MustCall("POST", "/api/underlog/alerts/test", phone.Token, map[string]string{"device": phone.Device}, 200, &answer)
	if answer.Status != 0 || asked.Load() != 0 || !strings.Contains(answer.Answer, "certificate") {
		t.Errorf("the service was asked %d times and answered %+v", asked.Load(), answer)
	}
}

// Connections are used again and no more than a few are open at a time,
// however many phones there are: bodies are drained and closed.
func TestConnectionsAreFewAndUsedAgain(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 1, noDigest)
	phone.Store.App.Settings().RateLimits.Enabled = false // eleven phones sign in at once
	for range 11 {
		other := phone.MustSignIn("Robin")
		other.MustAllowAlerts()
		other.MustSetAlerts(noDigest)
	}
	var at, most atomic.Int64
	var mu sync.Mutex
	from := map[string]bool{}
	phone.Push.Answer = func(w http.ResponseWriter, r *http.Request) bool {
		now := at.Add(1)
		defer at.Add(-1)
		for {
			old := most.Load()
			if now <= old || most.CompareAndSwap(old, now) {
				break
			}
		}
		mu.Lock()
		from[r.RemoteAddr] = true
		mu.Unlock()
		time.Sleep(5 * time.Millisecond)
		return true
	}
	for range 4 {
		phone.MustStore(nil, phone.Feed(bins[0].ID))
		hourly(phone, 26)
	}
	if got := len(phone.Push.Messages()); got != 48 {
		t.Errorf("%d messages came, want 48", got)
	}
	if most.Load() > 4 || len(from) > 8 {
		t.Errorf("%d at a time over %d connections, want at most 4 at a time over a few", most.Load(), len(from))
	}
}
