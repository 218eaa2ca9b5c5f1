package alerts

import (
	"bytes"
	"crypto/ecdh"
	"crypto/rand"
	"encoding/base64"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	webpush "github.com/SherClockHolmes/webpush-go"
	"github.com/jonboulle/clockwork"

	"underlog/backend/pushtest"
	"underlog/backend/store"
)

// A browser is who takes messages in these tests.
type browser struct {
	key    *ecdh.PrivateKey
	secret []byte
	store.Device
}

func mustBrowser(tb testing.TB, endpoint string) browser {
	tb.Helper()
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		tb.Fatal(err)
	}
	secret := make([]byte, 16)
	rand.Read(secret)
	encode := base64.RawURLEncoding.EncodeToString
	return browser{key, secret, store.Device{Endpoint: endpoint, P256dh: encode(key.PublicKey().Bytes()), Auth: encode(secret)}}
}

// caught takes a request instead of sending it.
type caught struct{ *http.Request }

func (c *caught) Do(r *http.Request) (*http.Response, error) {
	c.Request = r
	return &http.Response{StatusCode: http.StatusCreated, Body: http.NoBody, Request: r}, nil
}

// webpushGo has the library webpush-go send a message as s would, by client.
func webpushGo(s *sender, m message, device store.Device, contact string, expires time.Time, client webpush.HTTPClient) error {
	private, err := s.identity.key.Bytes()
	if err != nil {
		return err
	}
	response, err := webpush.SendNotification(m.payload, &webpush.Subscription{Endpoint: device.Endpoint, Keys: webpush.Keys{Auth: device.Auth, P256dh: device.P256dh}},
		&webpush.Options{HTTPClient: client, RecordSize: 1024, Subscriber: contact, Topic: m.topic, TTL: ttl(m.ttl), Urgency: webpush.Urgency(m.urgency),
			VAPIDPublicKey: s.identity.public, VAPIDPrivateKey: base64.RawURLEncoding.EncodeToString(private), VapidExpiration: expires})
	if err != nil {
		return err
	}
	_, _ = io.Copy(io.Discard, response.Body)
	return response.Body.Close()
}

// A second implementation in Go makes of a message the same: a request with
// the same headers, whose body opens to the same text and whose token says the
// same.
func TestAnotherLibraryMakesTheSame(t *testing.T) {
	const origin, keeper = "https://push.example.net:8443", "keeper@example.org"
	now := time.Now() // it knows no other clock
	s := &sender{store: &store.Store{Clock: clockwork.NewFakeClockAt(now)}, identity: mustIdentity(t)}
	for _, text := range []string{"", "x", `{"web_push":8030,"notification":{"title":"Käfer"}}`, strings.Repeat("wood louse ", 80)} {
		to := mustBrowser(t, origin+"/w/1?a=b")
		m := message{payload: []byte(text), topic: topic("x"), urgency: urgencyHigh, ttl: 90 * time.Minute}
		ours, err := s.requestAs(t.Context(), to.Device, m, keeper)
		if err != nil {
			t.Fatal(err)
		}
		var theirs caught
		if err := webpushGo(s, message{bytes.Clone(m.payload), m.topic, m.urgency, m.ttl}, to.Device, keeper, time.Time{}, &theirs); err != nil {
			t.Fatal(err)
		}
		for name := range ours.Header {
			if name != "Authorization" && ours.Header.Get(name) != theirs.Header.Get(name) {
				t.Errorf("%s: ours says %q, theirs %q", name, ours.Header.Get(name), theirs.Header.Get(name))
			}
		}
		if len(ours.Header) != len(theirs.Header) || ours.URL.String() != theirs.URL.String() || ours.Method != theirs.Method {
			t.Errorf("ours is %s %s %v, theirs %s %s %v", ours.Method, ours.URL, ours.Header, theirs.Method, theirs.URL, theirs.Header)
		}
		for who, request := range map[string]*http.Request{"ours": ours, "theirs": theirs.Request} {
			body, err := io.ReadAll(request.Body)
			if err != nil {
				t.Fatal(err)
			}
			if plain, err := pushtest.Decrypt(body, to.key, to.secret); err != nil || string(plain) != text {
				t.Errorf("%s opens to %q (%v), want %q", who, plain, err, text)
			}
			claims, key, err := pushtest.Verify(request.Header.Get("Authorization"), origin, now)
			if err != nil || claims.Subject != "mailto:"+keeper || key != s.identity.public || claims.Expires-now.Add(tokenLife).Unix() > 2 {
				t.Errorf("%s: the token says %+v by %s (%v)", who, claims, key, err)
			}
		}
	}
}

// Why it does not send our messages: when one of these fails, the library has
// been mended, and the decision in DEVELOPERS.md is to be looked at again.
func TestWhyTheOtherLibraryDoesNotSend(t *testing.T) {
	const origin, keeper = "https://push.example.net", "keeper@example.org"
	s := &sender{identity: mustIdentity(t)}
	to := mustBrowser(t, origin+"/w/1")
	send := func(payload []byte, expires time.Time) string {
		var request caught
		if err := webpushGo(s, message{payload: payload, urgency: urgencyHigh, ttl: time.Hour}, to.Device, keeper, expires, &request); err != nil {
			t.Fatal(err)
		}
		return request.Header.Get("Authorization")
	}
	now := time.Now()
	if claims, _, err := pushtest.Verify(send([]byte("x"), now.Add(time.Hour)), origin, now); err != nil || claims.Expires < now.Add(11*time.Hour).Unix() {
		t.Errorf("the expiry that is asked for is kept to: %+v (%v)", claims, err)
	}
	first, second := send([]byte("x"), time.Time{}), send([]byte("x"), time.Time{})
	if first == second {
		t.Error("a token is used for more than one message")
	}
	shared := []byte("what is told, and what lies behind it")
	send(shared[:len("what is told")], time.Time{})
	if string(shared) == "what is told, and what lies behind it" {
		t.Error("the memory behind a message is left alone")
	}
}
