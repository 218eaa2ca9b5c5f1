// Package pushtest is a push service on this machine for tests. It takes
// messages as RFC 8030 says, decrypts them as RFC 8291 and RFC 8188 say and
// checks who sent them as RFC 8292 says, with the standard library alone, so
// that it shares no line with what it judges. It can be told to misbehave.
package pushtest

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
)

// Decrypt opens the body of a push message that was encrypted for a
// browser's key and secret. The message must be one record.
func Decrypt(body []byte, key *ecdh.PrivateKey, secret []byte) ([]byte, error) {
	if len(body) < 21 {
		return nil, errors.New("the body is too short for its header")
	}
	salt, recordSize, idLength := body[:16], binary.BigEndian.Uint32(body[16:20]), int(body[20])
	if len(body) < 21+idLength {
		return nil, errors.New("the body is too short for its key")
	}
	sender, err := ecdh.P256().NewPublicKey(body[21 : 21+idLength])
	if err != nil {
		return nil, fmt.Errorf("the sender's key: %w", err)
	}
	record := body[21+idLength:]
	if recordSize < 18 || len(record) > int(recordSize) {
		return nil, fmt.Errorf("a record of %d bytes does not fit the size %d", len(record), recordSize)
	}
	shared, err := key.ECDH(sender)
	if err != nil {
		return nil, err
	}
	// RFC 8291, 3.4
	info := "WebPush: info\x00" + string(key.PublicKey().Bytes()) + string(sender.Bytes())
	ikm, err := hkdf.Key(sha256.New, shared, secret, info, 32)
	if err != nil {
		return nil, err
	}
	contentKey, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: aes128gcm\x00", 16)
	if err != nil {
		return nil, err
	}
	nonce, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(contentKey)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	padded, err := gcm.Open(nil, nonce, record, nil)
	if err != nil {
		return nil, fmt.Errorf("the record does not open: %w", err)
	}
	return unpad(padded)
}

// unpad takes the padding away: zeros after a 2, which marks the last record
// (RFC 8188, 2).
func unpad(padded []byte) ([]byte, error) {
	end := len(padded)
	for end > 0 && padded[end-1] == 0 {
		end--
	}
	if end == 0 || padded[end-1] != 2 {
		return nil, errors.New("the padding does not mark a last record")
	}
	return padded[:end-1], nil
}
