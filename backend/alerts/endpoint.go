package alerts

import (
	"context"
	"crypto/ecdh"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"syscall"
	"time"
)

// A doorman sees to it that subscriptions, which come from outside, cannot
// make the server knock at doors inside: https only, names only, and no name
// that leads to a private address, asked again at every connection.
type doorman struct {
	trusting bool // tests have their push service on this machine
}

// check says what is wrong with an endpoint in a sentence.
func (d *doorman) check(ctx context.Context, endpoint string) error {
	if d.trusting {
		return nil
	}
	parsed, err := url.Parse(endpoint)
	if err != nil || parsed.Scheme != "https" || parsed.Host == "" || parsed.User != nil || len(endpoint) > 2000 {
		return errors.New("endpoint: give the https address that the browser's push service gave")
	}
	host := strings.ToLower(strings.TrimSuffix(parsed.Hostname(), "."))
	if _, err := netip.ParseAddr(host); err == nil || !strings.Contains(host, ".") || private(host) {
		return fmt.Errorf("endpoint: %s is no public name: give the https address that the browser's push service gave", host)
	}
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	addresses, err := net.DefaultResolver.LookupNetIP(ctx, "ip", host)
	if err != nil {
		return nil // without a line nobody can tell; the connection asks again
	}
	for _, address := range addresses {
		if !public(address) {
			return fmt.Errorf("endpoint: %s leads to a private address: give the https address that the browser's push service gave", host)
		}
	}
	return nil
}

// private reports whether a name is one of those that stay at home.
func private(host string) bool {
	for _, zone := range []string{"localhost", "local", "internal", "invalid", "test", "lan", "home.arpa", "onion"} {
		if host == zone || strings.HasSuffix(host, "."+zone) {
			return true
		}
	}
	return false
}

var sharedSpace = netip.MustParsePrefix("100.64.0.0/10") // RFC 6598, behind carriers' address translation
var translated = netip.MustParsePrefix("64:ff9b::/96")   // RFC 6052, leads to any IPv4 address

func public(address netip.Addr) bool {
	address = address.Unmap()
	return address.IsGlobalUnicast() && !address.IsPrivate() && !sharedSpace.Contains(address) && !translated.Contains(address)
}

// transport connects to public addresses only. It looks at the address that
// is connected to, so that a name which leads elsewhere the second time it is
// asked for gains nothing.
func (d *doorman) transport() http.RoundTripper {
	dialer := &net.Dialer{Timeout: 5 * time.Second, Control: func(_, address string, _ syscall.RawConn) error {
		target, err := netip.ParseAddrPort(address)
		if err != nil {
			return err
		}
		if !d.trusting && !public(target.Addr()) {
			return fmt.Errorf("%s is a private address", target.Addr())
		}
		return nil
	}}
	return &http.Transport{
		DialContext: dialer.DialContext, ForceAttemptHTTP2: true, MaxIdleConnsPerHost: atOnce,
		TLSHandshakeTimeout: 5 * time.Second, ResponseHeaderTimeout: timeout, IdleConnTimeout: 90 * time.Second,
	}
}

// checkKeys says what is wrong with a subscription's keys: a point of P-256
// and a secret of 16 bytes (RFC 8291, 3.1 and 3.2).
func checkKeys(p256dh, auth string) error {
	point, err := decodeKey(p256dh)
	if err == nil {
		_, err = ecdh.P256().NewPublicKey(point)
	}
	if err != nil {
		return errors.New("subscription.keys.p256dh: give the browser's public key, 65 bytes as base64url")
	}
	if secret, err := decodeKey(auth); err != nil || len(secret) != 16 {
		return errors.New("subscription.keys.auth: give the browser's secret, 16 bytes as base64url")
	}
	return nil
}

func decodeKey(text string) ([]byte, error) {
	return base64.RawURLEncoding.DecodeString(strings.TrimRight(strings.NewReplacer("+", "-", "/", "_").Replace(text), "="))
}
