// Package reach makes the way from a phone to this server a secure one, which
// browsers ask for before they start without signal or take alerts: with an
// authority of the home's own and a page that walks through trusting it, or
// with certificates that an ACME authority (RFC 8555) gives for a public name.
package reach

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
)

// Folder is the name of the folder in the data folder in which keys and
// certificates are kept.
const Folder = "reach"

// ErrReadable is the error of a key that others than its owner can read.
var ErrReadable = errors.New("can be read by others on this machine")

// CheckPrivate reports whether nobody but its owner can read a file. Windows
// keeps rights elsewhere than in the mode; there the file counts as private.
func CheckPrivate(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 && runtime.GOOS != "windows" {
		return fmt.Errorf("the key %s %w (mode %04o): run chmod 600 on it; if somebody may have copied it, remove its folder and start again", path, ErrReadable, mode)
	}
	return nil
}

// keepPrivate writes a file that nobody else can read, whole or not at all.
func keepPrivate(path string, content []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	part, err := os.CreateTemp(filepath.Dir(path), ".part-*") // made with mode 0600
	if err != nil {
		return err
	}
	_, err = part.Write(content)
	err = errors.Join(err, part.Sync(), part.Close())
	if err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(part.Name()))
	}
	return nil
}

func newKey() (*ecdsa.PrivateKey, []byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, nil, err
	}
	return key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), nil
}

// readKey reads a key that must be private.
func readKey(path string) (*ecdsa.PrivateKey, error) {
	if err := CheckPrivate(path); err != nil {
		return nil, err
	}
	der, err := readPEM(path)
	if err != nil {
		return nil, err
	}
	parsed, err := x509.ParsePKCS8PrivateKey(der)
	if err != nil {
		return nil, fmt.Errorf("%s holds no key: %w", path, err)
	}
	key, is := parsed.(*ecdsa.PrivateKey)
	if !is {
		return nil, fmt.Errorf("%s holds a key of another kind than was put there", path)
	}
	return key, nil
}

func readPEM(path string) ([]byte, error) {
	content, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	block, _ := pem.Decode(content)
	if block == nil {
		return nil, fmt.Errorf("%s is damaged: it is no PEM file", path)
	}
	return block.Bytes, nil
}
