package alerts

import (
	"crypto/ecdh"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"underlog/backend/store"
)

// A token is good for tokenLife, which is half of what RFC 8292 allows, and is
// made anew when it has less than tokenLeast left.
const (
	tokenLife  = 12 * time.Hour
	tokenLeast = 2 * time.Hour
)

// An identity is the application server's key pair (RFC 8292). It makes one
// token for each push service and keeps it.
type identity struct {
	public string // base64url, uncompressed point
	key    *ecdsa.PrivateKey

	mu     sync.Mutex
	tokens map[string]token // by origin and subject
}

type token struct {
	header        string
	made, expires time.Time
}

// findIdentity returns the identity of a household, made at the first start.
// Subscriptions are bound to it, so it is kept with the records.
func findIdentity(s *store.Store) (*identity, error) {
	public, err := s.Key(store.KeyVAPIDPublic)
	if err != nil {
		return nil, err
	}
	private, err := s.Key(store.KeyVAPIDPrivate)
	if err != nil {
		return nil, err
	}
	if public == "" || private == "" {
		made, err := newIdentity()
		if err != nil {
			return nil, err
		}
		raw, err := made.key.Bytes()
		if err != nil {
			return nil, err
		}
		if err := s.SetKey(s.App, store.KeyVAPIDPrivate, base64.RawURLEncoding.EncodeToString(raw)); err != nil {
			return nil, err
		}
		return made, s.SetKey(s.App, store.KeyVAPIDPublic, made.public)
	}
	raw, err := decodeKey(private)
	if err != nil {
		return nil, fmt.Errorf("the key for alerts does not read: %w", err)
	}
	return identityOf(raw)
}

func newIdentity() (*identity, error) {
	made, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("keys for alerts cannot be made: %w", err)
	}
	return identityOf(made.Bytes())
}

// identityOf is the identity with a private key of 32 bytes.
func identityOf(private []byte) (*identity, error) {
	key, err := ecdsa.ParseRawPrivateKey(elliptic.P256(), private)
	if err != nil {
		return nil, fmt.Errorf("the key for alerts is none: %w", err)
	}
	public, err := key.PublicKey.Bytes()
	if err != nil {
		return nil, err
	}
	return &identity{public: base64.RawURLEncoding.EncodeToString(public), key: key, tokens: map[string]token{}}, nil
}

// authorization returns the header by which a push service at origin knows
// this server. subject is a bare e-mail address or an https address.
func (i *identity) authorization(origin, subject string, now time.Time) (string, error) {
	if !strings.HasPrefix(subject, "https:") {
		subject = "mailto:" + subject
	}
	i.mu.Lock()
	defer i.mu.Unlock()
	kept := i.tokens[origin+" "+subject]
	// A clock that was set back has made a token that lasts too long.
	if !now.Before(kept.made) && kept.expires.Sub(now) > tokenLeast {
		return kept.header, nil
	}
	expires := now.Add(tokenLife)
	signed, err := jwt.NewWithClaims(jwt.SigningMethodES256, jwt.MapClaims{
		"aud": origin, "exp": expires.Unix(), "sub": subject,
	}).SignedString(i.key)
	if err != nil {
		return "", err
	}
	header := "vapid t=" + signed + ", k=" + i.public
	if len(i.tokens) > 1000 { // more origins than there are push services
		clear(i.tokens)
	}
	i.tokens[origin+" "+subject] = token{header, now, expires}
	return header, nil
}
