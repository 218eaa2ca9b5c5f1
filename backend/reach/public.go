package reach

import (
	"context"
	"crypto"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/go-acme/lego/v5/acme"
	"github.com/go-acme/lego/v5/certcrypto"
	"github.com/go-acme/lego/v5/certificate"
	"github.com/go-acme/lego/v5/challenge/dns01"
	"github.com/go-acme/lego/v5/challenge/tlsalpn01"
	"github.com/go-acme/lego/v5/lego"
	"github.com/go-acme/lego/v5/providers/dns/exec"
	"github.com/go-acme/lego/v5/registration"
	"github.com/jonboulle/clockwork"
)

// Public is a server with a public name, whose certificates an ACME authority
// gives: over the web, which must then reach this server at ports 80 and 443,
// or by a record in the name's zone, which needs nothing open to the world.
type Public struct {
	Domain    string
	Data      string // data folder
	Contact   string // e-mail address for the authority, may be empty
	Directory string // of the authority; the best known one where empty
	// Program sets and removes the record in the zone; empty: over the web. It is called as
	//	PROGRAM present _acme-challenge.NAME. VALUE
	//	PROGRAM cleanup _acme-challenge.NAME. VALUE
	Program string
	Log     *slog.Logger
	Clock   clockwork.Clock

	client  *http.Client            // tests bring their own, which trusts their authority
	options []dns01.ChallengeOption // tests have no name servers to wait for
	web     webAnswers
	mu      sync.Mutex // of what follows
	current *tls.Certificate
}

// CheckDomain says in a sentence why a name cannot be a public one.
func CheckDomain(name string) error {
	if net.ParseIP(name) != nil || !strings.Contains(strings.Trim(name, "."), ".") || strings.ContainsAny(name, "/:@* ") {
		return fmt.Errorf("--domain is %q: give a public name that leads to this server, such as bins.example.org", name)
	}
	for _, domain := range homeDomains {
		if strings.HasSuffix(strings.ToLower(name), "."+domain) {
			return fmt.Errorf("--domain is %s: no authority gives certificates for names that stay at home; use --home --name %s", name, name)
		}
	}
	return nil
}

// Open readies the way. Certificates come while it runs: see Keep.
func (p *Public) Open() error {
	if err := CheckDomain(p.Domain); err != nil {
		return err
	}
	err := p.load()
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

func (p *Public) folder() string { return filepath.Join(p.Data, Folder, "public") }

// TLS is how the server shows who it is.
func (p *Public) TLS() *tls.Config {
	config := &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}}
	if p.Program == "" {
		config.NextProtos = append(config.NextProtos, tlsalpn01.ACMETLS1Protocol)
	}
	config.GetCertificate = func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		if isAsking(hello) {
			return p.web.certificate(hello)
		}
		if held := p.held(); held != nil {
			return held, nil
		}
		return nil, errors.New("reach: the certificate is still being asked for")
	}
	return config
}

// held is the certificate at hand, nil before one came.
func (p *Public) held() *tls.Certificate {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.current
}

// Plain answers the authority's questions over the web, and leads everybody
// else to the secure address.
func (p *Public) Plain(secure string) http.Handler {
	return p.web.handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, secure+r.URL.RequestURI(), http.StatusMovedPermanently)
	}))
}

const (
	firstPause   = time.Minute
	longestPause = 6 * time.Hour // authorities limit how often one may fail
)

// Keep has a certificate at hand until ctx ends: asks for the first one, and
// for the next when a third of its time is left.
func (p *Public) Keep(ctx context.Context) {
	pause := firstPause
	for {
		err := p.renew(ctx)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			p.Log.Error("no certificate came; it is asked for again", "name", p.Domain, "in", pause, "error", err)
		default:
			pause = longestPause
		}
		timer := p.Clock.NewTimer(pause)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.Chan():
		}
		if err != nil {
			pause = min(2*pause, longestPause)
		} else {
			pause = firstPause
		}
	}
}

// renew asks for a certificate if one is due.
func (p *Public) renew(ctx context.Context) error {
	if held := p.held(); held != nil && !due(held.Leaf, p.Clock.Now()) {
		return nil
	}
	return p.obtain(ctx)
}

// due reports whether less than a third of a certificate's time is left.
func due(leaf *x509.Certificate, now time.Time) bool {
	return now.After(leaf.NotAfter.Add(-leaf.NotAfter.Sub(leaf.NotBefore) / 3))
}

