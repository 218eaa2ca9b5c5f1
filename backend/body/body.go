// Package body reads the JSON that devices send: packed or not, whole, within
// bounds, or refused with a sentence.
package body

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"underlog/internal/husbandry"
)

// A Refusal is why a whole request was not taken, in a sentence.
type Refusal struct {
	Status   int    `json:"status"`
	Sentence string `json:"message"`
}

func (r *Refusal) Error() string { return r.Sentence }

// Refuse makes a refusal.
func Refuse(status int, sentence string, args ...any) *Refusal {
	return &Refusal{Status: status, Sentence: fmt.Sprintf(sentence, args...)}
}

// Read reads a body of at most most bytes, packed with gzip or not.
func Read(r *http.Request, most int64) ([]byte, *Refusal) {
	defer r.Body.Close()
	tooLarge := Refuse(http.StatusRequestEntityTooLarge, "The request is larger than %d MiB: send fewer records at once.", most>>20)
	if r.ContentLength > most {
		return nil, tooLarge
	}
	reader := io.Reader(io.LimitReader(r.Body, most+1))
	switch encoding := strings.ToLower(strings.TrimSpace(r.Header.Get("Content-Encoding"))); encoding {
	case "", "identity":
	case "gzip":
		unpacked, err := gzip.NewReader(reader)
		if err != nil {
			return nil, Refuse(http.StatusBadRequest, "The request says that it is packed with gzip, but it is not: send it whole.")
		}
		reader = io.LimitReader(unpacked, most+1)
	default:
		return nil, Refuse(http.StatusUnsupportedMediaType, "Content-Encoding is %s: give gzip or none.", Shown(encoding))
	}
	read, err := io.ReadAll(reader)
	if err != nil {
		return nil, Refuse(http.StatusBadRequest, "The request is cut off after %d bytes: send it whole.", len(read))
	}
	if int64(len(read)) > most {
		return nil, tooLarge
	}
	return read, nil
}

// Decode reads the JSON of a device's exchange into request, of which protocol
// and device are fields. Another version than ours is told first: a newer app
// may send other shapes, and what it needs to hear is that the versions differ.
func Decode(read []byte, request any, protocol *int, ours int, device *string) *Refusal {
	err := json.Unmarshal(read, request)
	switch {
	case *protocol != ours && (err == nil || *protocol != 0):
		return wrongProtocol(*protocol, ours)
	case err != nil:
		return unreadable(read, err)
	case !husbandry.IsRecordID(*device):
		return Refuse(http.StatusBadRequest, "device is %s: give the device's own id, 32 lower-case hex digits.", Shown(*device))
	}
	return nil
}

// unreadable says why a body is not the JSON that was wanted.
func unreadable(read []byte, err error) *Refusal {
	var wrongType *json.UnmarshalTypeError
	if errors.As(err, &wrongType) {
		field := wrongType.Field
		if field == "" {
			field = "The request"
		}
		return Refuse(http.StatusBadRequest, "%s is a %s: give %s.", field, plainWord(wrongType.Value), wanted(field))
	}
	if len(bytes.TrimSpace(read)) == 0 {
		return Refuse(http.StatusBadRequest, "The request is empty: give one JSON object.")
	}
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) && syntax.Offset >= int64(len(read)) {
		return Refuse(http.StatusBadRequest, "The request is cut off after %d bytes: give one whole JSON object.", len(read))
	}
	return Refuse(http.StatusBadRequest, "The request is not JSON (%v): give one whole JSON object.", err)
}

// wrongProtocol says that app and server speak different versions.
func wrongProtocol(theirs, ours int) *Refusal {
	return Refuse(http.StatusUpgradeRequired,
		"This app speaks version %d of the exchange and the server version %d: update the older of the two. What is not sent stays on this device.", theirs, ours)
}

// plainWord names a type of JSON to people.
func plainWord(jsonType string) string {
	switch first, _, _ := strings.Cut(jsonType, " "); first {
	case "array":
		return "list"
	case "string":
		return "text"
	case "bool":
		return "truth value"
	case "object":
		return "record"
	}
	return "number"
}

func wanted(field string) string {
	switch field {
	case "protocol", "cursor":
		return "a whole number"
	case "sheets", "entries", "asked":
		return "a list"
	case "device", "epoch", "at":
		return "a text"
	}
	return "one JSON object"
}

// Shown is a text as a sentence shows it: by its beginning.
func Shown(text string) string {
	if text == "" {
		return "missing"
	}
	if len(text) > 60 {
		text = strings.ToValidUTF8(text[:60], "") + "…"
	}
	return text
}
