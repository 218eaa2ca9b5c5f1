package alerts

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/SherClockHolmes/webpush-go"

	"underlog/backend/store"
)

// Outbound is the way to the push services. The zero value is the usual one.
type Outbound struct {
	Transport   http.RoundTripper // instead of the guarded one
	AnyEndpoint bool              // for tests: endpoints may be http and on this machine
}

// timeout bounds one attempt.
const timeout = 10 * time.Second

// longestTTL is what every push service keeps a message for.
const longestTTL = 28 * 24 * time.Hour

type sender struct {
	store           *store.Store
	public, private string
	client          *http.Client
}

func newSender(s *store.Store, public, private string, outbound Outbound, doorman *doorman) *sender {
	transport := outbound.Transport
	if transport == nil {
		transport = doorman.transport()
	}
	return &sender{store: s, public: public, private: private, client: &http.Client{
		Timeout: timeout, Transport: transport,
		// A push service has no reason to send us elsewhere.
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// An answer is what a push service said; status 0 is no answer at all.
type answer struct {
	status     int
	text       string
	retryAfter time.Duration
}

func (a answer) gone() bool {
	return a.status == http.StatusNotFound || a.status == http.StatusGone
}

// send encrypts a message for a device and hands it to its push service.
func (s *sender) send(ctx context.Context, device store.Device, m message) answer {
	contact, err := s.contact()
	if err != nil {
		return answer{text: err.Error()}
	}
	response, err := webpush.SendNotificationWithContext(ctx,
		bytes.Clone(m.payload), // the library writes its padding into what it is given
		&webpush.Subscription{Endpoint: device.Endpoint, Keys: webpush.Keys{Auth: device.Auth, P256dh: device.P256dh}},
		&webpush.Options{
			HTTPClient: s.client, RecordSize: recordSize(len(m.payload)),
			Subscriber: contact, VAPIDPublicKey: s.public, VAPIDPrivateKey: s.private,
			TTL: ttl(m.ttl), Topic: m.topic, Urgency: webpush.UrgencyHigh, // leftovers are for today
		})
	if err != nil {
		return answer{text: err.Error()}
	}
	defer response.Body.Close()
	text, _ := io.ReadAll(io.LimitReader(response.Body, 300))
	_, _ = io.CopyN(io.Discard, response.Body, 64<<10) // so that the connection can be used again
	return answer{status: response.StatusCode, text: strings.ToValidUTF8(string(text), "?"),
		retryAfter: retryAfter(response.Header, s.store.Clock.Now())}
}

// recordSize is the smallest that holds a message: its padding byte, the
// header of 86 bytes and the tag of 16 come on top (RFC 8188).
func recordSize(payload int) uint32 {
	for _, size := range []int{512, 1024, 2048} {
		if payload+1+86+16 <= size {
			return uint32(size)
		}
	}
	return webpush.MaxRecordSize
}

func ttl(useful time.Duration) int {
	return int(min(max(useful, time.Minute), longestTTL) / time.Second)
}

func retryAfter(header http.Header, now time.Time) time.Duration {
	text := header.Get("Retry-After")
	if seconds, err := strconv.Atoi(text); err == nil && seconds > 0 {
		return min(time.Duration(seconds)*time.Second, 24*time.Hour)
	}
	if at, err := http.ParseTime(text); err == nil && at.After(now) {
		return min(at.Sub(now), 24*time.Hour)
	}
	return 0
}

// nobodyInParticular stands in the token where the owner has given no
// address: some services take it, others want a real one.
const nobodyInParticular = "https://example.org/"

// contact is whom a push service may write to, as the library wants it: a
// bare address or an https address.
func (s *sender) contact() (string, error) {
	contact, err := s.store.Key(store.KeyContact)
	if contact == "" {
		contact = nobodyInParticular
	}
	return strings.TrimPrefix(contact, "mailto:"), err
}
