package alerts

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"underlog/backend/store"
)

// BenchmarkMessages measures how many messages a second reach a receiver on
// this machine over TLS, from this server, from the library webpush-go by the
// same way, and from the npm package web-push in the same run: the better of
// one and of two of its processes, each with as many on the way as ours.
// Beside them stands what the machine's P-256 allows: a message is one key
// pair and one agreement, and the libraries sign one token for each too.
func BenchmarkMessages(b *testing.B) {
	if _, err := os.Stat("../../pwa/node_modules/web-push"); err != nil {
		b.Skip("the app's packages are not installed: make build")
	}
	receiver := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.Copy(io.Discard, r.Body)
		w.WriteHeader(http.StatusCreated)
	}))
	receiver.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	receiver.StartTLS()
	defer receiver.Close()
	device := mustBrowser(b, receiver.URL+"/w/1").Device
	payload := []byte(strings.Repeat("leftovers ", 50))

	const keeper = "keeper@example.org"
	identity, err := newIdentity()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		ours := sendAll(b, identity, receiver, func(s *sender) error {
			answer := s.sendAs(context.Background(), device, message{payload: payload, topic: topic("x"), urgency: urgencyHigh, ttl: time.Hour}, keeper)
			if answer.status != http.StatusCreated {
				return fmt.Errorf("answered %d %s", answer.status, answer.text)
			}
			return nil
		})
		library := sendAll(b, identity, receiver, func(s *sender) error {
			return webpushGo(s, message{payload: bytes.Clone(payload), topic: topic("x"), urgency: urgencyHigh, ttl: time.Hour}, device, keeper, time.Time{}, s.client)
		})
		theirs := max(webPush(b, device, payload, 1), webPush(b, device, payload, 2))
		b.ReportMetric(ours, "messages/s")
		b.ReportMetric(library, "webpush-go/s")
		b.ReportMetric(theirs, "web-push/s")
		b.ReportMetric(ours/theirs, "times-web-push")
		b.ReportMetric(library/theirs, "webpush-go-times-web-push")
	}
	b.ReportMetric(0, "ns/op")
	agreements, signatures := opensslSpeed(b)
	b.ReportMetric(agreements, "openssl-ecdh/s")
	b.ReportMetric(signatures, "openssl-sign/s")
}

const benchMessages, benchAtOnce = 4000, 16

// sendAll sends and returns messages a second, the making of the connections
// left out.
func sendAll(b *testing.B, identity *identity, receiver *httptest.Server, one func(*sender) error) float64 {
	b.Helper()
	transport := (&doorman{trusting: true}).transport(usualTimeout)
	transport.TLSClientConfig = receiver.Client().Transport.(*http.Transport).TLSClientConfig
	transport.MaxIdleConnsPerHost = benchAtOnce
	defer transport.CloseIdleConnections()
	s := &sender{store: &store.Store{Clock: clockwork.NewRealClock()}, identity: identity, client: &http.Client{Transport: transport, Timeout: usualTimeout}}
	send := func(each int) {
		var waiting sync.WaitGroup
		for range benchAtOnce {
			waiting.Go(func() {
				for range each {
					if err := one(s); err != nil {
						b.Error(err)
					}
				}
			})
		}
		waiting.Wait()
	}
	send(1)
	began := time.Now()
	send(benchMessages / benchAtOnce)
	return benchMessages / time.Since(began).Seconds()
}

// webPush sends the same from processes of Node and returns messages a second,
// the start of the processes left out.
func webPush(b *testing.B, device store.Device, payload []byte, processes int) float64 {
	b.Helper()
	order, err := json.Marshal(map[string]any{"endpoint": device.Endpoint, "p256dh": device.P256dh, "auth": device.Auth,
		"payload": string(payload), "messages": benchMessages / processes, "at_once": benchAtOnce})
	if err != nil {
		b.Fatal(err)
	}
	var rate float64
	var mu sync.Mutex
	var waiting sync.WaitGroup
	for range processes {
		waiting.Go(func() {
			node := exec.Command("node", "scripts/push-bench.mjs")
			node.Dir, node.Stdin, node.Stderr = "../../pwa", strings.NewReader(string(order)), os.Stderr
			out, err := node.Output()
			var said struct {
				PerSecond float64 `json:"per_second"`
			}
			if err == nil {
				err = json.Unmarshal(out, &said)
			}
			if err != nil {
				b.Errorf("web-push: %v", err)
			}
			mu.Lock()
			rate += said.PerSecond
			mu.Unlock()
		})
	}
	waiting.Wait()
	return rate
}

// opensslSpeed is how many agreements and signatures of P-256 a second this
// machine makes on one core, by openssl.
func opensslSpeed(b *testing.B) (agreements, signatures float64) {
	out, err := exec.Command("openssl", "speed", "-seconds", "1", "ecdhp256", "ecdsap256").Output()
	if err != nil {
		b.Logf("openssl speed: %v", err)
		return 0, 0
	}
	find := func(pattern string) float64 {
		found := regexp.MustCompile(pattern).FindStringSubmatch(string(out))
		if found == nil {
			b.Logf("openssl says something else:\n%s", out)
			return 0
		}
		value, _ := strconv.ParseFloat(found[1], 64)
		return value
	}
	return find(`256 bits ecdh \(nistp256\)\s+[\d.]+s\s+([\d.]+)`), find(`256 bits ecdsa \(nistp256\)\s+[\d.]+s\s+[\d.]+s\s+([\d.]+)`)
}
