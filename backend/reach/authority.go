package reach

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// How long things last. A phone trusts the authority once, so it is long; a
// certificate is short, since renewing costs nobody anything. Phones take at
// most 825 days of a certificate whose authority was installed by hand (from
// memory).
const (
	authorityYears  = 10
	certificateLife = 90 * 24 * time.Hour
	renewBefore     = 30 * 24 * time.Hour
	clockSlack      = 24 * time.Hour // phones whose clock is behind
)

// homeDomains are the names that nobody owns: of this machine alone, of the
// local network (RFC 6762), of homes (RFC 8375) and for private use.
var homeDomains = []string{"localhost", "local", "home.arpa", "internal", "lan"}

// homeRanges are the addresses that lead nowhere but home: private use (RFC
// 1918, RFC 4193), shared address space (RFC 6598), link-local, loopback.
var homeRanges = mustRanges("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8",
	"fc00::/7", "fe80::/10", "::1/128")

func mustRanges(texts ...string) []*net.IPNet {
	ranges := make([]*net.IPNet, len(texts))
	for i, text := range texts {
		_, parsed, err := net.ParseCIDR(text)
		if err != nil {
			panic(err) // a slip above
		}
		ranges[i] = parsed
	}
	return ranges
}

// An Authority is the home's own: what it signs is believed by the phones that
// were told to. It is bound (RFC 5280, 4.2.1.10) to names and addresses that
// exist at home only, and to servers: it cannot speak for any site outside.
type Authority struct {
	Certificate *x509.Certificate
	key         *ecdsa.PrivateKey
}

// AuthorityFile and keyFile are where the authority is kept, inside of Folder.
const (
	AuthorityFile    = "authority.crt"
	AuthorityKeyFile = "authority.key"
)

// OpenAuthority reads the authority of a folder, or makes it where there is
// none: for this machine's name beside the names that are always a home's.
// Its errors are fit to be shown.
func OpenAuthority(folder, machine string, now time.Time) (*Authority, error) {
	key := filepath.Join(folder, AuthorityKeyFile)
	if _, err := os.Stat(key); errors.Is(err, fs.ErrNotExist) {
		if err := makeAuthority(filepath.Join(folder, AuthorityFile), key, machine, now); err != nil {
			return nil, fmt.Errorf("the home's authority cannot be made: %w", err)
		}
	}
	return ReadAuthority(folder, now)
}

// ReadAuthority reads the authority of a folder. Its errors are fit to be
// shown.
func ReadAuthority(folder string, now time.Time) (a *Authority, err error) {
	certificate, key := filepath.Join(folder, AuthorityFile), filepath.Join(folder, AuthorityKeyFile)
	a = &Authority{}
	if a.key, err = readKey(key); err != nil {
		return nil, fmt.Errorf("the home's authority cannot be used: %w", err)
	}
	der, err := readPEM(certificate)
	if err == nil {
		a.Certificate, err = x509.ParseCertificate(der)
	}
	if err != nil {
		return nil, fmt.Errorf("the home's authority cannot be read: %w", err)
	}
	if !a.key.PublicKey.Equal(a.Certificate.PublicKey) {
		return nil, fmt.Errorf("the key %s is not the one of %s: bring both back from one backup, or remove both and trust the new authority", key, certificate)
	}
	if now.After(a.Certificate.NotAfter) {
		return nil, fmt.Errorf("the home's authority lapsed on %s: remove %s, start again and trust the new one", a.Certificate.NotAfter.Format(time.DateOnly), folder)
	}
	return a, nil
}

func makeAuthority(certificate, key, machine string, now time.Time) error {
	secret, encoded, err := newKey()
	if err != nil {
		return err
	}
	domains := slices.Clone(homeDomains)
	if machine != "" && !strings.Contains(machine, ".") {
		domains = append(domains, machine) // as some routers name it
	}
	template := &x509.Certificate{
		SerialNumber: serial(),
		Subject:      pkix.Name{CommonName: "Underlog at home" + inBrackets(machine), Organization: []string{"Underlog"}},
		NotBefore:    now.Add(-clockSlack),
		NotAfter:     now.AddDate(authorityYears, 0, 0),
		KeyUsage:     x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: domains, PermittedIPRanges: homeRanges,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &secret.PublicKey, secret)
	if err != nil {
		return err
	}
	// The key last: an authority is there once its key is.
	if err := keepPrivate(certificate, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})); err != nil {
		return err
	}
	return keepPrivate(key, encoded)
}

func inBrackets(text string) string {
	if text == "" {
		return ""
	}
	return " (" + text + ")"
}

func serial() *big.Int {
	var bytes [16]byte
	rand.Read(bytes[:])
	bytes[0] &= 0x7f // positive
	return new(big.Int).SetBytes(bytes[:])
}

// Permits reports whether the authority may speak for a name.
func (a *Authority) Permits(name string) bool {
	return slices.ContainsFunc(a.Certificate.PermittedDNSDomains, func(domain string) bool {
		return strings.EqualFold(name, domain) || strings.HasSuffix(strings.ToLower(name), "."+strings.ToLower(domain))
	})
}

// permitsAddress reports whether the authority may speak for an address.
func (a *Authority) permitsAddress(address net.IP) bool {
	return slices.ContainsFunc(a.Certificate.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(address) })
}

// issue signs a certificate for names and addresses; those for which the
// authority may not speak are left out.
func (a *Authority) issue(names []string, addresses []net.IP, now time.Time) (*x509.Certificate, crypto.Signer, error) {
	key, _, err := newKey()
	if err != nil {
		return nil, nil, err
	}
	template := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{Organization: []string{"Underlog"}},
		NotBefore: now.Add(-clockSlack), NotAfter: now.Add(certificateLife),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	if template.NotAfter.After(a.Certificate.NotAfter) {
		template.NotAfter = a.Certificate.NotAfter
	}
	for _, name := range names {
		if a.Permits(name) {
			template.DNSNames = append(template.DNSNames, name)
		}
	}
	for _, address := range addresses {
		if a.permitsAddress(address) {
			template.IPAddresses = append(template.IPAddresses, address)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.Certificate, &key.PublicKey, a.key)
	if err != nil {
		return nil, nil, err
	}
	certificate, err := x509.ParseCertificate(der)
	return certificate, key, err
}

// Fingerprint is what the page shows and what the phone shows: whoever compares
// the two knows that nobody on the way has put another in its place.
func Fingerprint(certificate *x509.Certificate) string {
	sum := sha256.Sum256(certificate.Raw)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, " ")
}
