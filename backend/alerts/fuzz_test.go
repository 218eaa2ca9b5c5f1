package alerts

import (
	"context"
	"crypto/ecdh"
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"testing"
)

// nowhere is a resolver that asks nobody.
func nowhere() *net.Resolver {
	return &net.Resolver{PreferGo: true, Dial: func(context.Context, string, string) (net.Conn, error) { return nil, net.ErrClosed }}
}

// An endpoint that is taken is one that a request can be made to: https, a
// public name, nobody's password in it.
func FuzzEndpoint(f *testing.F) {
	for _, seed := range []string{
		"https://push.example.com/x", "https://push.example.com:8443/x?y#z", "https://127.0.0.1/", "https://[::1]:443/", "https://0x7f.1/", "https://push.example.com%00.lan/",
		"https://127.0.0.1.:443/", "https://2130706433.1/", "https://[::ffff:10.0.0.1]/", "https://user@push.example.com/", "https://push.example.com\n/x", "https:push.example.com",
		"https://printer.lan./", "https://.../", "https://push..example.com/", "HTTPS://PUSH.EXAMPLE.COM/",
	} {
		f.Add(seed)
	}
	d := &doorman{resolver: nowhere()}
	f.Fuzz(func(t *testing.T, endpoint string) {
		if d.check(context.Background(), endpoint) != nil {
			return
		}
		request, err := http.NewRequest("POST", endpoint, nil)
		if err != nil {
			t.Fatalf("%q is taken, and no request can be made to it: %v", endpoint, err)
		}
		host := strings.TrimSuffix(request.URL.Hostname(), ".")
		if _, err := netip.ParseAddr(host); err == nil || request.URL.Scheme != "https" || request.URL.User != nil || !strings.Contains(host, ".") {
			t.Errorf("%q is taken and leads to %s", endpoint, request.URL)
		}
	})
}

// Keys that are taken are keys for which a message can be sealed.
func FuzzKeys(f *testing.F) {
	// The receiver's key and secret of RFC 8291, section 5.
	f.Add("BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4", "BTBZMqHH6r4Tts7J_aSIgg")
	f.Add("BCVxsr7N/eNgVRqvHtD0zTZsEc6+VV+JvLexhqUzORcxaOzi6+AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4=", "BTBZMqHH6r4Tts7J/aSIgg==")
	f.Add("", "")
	f.Add("BA", strings.Repeat("A", 22))
	f.Fuzz(func(t *testing.T, p256dh, auth string) {
		if checkKeys(p256dh, auth) != nil {
			return
		}
		point, pointErr := decodeKey(p256dh)
		secret, secretErr := decodeKey(auth)
		browser, browserErr := ecdh.P256().NewPublicKey(point)
		if err := errors.Join(pointErr, secretErr, browserErr); err != nil {
			t.Fatal(err)
		}
		if _, err := sealOnce([]byte("x"), browser, secret); err != nil {
			t.Errorf("%q and %q are taken, and nothing can be sealed for them: %v", p256dh, auth, err)
		}
	})
}

// A contact that is taken is a mail address or an https address.
func FuzzContact(f *testing.F) {
	for _, seed := range []string{"", "keeper@example.org", "mailto:keeper@example.org", "https://bins.example.org/about", "http://bins.example.org", "a@b", "mailto:", "mailto:a@example.org?bcc=b@example.org", "Ada <ada@example.org>"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		contact, err := checkContact(text)
		if err != nil || contact == "" {
			return
		}
		subject := contact
		if !strings.HasPrefix(strings.ToLower(contact), "https:") {
			subject = "mailto:" + contact
		}
		if parsed, err := url.Parse(subject); err != nil || parsed.Scheme != "mailto" && parsed.Scheme != "https" {
			t.Errorf("%q is taken as %q, which is no address: %v", text, contact, err)
		}
		if again, err := checkContact(contact); err != nil || again != contact {
			t.Errorf("%q is taken as %q, and that as %q (%v)", text, contact, again, err)
		}
	})
}