// account is who asks the authority. It is known there by its key alone.
type account struct {
	email string
	key   crypto.Signer
	known *acme.ExtendedAccount
}

func (a *account) GetEmail() string                       { return a.email }
func (a *account) GetRegistration() *acme.ExtendedAccount { return a.known }
func (a *account) GetPrivateKey() crypto.Signer           { return a.key }

func (p *Public) obtain(ctx context.Context) error {
	key, err := p.accountKey()
	if err != nil {
		return err
	}
	who := &account{email: p.Contact, key: key}
	config := lego.NewConfig(who)
	config.UserAgent = "underlog"
	if p.Directory != "" {
		config.CADirURL = p.Directory
	}
	if p.client != nil {
		config.HTTPClient = p.client
	}
	client, err := lego.NewClient(config)
	if err != nil {
		return fmt.Errorf("the authority cannot be asked: %w", err)
	}
	// An account that is there already is answered as it is.
	if who.known, err = client.Registration.Register(ctx, registration.RegisterOptions{TermsOfServiceAgreed: true}); err != nil {
		return fmt.Errorf("the authority takes no account: %w", err)
	}
	given, err := p.prove(ctx, client)
	if err != nil {
		return fmt.Errorf("the authority gives no certificate: %w", err)
	}
	// One file, so that key and certificate cannot come from different days.
	if err := keepPrivate(p.file(), append(given.PrivateKey, given.Certificate...)); err != nil {
		return fmt.Errorf("the certificate cannot be kept: %w", err)
	}
	if err := p.load(); err != nil {
		return err
	}
	p.Log.Info("a certificate came", "name", p.Domain, "until", p.held().Leaf.NotAfter)
	return nil
}

// prove shows the authority that the name leads here, and returns what it
// gives for that.
func (p *Public) prove(ctx context.Context, client *lego.Client) (*certificate.Resource, error) {
	ask := func() (*certificate.Resource, error) {
		return client.Certificate.Obtain(ctx, certificate.ObtainRequest{Domains: []string{p.Domain}, KeyType: certcrypto.EC256, Bundle: true})
	}
	if p.Program != "" {
		zone := exec.NewDefaultConfig()
		zone.Program = p.Program
		provider, err := exec.NewDNSProviderConfig(zone)
		if err == nil {
			err = client.Challenge.SetDNS01Provider(provider, p.options...)
		}
		if err != nil {
			return nil, err
		}
		return ask()
	}
	// One port of the two may lead elsewhere.
	if err := client.Challenge.SetHTTP01Provider(plainly{&p.web}); err != nil {
		return nil, err
	}
	given, plain := ask()
	if plain == nil || ctx.Err() != nil {
		return given, plain
	}
	client.Challenge.ResetSolvers()
	if err := client.Challenge.SetTLSALPN01Provider(inHandshake{&p.web}); err != nil {
		return nil, err
	}
	given, secure := ask()
	if secure != nil {
		return nil, errors.Join(plain, secure)
	}
	return given, nil
}

func (p *Public) file() string { return filepath.Join(p.folder(), p.Domain+".pem") }

// load reads the certificate that is kept.
func (p *Public) load() error {
	content, err := os.ReadFile(p.file())
	if err != nil {
		return err
	}
	if err := CheckPrivate(p.file()); err != nil {
		return err
	}
	pair, err := tls.X509KeyPair(content, content)
	if err != nil {
		return fmt.Errorf("%s is damaged: remove it, and another is asked for: %w", p.file(), err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.current = &pair
	return nil
}

func (p *Public) accountKey() (crypto.Signer, error) {
	path := filepath.Join(p.folder(), "account.key")
	key, err := readKey(path)
	if errors.Is(err, fs.ErrNotExist) {
		var encoded []byte
		if key, encoded, err = newKey(); err == nil {
			err = keepPrivate(path, encoded)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("the key of the account at the authority cannot be used: %w", err)
	}
	return key, nil
}

// LeafOf returns the certificate of a public name that is kept in a data
// folder, nil where there is none.
func LeafOf(data, domain string) (*x509.Certificate, error) {
	content, err := os.ReadFile((&Public{Data: data, Domain: domain}).file())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	for err == nil && len(content) > 0 {
		var block *pem.Block
		if block, content = pem.Decode(content); block == nil {
			break
		}
		if block.Type == "CERTIFICATE" {
			return x509.ParseCertificate(block.Bytes)
		}
	}
	return nil, err
}
