package pushtest

import (
	"crypto/ecdh"
	"encoding/base64"
	"encoding/json"
	"os"
	"strings"
	"testing"
	"time"
)

func mustRead[T any](tb testing.TB, path string) T {
	tb.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	var vector T
	if err := json.Unmarshal(raw, &vector); err != nil {
		tb.Fatal(err)
	}
	return vector
}

func mustDecode(tb testing.TB, text string) []byte {
	tb.Helper()
	raw, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		tb.Fatal(err)
	}
	return raw
}

// The message of RFC 8291, section 5, with the keys of its appendix A.
func TestDecryptOpensTheMessageOfTheStandard(t *testing.T) {
	vector := mustRead[map[string]string](t, "testdata/rfc8291.json")
	key, err := ecdh.P256().NewPrivateKey(mustDecode(t, vector["ua_private"]))
	if err != nil {
		t.Fatal(err)
	}
	if got := base64.RawURLEncoding.EncodeToString(key.PublicKey().Bytes()); got != vector["ua_public"] {
		t.Fatalf("the public key is %s, want %s", got, vector["ua_public"])
	}
	body, secret := mustDecode(t, vector["body"]), mustDecode(t, vector["auth_secret"])
	plain, err := Decrypt(body, key, secret)
	if err != nil {
		t.Fatal(err)
	}
	if want := string(mustDecode(t, vector["plaintext"])); string(plain) != want {
		t.Errorf("the message is %q, want %q", plain, want)
	}
	for i := range body {
		broken := append([]byte{}, body...)
		broken[i] ^= 1
		// The record size may be any other that still fits; every other bit counts.
		if _, err := Decrypt(broken, key, secret); err == nil && (i < 16 || i >= 20) {
			t.Errorf("a message with byte %d changed was taken", i)
		}
	}
}

// The token of RFC 8292, section 2.4.
func TestVerifyTakesTheTokenOfTheStandard(t *testing.T) {
	vector := mustRead[struct {
		Authorization, Audience, Subject string
		Expires                          int64
	}](t, "testdata/rfc8292.json")
	before := time.Unix(vector.Expires, 0).Add(-time.Hour)
	claims, _, err := Verify(vector.Authorization, vector.Audience, before)
	if err != nil {
		t.Fatal(err)
	}
	if claims.Subject != vector.Subject || claims.Expires != vector.Expires {
		t.Errorf("the claims are %+v", claims)
	}
	refused := map[string]func() error{
		"for another service": func() error {
			_, _, err := Verify(vector.Authorization, "https://push.example.com", before)
			return err
		},
		"expired": func() error {
			_, _, err := Verify(vector.Authorization, vector.Audience, before.Add(2*time.Hour))
			return err
		},
		"too long": func() error {
			_, _, err := Verify(vector.Authorization, vector.Audience, before.Add(-24*time.Hour))
			return err
		},
		"signed by another": func() error {
			_, _, err := Verify(strings.Replace(vector.Authorization, ".i3CY", ".i3CZ", 1), vector.Audience, before)
			return err
		},
		"another scheme": func() error {
			_, _, err := Verify(strings.Replace(vector.Authorization, "vapid", "Bearer", 1), vector.Audience, before)
			return err
		},
	}
	for name, try := range refused {
		if try() == nil {
			t.Errorf("a token that is %s was taken", name)
		}
	}
}
