package alerts_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os/exec"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"underlog/backend/pushtest"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// A mortal is a server of its own process, with its push service in this one,
// which outlives it.
type mortal struct {
	*trial.Program
	url, control string
}

func mustLive(t *testing.T, binary, data string, at time.Time) *mortal {
	t.Helper()
	var said struct{ URL, Control string }
	run := trial.MustRun(t, func(line string) bool { return json.Unmarshal([]byte(line), &said) == nil },
		binary, "-still", "-data", data, "-at", at.Format(time.RFC3339))
	return &mortal{run, said.URL, said.Control}
}

// Killed after the delivery was written and before the push service took the
// message, the alert comes once. Killed after it was taken and before that was
// written down it comes again under the same topic and tag, so that the phone
// shows one.
func TestAServerKilledWhileItSends(t *testing.T) {
	binary := filepath.Join(t.TempDir(), "apptest")
	if out, err := exec.Command("go", "build", "-o", binary, "../apptest").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for name, taken := range map[string]bool{"between write and send": false, "between send and acknowledgement": true} {
		t.Run(name, func(t *testing.T) {
			data, now := t.TempDir(), trial.Noon
			push := pushtest.Start()
			t.Cleanup(push.Close)
			var clock atomic.Int64 // read by the service's own goroutines
			clock.Store(now.Unix())
			push.Now = func() time.Time { return time.Unix(clock.Load(), 0) }
			server := mustLive(t, binary, data, now)
			var owner struct {
				Token  string
				Record struct{ ID string }
			}
			trial.MustAsk(t, "POST", server.url+"/api/underlog/setup", "", map[string]string{"room": "Cellar", "name": "Robin",
				"password": trial.Password, "time_zone": "Europe/Berlin", "units": "metric"}, &owner)
			device := trial.NewID()
			trial.MustAsk(t, "PUT", server.url+"/api/underlog/alerts", owner.Token, map[string]any{"device": device, "subscription": push.Subscribe()}, nil)
			trial.MustAsk(t, "PUT", server.url+"/api/underlog/alerts/settings", owner.Token, map[string]any{"device": device, "settings": noDigest}, nil)
			tub := husbandry.CommonTub()
			tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position, tub.Kind = trial.NewID(), "Pied", "Window", 1, 1, "porcellio-scaber"
			sheet, err := husbandry.NewSheet("bins", tub, husbandry.NextStamp(now, device, ""))
			if err != nil {
				t.Fatal(err)
			}
			feeding := husbandry.Entry{ID: trial.NewID(), Bin: tub.ID, At: now, What: husbandry.Feed, By: owner.Record.ID, Device: device, Food: "melon", Pieces: 1}
			trial.MustAsk(t, "POST", server.url+"/api/underlog/exchange", owner.Token, map[string]any{"protocol": 1, "device": device, "epoch": "", "cursor": 0,
				"at": now.Format(time.RFC3339), "sheets": []any{sheet}, "entries": []any{feeding}}, nil)

			var asked atomic.Bool
			dead := make(chan struct{})
			push.Answer = func(_ http.ResponseWriter, r *http.Request) bool {
				if asked.Swap(true) {
					return true
				}
				if taken { // the message is in the service's hands
					push.ServeHTTP(quietly{}, r)
				}
				_ = server.Process.Kill()
				_ = server.Wait()
				close(dead)
				return false
			}
			now = now.Add(25 * time.Hour)
			clock.Store(now.Unix())
			raw := fmt.Sprintf(`{"to":%q}`, now.Format(time.RFC3339))
			if response, err := http.Post(server.control+"/advance", "application/json", bytes.NewReader([]byte(raw))); err == nil {
				response.Body.Close()
			}
			select {
			case <-dead:
			case <-time.After(20 * time.Second):
				t.Fatalf("nothing was sent: %v", push.Problems())
			}
			before := len(push.Messages())
			for range 3 { // whatever is due after the restart, and again after another
				server = mustLive(t, binary, data, now)
				now = now.Add(10 * time.Minute)
				clock.Store(now.Unix())
				trial.MustAsk(t, "POST", server.control+"/advance", "", map[string]string{"to": now.Format(time.RFC3339)}, nil)
				_ = server.Process.Kill()
				_ = server.Wait()
			}
			messages := push.Messages()
			if taken && before != 1 || !taken && before != 0 {
				t.Fatalf("%d messages were taken before the kill (%v)", before, push.Problems())
			}
			want := before + 1
			if len(messages) != want {
				t.Fatalf("%d messages came in all, want %d (%v)", len(messages), want, push.Problems())
			}
			if taken {
				first, again := mustRead(t, messages[0]), mustRead(t, messages[1])
				if messages[0].Topic != messages[1].Topic || first.Notification.Tag != again.Notification.Tag {
					t.Errorf("the second does not take the first one's place: %s %s, %s %s",
						messages[0].Topic, messages[1].Topic, first.Notification.Tag, again.Notification.Tag)
				}
			}
		})
	}
}

// quietly is an answer that nobody hears.
type quietly struct{}

func (quietly) Header() http.Header         { return http.Header{} }
func (quietly) Write(b []byte) (int, error) { return len(b), nil }
func (quietly) WriteHeader(int)             {}
