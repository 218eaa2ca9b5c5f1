package alerts

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"
)

// mostBytes is how long a message may be: some phones take no more than three
// times that, and short ones get through sooner.
const mostBytes = 1000

// Urgencies of RFC 8030, 5.3: high is for what is to be seen today and wakes
// a phone that dozes.
const (
	urgencyHigh   = "high"
	urgencyNormal = "normal"
)

// A message is one push for one device.
type message struct {
	payload []byte
	topic   string
	urgency string
	ttl     time.Duration
}

// notification is a message in the declarative form (Push API, "declarative
// push message"), which newer browsers show by themselves and the service
// worker reads elsewhere.
type notification struct {
	Title    string   `json:"title"`
	Body     string   `json:"body"`
	Navigate string   `json:"navigate"`
	Tag      string   `json:"tag"`
	Data     about    `json:"data"`
	Actions  []action `json:"actions,omitempty"`
}

// about tells the service worker what it cannot read off the address: enough
// to see from the device's own records that everything was settled since.
type about struct {
	Sort string `json:"sort"`
	At   int64  `json:"at"` // Unix seconds, as all instants here
	// Looks is how often each feeding of the address was looked at, as the
	// server knew; absent where none was.
	Looks []int `json:"looks,omitempty"`
	// Last is when each damp side of the address was last felt or watered.
	Last []int64 `json:"last,omitempty"`
	// More is how many the address had no room for.
	More int `json:"more,omitempty"`
}

type action struct {
	Action   string `json:"action"`
	Title    string `json:"title"`
	Navigate string `json:"navigate"`
}

// sortOfMany is what the data of a message calls one that tells of several
// sorts, and sortOfTest the one that somebody asked for.
const (
	sortOfMany = "several"
	sortOfTest = "test"
)

func (n notification) payload(badge int) ([]byte, error) {
	var payload bytes.Buffer
	encoder := json.NewEncoder(&payload)
	encoder.SetEscapeHTML(false) // it would make six bytes of an ampersand
	err := encoder.Encode(struct {
		WebPush      int          `json:"web_push"`
		Notification notification `json:"notification"`
		Badge        int          `json:"app_badge,omitempty"`
		// The worker is asked first: it may know that the bin was settled.
		Mutable bool `json:"mutable"`
	}{8030, n, badge, true})
	return bytes.TrimSpace(payload.Bytes()), err
}

// A line is one bin of a message.
type line struct {
	place, what string
}

func (l line) text(most int) string {
	return short(l.place, most) + ": " + short(l.what, most)
}

// fit shortens a message until it is short enough: first its lines, then how
// many there are.
func fit(note notification, lines []line, badge int) ([]byte, error) {
	for most := 60; most >= 12; most -= 8 {
		for shown := min(len(lines), 6); shown >= 1; shown-- {
			texts := make([]string, 0, shown+1)
			for _, l := range lines[:shown] {
				texts = append(texts, l.text(most))
			}
			if rest := len(lines) - shown; rest > 0 {
				texts = append(texts, fmt.Sprintf("and %d more", rest))
			}
			note.Body = strings.Join(texts, "\n")
			payload, err := note.payload(badge)
			if err != nil || len(payload) <= mostBytes {
				return payload, err
			}
			if most > 28 && shown <= 3 {
				break // three names in short rather than two at length
			}
		}
		if len(lines) == 0 {
			return note.payload(badge)
		}
	}
	return nil, errTooLong
}

func short(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

// topic is what a newer message of the same matter replaces, where the older
// still waits at the push service: 32 characters of base64url, which is the
// longest that RFC 8030 allows and the only length that all services take.
func topic(matter string) string {
	sum := sha256.Sum256([]byte(matter))
	return base64.RawURLEncoding.EncodeToString(sum[:24])
}
