package pushtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"strings"
	"time"
)

// Claims are what an application server says of itself (RFC 8292, 2).
type Claims struct {
	Audience string `json:"aud"`
	Expires  int64  `json:"exp"`
	Subject  string `json:"sub"`
}

// Verify checks an Authorization header of the scheme vapid: its signature
// (ES256), that it is for origin, that it has not expired and does not expire
// later than a day after now. It returns the claims and the key, base64url.
func Verify(header, origin string, now time.Time) (Claims, string, error) {
	token, key, err := split(header)
	if err != nil {
		return Claims{}, "", err
	}
	parts := strings.Split(token, ".")
	if len(parts) != 3 {
		return Claims{}, "", errors.New("the token is not made of three parts")
	}
	if err := verifySignature(parts, key); err != nil {
		return Claims{}, "", err
	}
	var claims Claims
	if err := decodeJSON(parts[1], &claims); err != nil {
		return Claims{}, "", fmt.Errorf("the claims: %w", err)
	}
	expires := time.Unix(claims.Expires, 0)
	switch {
	case claims.Audience != origin:
		return claims, key, fmt.Errorf("the token is for %s, not for %s", claims.Audience, origin)
	case !expires.After(now):
		return claims, key, errors.New("the token has expired")
	case expires.After(now.Add(24 * time.Hour)):
		return claims, key, errors.New("the token lasts longer than a day")
	case !strings.HasPrefix(claims.Subject, "https:") && !strings.HasPrefix(claims.Subject, "mailto:"),
		strings.HasPrefix(claims.Subject, "mailto:mailto:"):
		return claims, key, fmt.Errorf("the subject %q is no way to reach anybody", claims.Subject)
	}
	return claims, key, nil
}

func split(header string) (token, key string, err error) {
	scheme, rest, _ := strings.Cut(header, " ")
	if !strings.EqualFold(scheme, "vapid") {
		return "", "", fmt.Errorf("the scheme is %q, not vapid", scheme)
	}
	for _, parameter := range strings.Split(rest, ",") {
		name, value, _ := strings.Cut(strings.TrimSpace(parameter), "=")
		switch name {
		case "t":
			token = value
		case "k":
			key = value
		}
	}
	if token == "" || key == "" {
		return "", "", errors.New("t or k is missing")
	}
	return token, key, nil
}

func verifySignature(parts []string, key string) error {
	var head struct {
		Algorithm string `json:"alg"`
	}
	if err := decodeJSON(parts[0], &head); err != nil {
		return fmt.Errorf("the head: %w", err)
	}
	if head.Algorithm != "ES256" {
		return fmt.Errorf("the algorithm is %q, not ES256", head.Algorithm)
	}
	point, err := base64.RawURLEncoding.DecodeString(key)
	if err != nil {
		return fmt.Errorf("k: %w", err)
	}
	public, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), point)
	if err != nil {
		return fmt.Errorf("k: %w", err)
	}
	signature, err := base64.RawURLEncoding.DecodeString(parts[2])
	if err != nil || len(signature) != 64 {
		return errors.New("the signature is not 64 bytes")
	}
	digest := sha256.Sum256([]byte(parts[0] + "." + parts[1]))
	r, s := new(big.Int).SetBytes(signature[:32]), new(big.Int).SetBytes(signature[32:])
	if !ecdsa.Verify(public, digest[:], r, s) {
		return errors.New("the signature is not of this key")
	}
	return nil
}

func decodeJSON(part string, into any) error {
	raw, err := base64.RawURLEncoding.DecodeString(part)
	if err != nil {
		return err
	}
	return json.Unmarshal(raw, into)
}
