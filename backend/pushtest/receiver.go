package pushtest

import (
	"crypto/ecdh"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"sync"
	"time"
)

// A Subscription is what a browser hands to a page.
type Subscription struct {
	Endpoint string `json:"endpoint"`
	Keys     Keys   `json:"keys"`
}

// Keys are a browser's, base64url.
type Keys struct {
	P256dh string `json:"p256dh"`
	Auth   string `json:"auth"`
}

// A Message is one that was taken, decrypted.
type Message struct {
	Endpoint string          `json:"endpoint"`
	Payload  json.RawMessage `json:"payload"`
	TTL      string          `json:"ttl"`
	Topic    string          `json:"topic"`
	Urgency  string          `json:"urgency"`
	Claims   Claims          `json:"claims"`
	Key      string          `json:"key"` // who sent it
	Bytes    int             `json:"bytes"`
}

// A Receiver is a push service.
type Receiver struct {
	// Answer, where set, is asked before anything is taken; returning false
	// means that it has answered.
	Answer func(w http.ResponseWriter, r *http.Request) bool
	// Now is the service's clock; the wall clock unless given.
	Now func() time.Time

	server *httptest.Server

	mu       sync.Mutex
	keys     map[string]browser // by path
	messages []Message
	problems []string
}

type browser struct {
	key    *ecdh.PrivateKey
	secret []byte
}

// Start starts a push service on a free port of this machine.
func Start() *Receiver {
	r := &Receiver{keys: map[string]browser{}, Now: time.Now}
	r.server = httptest.NewServer(r)
	return r
}

// Close stops it.
func (r *Receiver) Close() { r.server.Close() }

// Subscribe makes a browser that takes messages.
func (r *Receiver) Subscribe() Subscription {
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		panic(err) // the system gives no random numbers
	}
	secret := make([]byte, 16)
	rand.Read(secret)
	path := "/push/" + rand.Text()
	r.mu.Lock()
	defer r.mu.Unlock()
	r.keys[path] = browser{key, secret}
	encode := base64.RawURLEncoding.EncodeToString
	return Subscription{Endpoint: r.server.URL + path, Keys: Keys{P256dh: encode(key.PublicKey().Bytes()), Auth: encode(secret)}}
}

// Messages returns what was taken so far.
func (r *Receiver) Messages() []Message {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]Message{}, r.messages...)
}

// Problems returns what was wrong with messages that came.
func (r *Receiver) Problems() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]string{}, r.problems...)
}

// ServeHTTP takes one message (RFC 8030, 5).
func (r *Receiver) ServeHTTP(w http.ResponseWriter, request *http.Request) {
	w.Header().Set("Date", r.Now().UTC().Format(http.TimeFormat))
	if r.Answer != nil && !r.Answer(w, request) {
		return
	}
	message, status, err := r.take(request)
	if err != nil {
		r.mu.Lock()
		r.problems = append(r.problems, err.Error())
		r.mu.Unlock()
		http.Error(w, err.Error(), status)
		return
	}
	r.mu.Lock()
	r.messages = append(r.messages, message)
	r.mu.Unlock()
	w.Header().Set("Location", r.server.URL+"/message/"+rand.Text())
	w.WriteHeader(http.StatusCreated)
}

func (r *Receiver) take(request *http.Request) (Message, int, error) {
	r.mu.Lock()
	subscriber, known := r.keys[request.URL.Path]
	r.mu.Unlock()
	header := request.Header
	switch {
	case request.Method != http.MethodPost:
		return Message{}, http.StatusMethodNotAllowed, fmt.Errorf("the method is %s", request.Method)
	case !known:
		return Message{}, http.StatusGone, fmt.Errorf("nobody takes messages at %s", request.URL.Path)
	case header.Get("TTL") == "":
		return Message{}, http.StatusBadRequest, fmt.Errorf("TTL is missing")
	case header.Get("Content-Encoding") != "aes128gcm":
		return Message{}, http.StatusBadRequest, fmt.Errorf("the content encoding is %q", header.Get("Content-Encoding"))
	case header.Get("Topic") != "" && !topicFits(header.Get("Topic")):
		return Message{}, http.StatusBadRequest, fmt.Errorf("the topic %q does not fit", header.Get("Topic"))
	}
	claims, key, err := Verify(header.Get("Authorization"), r.server.URL, r.Now())
	if err != nil {
		return Message{}, http.StatusForbidden, err
	}
	body, err := io.ReadAll(io.LimitReader(request.Body, 4097))
	if err != nil || len(body) > 4096 {
		return Message{}, http.StatusRequestEntityTooLarge, fmt.Errorf("the body has more than 4096 bytes, or does not end: %v", err)
	}
	payload, err := Decrypt(body, subscriber.key, subscriber.secret)
	if err != nil {
		return Message{}, http.StatusBadRequest, err
	}
	return Message{
		Endpoint: r.server.URL + request.URL.Path, Payload: payload, Bytes: len(body),
		TTL: header.Get("TTL"), Topic: header.Get("Topic"), Urgency: header.Get("Urgency"), Claims: claims, Key: key,
	}, 0, nil
}

// topicFits holds a topic to what the strictest of services take: exactly 32
// characters that decode as base64url.
func topicFits(topic string) bool {
	_, err := base64.RawURLEncoding.DecodeString(topic)
	return err == nil && len(topic) == 32
}
