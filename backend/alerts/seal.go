package alerts

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"errors"
)

// Sizes of a message that is one record of aes128gcm (RFC 8188, 2).
const (
	saltSize   = 16
	headSize   = saltSize + 4 + 1 + 65 // salt, record size, length of the key, key
	tagSize    = 16
	recordSize = 4096 // the largest that push services must take (RFC 8291, 4)
)

// errTooLong is the error of a message that does not fit one record.
var errTooLong = errors.New("the message is too long for one record")

// seal encrypts a message for a browser's key and secret (RFC 8291) under a
// key and a salt of the sender's that are used for this message alone. It is
// filled up with zeros to size bytes in all, where it is shorter, so that its
// length tells a push service little.
func seal(message []byte, browser *ecdh.PublicKey, secret []byte, sender *ecdh.PrivateKey, salt []byte, size int) ([]byte, error) {
	shared, err := sender.ECDH(browser)
	if err != nil {
		return nil, err
	}
	public := sender.PublicKey().Bytes()
	ikm, err := hkdf.Key(sha256.New, shared, secret, "WebPush: info\x00"+string(browser.Bytes())+string(public), 32)
	if err != nil {
		return nil, err
	}
	prk, err := hkdf.Extract(sha256.New, ikm, salt)
	if err != nil {
		return nil, err
	}
	key, err := hkdf.Expand(sha256.New, prk, "Content-Encoding: aes128gcm\x00", 16)
	if err != nil {
		return nil, err
	}
	nonce, err := hkdf.Expand(sha256.New, prk, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	length := max(headSize+len(message)+1+tagSize, size)
	if length-headSize > recordSize {
		return nil, errTooLong
	}
	body := make([]byte, headSize, length)
	copy(body, salt)
	binary.BigEndian.PutUint32(body[saltSize:], recordSize)
	body[saltSize+4] = byte(len(public))
	copy(body[saltSize+5:], public)
	plain := make([]byte, length-headSize-tagSize)
	plain[copy(plain, message)] = 2 // the last record
	return gcm.Seal(body, nonce, plain, nil), nil
}

// sealOnce is seal under a new key and salt, filled up to the next of a few
// sizes.
func sealOnce(message []byte, browser *ecdh.PublicKey, secret []byte) ([]byte, error) {
	sender, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	salt := make([]byte, saltSize)
	rand.Read(salt)
	const step = 512
	size := (headSize + len(message) + 1 + tagSize + step - 1) / step * step
	return seal(message, browser, secret, sender, salt, min(size, headSize+recordSize))
}
