package alerts

import (
	"bytes"
	"context"
	"crypto/ecdh"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"underlog/backend/store"
)

// Outbound is the way to the push services. The zero value is the usual one.
type Outbound struct {
	Transport   http.RoundTripper // instead of the guarded one
	AnyEndpoint bool              // for tests: endpoints may be http and on this machine
	Timeout     time.Duration     // of one attempt; 10 s unless given
}

// usualTimeout bounds one attempt.
const usualTimeout = 10 * time.Second

// longestTTL is what every push service keeps a message for.
const longestTTL = 28 * 24 * time.Hour

// clockTolerance is how far this machine's clock may be from a push
// service's before its person is told: tokens are bound to the time.
const clockTolerance = 5 * time.Minute

type sender struct {
	store    *store.Store
	identity *identity
	client   *http.Client
	clockOff atomic.Int64 // what to add to the services' time to get this machine's, as last seen
}

func newSender(s *store.Store, identity *identity, outbound Outbound, doorman *doorman) *sender {
	timeout := outbound.Timeout
	if timeout == 0 {
		timeout = usualTimeout
	}
	transport := outbound.Transport
	if transport == nil {
		transport = doorman.transport(timeout)
	}
	return &sender{store: s, identity: identity, client: &http.Client{
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

func (a answer) taken() bool { return a.status >= 200 && a.status < 300 }

func (a answer) gone() bool {
	return a.status == http.StatusNotFound || a.status == http.StatusGone
}

// send encrypts a message for a device and hands it to its push service.
func (s *sender) send(ctx context.Context, device store.Device, m message) answer {
	contact, err := s.contact()
	if err != nil {
		return answer{text: err.Error()}
	}
	return s.sendAs(ctx, device, m, contact)
}

// sendAs is send from somebody who can be reached at contact.
func (s *sender) sendAs(ctx context.Context, device store.Device, m message, contact string) answer {
	request, err := s.requestAs(ctx, device, m, contact)
	if err != nil {
		return answer{text: err.Error()}
	}
	response, err := s.client.Do(request)
	if err != nil {
		return answer{text: err.Error()}
	}
	defer response.Body.Close()
	text, _ := io.ReadAll(io.LimitReader(response.Body, 300))
	_, _ = io.CopyN(io.Discard, response.Body, 64<<10) // so that the connection can be used again
	now := s.store.Clock.Now()
	if theirs, err := http.ParseTime(response.Header.Get("Date")); err == nil {
		s.clockOff.Store(int64(now.Sub(theirs)))
	}
	return answer{status: response.StatusCode, text: strings.ToValidUTF8(strings.TrimSpace(string(text)), "?"),
		retryAfter: retryAfter(response.Header, now)}
}

// requestAs is the message as the push service takes it (RFC 8030, 5), from
// somebody who can be reached at contact.
func (s *sender) requestAs(ctx context.Context, device store.Device, m message, contact string) (*http.Request, error) {
	point, err := decodeKey(device.P256dh)
	if err != nil {
		return nil, err
	}
	browser, err := ecdh.P256().NewPublicKey(point)
	if err != nil {
		return nil, err
	}
	secret, err := decodeKey(device.Auth)
	if err != nil {
		return nil, err
	}
	body, err := sealOnce(m.payload, browser, secret)
	if err != nil {
		return nil, err
	}
	endpoint, err := url.Parse(device.Endpoint)
	if err != nil {
		return nil, err
	}
	authorization, err := s.identity.authorization(endpoint.Scheme+"://"+endpoint.Host, contact, s.store.Clock.Now())
	if err != nil {
		return nil, err
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, device.Endpoint, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	request.Header.Set("Authorization", authorization)
	request.Header.Set("Content-Encoding", "aes128gcm")
	request.Header.Set("Content-Type", "application/octet-stream")
	request.Header.Set("TTL", strconv.Itoa(ttl(m.ttl)))
	request.Header.Set("Topic", m.topic)
	request.Header.Set("Urgency", m.urgency)
	return request, nil
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

// contact is whom a push service may write to.
func (s *sender) contact() (string, error) {
	text, err := s.store.Key(store.KeyContact)
	if err != nil {
		return "", err
	}
	contact, problem := checkContact(text)
	if problem != nil || contact == "" {
		contact = nobodyInParticular
	}
	return contact, nil
}

// skew is how far this machine's clock is ahead of the push services', as far
// as that matters; 0 where it does not.
func (s *sender) skew() time.Duration {
	off := time.Duration(s.clockOff.Load())
	if off.Abs() <= clockTolerance {
		return 0
	}
	return off.Round(time.Second)
}
