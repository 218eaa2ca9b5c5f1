package reach

import (
	"crypto/tls"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// Home is a server on the home network, with certificates of the home's own
// authority for whatever names and addresses this machine has.
type Home struct {
	Authority *Authority

	names     []string // those that were given first
	given     int
	addresses func() []net.IP
	now       func() time.Time

	mu      sync.Mutex
	current *tls.Certificate
	looked  time.Time // when the addresses were last looked at
}

// lookAgain is how long it may take until a new address of this machine is in
// the certificate.
const lookAgain = time.Minute

// OpenHome opens the home of a data folder, names being what else this machine
// is called there. Its errors are fit to be shown.
func OpenHome(data string, names []string, now func() time.Time) (*Home, error) {
	machine, _ := os.Hostname() // a machine without a name has addresses all the same
	machine, _, _ = strings.Cut(strings.ToLower(machine), ".")
	authority, err := OpenAuthority(filepath.Join(data, Folder), machine, now())
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if !authority.Permits(name) {
			return nil, fmt.Errorf("the name %s is none of a home: give one that ends with .local, .home.arpa, .internal or .lan, or use --domain for a public name", name)
		}
	}
	own := []string{"localhost"}
	if machine != "" {
		own = append(own, machine, machine+".local", machine+".home.arpa", machine+".lan")
	}
	return &Home{Authority: authority, names: append(slices.Clone(names), own...), given: len(names), addresses: Addresses, now: now}, nil
}

// Host is what phones are to ask for: the first name that was given, or the
// address at which this machine speaks to its network.
func (h *Home) Host() (string, error) {
	if h.given > 0 {
		return h.names[0], nil
	}
	own := append([]net.IP{Outgoing()}, h.addresses()...)
	for _, address := range own {
		if address != nil && !address.IsLoopback() && h.Authority.permitsAddress(address) {
			return address.String(), nil
		}
	}
	seen := ""
	if own[0] != nil {
		seen = ", it is at " + own[0].String()
	}
	return "", fmt.Errorf("this computer has no address of a home network%s: connect it to one, or say with --name what it is called there, or use --domain for a public name", seen)
}

// TLS is how the server shows who it is.
func (h *Home) TLS() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"},
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return h.certificate() }}
}

// certificate returns the one in use: made anew long before it lapses, and
// when this machine got another address. Its key is never written anywhere.
func (h *Home) certificate() (*tls.Certificate, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.now()
	fresh := h.current != nil && now.Before(h.current.Leaf.NotAfter.Add(-renewBefore)) && !now.Before(h.current.Leaf.NotBefore)
	if fresh && now.Sub(h.looked).Abs() < lookAgain {
		return h.current, nil
	}
	h.looked = now
	addresses := h.addresses()
	if fresh && covers(h.current.Leaf.IPAddresses, addresses, h.Authority) {
		return h.current, nil
	}
	leaf, key, err := h.Authority.issue(h.names, addresses, now)
	if err != nil {
		return nil, fmt.Errorf("reach: no certificate can be made: %w", err)
	}
	h.current = &tls.Certificate{Certificate: [][]byte{leaf.Raw, h.Authority.Certificate.Raw}, PrivateKey: key, Leaf: leaf}
	return h.current, nil
}

func covers(held, wanted []net.IP, authority *Authority) bool {
	for _, address := range wanted {
		if authority.permitsAddress(address) && !slices.ContainsFunc(held, address.Equal) {
			return false
		}
	}
	return true
}

// Addresses returns the addresses that this machine has, those of the machine
// itself first.
func Addresses() []net.IP {
	found := []net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback}
	interfaces, err := net.InterfaceAddrs()
	if err != nil {
		return found
	}
	for _, address := range interfaces {
		if network, is := address.(*net.IPNet); is && !network.IP.IsLoopback() && network.IP.IsGlobalUnicast() {
			found = append(found, network.IP)
		}
	}
	return found
}

// Outgoing returns the address from which this machine speaks to its network,
// nil where it has none. Nothing is sent: the system only looks up the way.
func Outgoing() net.IP {
	for _, elsewhere := range []string{"192.0.2.1:9", "[2001:db8::1]:9"} { // RFC 5737, RFC 3849: nobody's
		if line, err := net.Dial("udp", elsewhere); err == nil {
			address := line.LocalAddr().(*net.UDPAddr).IP
			_ = line.Close()
			if !address.IsLoopback() {
				return address
			}
		}
	}
	return nil
}
