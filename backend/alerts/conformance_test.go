package alerts

import (
	"bytes"
	"crypto/ecdh"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"underlog/backend/pushtest"
	"underlog/backend/store"
)

func mustDecode(tb testing.TB, text string) []byte {
	tb.Helper()
	raw, err := decodeKey(text)
	if err != nil {
		tb.Fatal(err)
	}
	return raw
}

// The message of RFC 8291, section 5, made with the keys and the salt of its
// appendix A: byte for byte.
func TestSealMakesTheMessageOfTheStandard(t *testing.T) {
	raw, err := os.ReadFile("../pushtest/testdata/rfc8291.json")
	if err != nil {
		t.Fatal(err)
	}
	var vector map[string]string
	if err := json.Unmarshal(raw, &vector); err != nil {
		t.Fatal(err)
	}
	sender, err := ecdh.P256().NewPrivateKey(mustDecode(t, vector["as_private"]))
	if err != nil {
		t.Fatal(err)
	}
	if got := base64.RawURLEncoding.EncodeToString(sender.PublicKey().Bytes()); got != vector["as_public"] {
		t.Fatalf("the sender's key is %s, want %s", got, vector["as_public"])
	}
	browser, err := ecdh.P256().NewPublicKey(mustDecode(t, vector["ua_public"]))
	if err != nil {
		t.Fatal(err)
	}
	body, err := seal(mustDecode(t, vector["plaintext"]), browser, mustDecode(t, vector["auth_secret"]), sender, mustDecode(t, vector["salt"]), 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := base64.RawURLEncoding.EncodeToString(body); got != vector["body"] {
		t.Errorf("the message is\n%s, want\n%s", got, vector["body"])
	}
}

// The largest that one record holds is sealed, one byte more is refused.
func TestSealKnowsItsBounds(t *testing.T) {
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	secret := make([]byte, 16)
	for _, size := range []int{0, 1, 408, 409, 410, 1000, recordSize - tagSize - 1} {
		text := bytes.Repeat([]byte{'x'}, size)
		body, err := sealOnce(text, key.PublicKey(), secret)
		if err != nil {
			t.Fatalf("%d bytes: %v", size, err)
		}
		if len(body)%512 != 0 && len(body) != headSize+recordSize {
			t.Errorf("%d bytes became %d: the length tells", size, len(body))
		}
		if plain, err := pushtest.Decrypt(body, key, secret); err != nil || !bytes.Equal(plain, text) {
			t.Errorf("%d bytes do not open again: %v", size, err)
		}
	}
	if _, err := sealOnce(make([]byte, recordSize-tagSize), key.PublicKey(), secret); err != errTooLong {
		t.Errorf("a message that does not fit is answered with %v", err)
	}
}

// What is sent is opened by code that shares nothing with ours: the body by
// the npm package http_ece, the token by jose.
func TestOtherLibrariesOpenWhatIsSent(t *testing.T) {
	if _, err := os.Stat("../../pwa/node_modules/http_ece"); err != nil {
		t.Fatal("the app's packages are not installed: make build")
	}
	at := time.Date(2026, 5, 28, 10, 0, 0, 0, time.UTC)
	identity := mustIdentity(t)
	type opened struct {
		Text   string
		Claims struct {
			Aud, Sub string
			Exp      int64
		}
	}
	var given []map[string]any
	texts := []string{"", "x", `{"web_push":8030,"notification":{"title":"Käfer"}}`, strings.Repeat("wood louse ", 90)}
	for _, text := range texts {
		key, err := ecdh.P256().GenerateKey(rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		secret := make([]byte, 16)
		rand.Read(secret)
		encode := base64.RawURLEncoding.EncodeToString
		s := &sender{store: &store.Store{Clock: clockwork.NewFakeClockAt(at)}, identity: identity}
		device := store.Device{Endpoint: "https://push.example.net:8443/w/1?a=b", P256dh: encode(key.PublicKey().Bytes()), Auth: encode(secret)}
		request, err := s.requestAs(t.Context(), device, message{payload: []byte(text), topic: topic("x"), urgency: urgencyHigh, ttl: time.Hour}, "keeper@example.org")
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(request.Body)
		if err != nil {
			t.Fatal(err)
		}
		given = append(given, map[string]any{"body": encode(body), "private": encode(key.Bytes()), "auth": encode(secret),
			"authorization": request.Header.Get("Authorization"), "origin": "https://push.example.net:8443", "at": at.Unix()})
	}
	raw, err := json.Marshal(given)
	if err != nil {
		t.Fatal(err)
	}
	node := exec.Command("node", "scripts/open-push.mjs")
	node.Dir, node.Stdin, node.Stderr = "../../pwa", bytes.NewReader(raw), os.Stderr
	out, err := node.Output()
	if err != nil {
		t.Fatalf("they do not open: %v", err)
	}
	var found []opened
	if err := json.Unmarshal(out, &found); err != nil {
		t.Fatal(err)
	}
	for i, text := range texts {
		claims := found[i].Claims
		if found[i].Text != text {
			t.Errorf("message %d is read as %q, want %q", i, found[i].Text, text)
		}
		if claims.Sub != "mailto:keeper@example.org" || claims.Exp != at.Add(tokenLife).Unix() {
			t.Errorf("the claims are %+v", claims)
		}
	}
}

func mustIdentity(tb testing.TB) *identity {
	tb.Helper()
	identity, err := newIdentity()
	if err != nil {
		tb.Fatal(err)
	}
	return identity
}

// A token is made once for a service and an hour's alerts, lasts half a day at
// most, and is made anew before it ends and when the clock was set back.
func TestTokensAreKeptAndRenewed(t *testing.T) {
	identity := mustIdentity(t)
	at := time.Date(2026, 5, 28, 10, 0, 0, 0, time.UTC)
	ask := func(origin, subject string, now time.Time) string {
		header, err := identity.authorization(origin, subject, now)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := pushtest.Verify(header, origin, now); err != nil {
			t.Errorf("at %s: %v", now, err)
		}
		return header
	}
	const one, other, keeper = "https://a.example.net", "https://b.example.net", "keeper@example.org"
	first := ask(one, keeper, at)
	if ask(one, keeper, at.Add(9*time.Hour)) != first {
		t.Error("a token was made anew without need")
	}
	for what, header := range map[string]string{
		"another service":        ask(other, keeper, at),
		"another contact":        ask(one, "https://example.org/me", at),
		"nearly ended":           ask(one, keeper, at.Add(11*time.Hour)),
		"after nine days' sleep": ask(one, keeper, at.Add(9*24*time.Hour)),
		"a clock set back":       ask(one, keeper, at.Add(-30*time.Hour)),
	} {
		if header == first {
			t.Errorf("%s: the token is the old one", what)
		}
	}
}
