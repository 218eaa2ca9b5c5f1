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
	"slices"
	"strings"
	"syscall"
	"time"
)

// A doorman sees to it that subscriptions, which come from outside, cannot
// make the server knock at doors inside: https only, names only, and no name
// that leads to a private address, asked again at every connection.
type doorman struct {
	trusting bool          // tests have their push service on this machine
	resolver *net.Resolver // nil: the system's
}

func (d *doorman) names() *net.Resolver {
	if d.resolver != nil {
		return d.resolver
	}
	return net.DefaultResolver
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
	if !isPublicName(host) {
		return fmt.Errorf("endpoint: %s is no public name: give the https address that the browser's push service gave", host)
	}
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	addresses, err := d.names().LookupNetIP(ctx, "ip", host)
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

// special are addresses that lead to nobody in particular on the open net,
// though they look global (RFC 6890 and its registries).
var special = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"),       // this network
	netip.MustParsePrefix("100.64.0.0/10"),   // behind carriers' address translation (RFC 6598)
	netip.MustParsePrefix("192.0.0.0/24"),    // protocol assignments
	netip.MustParsePrefix("192.0.2.0/24"),    // documentation
	netip.MustParsePrefix("198.18.0.0/15"),   // benchmarks
	netip.MustParsePrefix("198.51.100.0/24"), // documentation
	netip.MustParsePrefix("203.0.113.0/24"),  // documentation
	netip.MustParsePrefix("240.0.0.0/4"),     // reserved
	netip.MustParsePrefix("::/96"),           // IPv4 within IPv6, given up
	netip.MustParsePrefix("64:ff9b::/96"),    // leads to any IPv4 address (RFC 6052)
	netip.MustParsePrefix("64:ff9b:1::/48"),  // so too (RFC 8215)
	netip.MustParsePrefix("2001::/23"),       // protocol assignments, tunnels among them
	netip.MustParsePrefix("2001:db8::/32"),   // documentation
	netip.MustParsePrefix("2002::/16"),       // tunnels to IPv4 (RFC 3056)
	netip.MustParsePrefix("fec0::/10"),       // site-local, given up
}

func public(address netip.Addr) bool {
	address = address.Unmap().WithZone("")
	return address.IsGlobalUnicast() && !address.IsPrivate() &&
		!slices.ContainsFunc(special, func(p netip.Prefix) bool { return p.Contains(address) })
}

// transport connects to public addresses only. It looks at the address that
// is connected to, so that a name which leads elsewhere the second time it is
// asked for gains nothing.
func (d *doorman) transport(timeout time.Duration) *http.Transport {
	dialer := &net.Dialer{Timeout: timeout / 2, Resolver: d.resolver, Control: func(_, address string, _ syscall.RawConn) error {
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
		TLSHandshakeTimeout: timeout / 2, ResponseHeaderTimeout: timeout, IdleConnTimeout: 90 * time.Second,
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
