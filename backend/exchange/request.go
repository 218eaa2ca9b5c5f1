package exchange

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

// A Request is what a device sends.
type Request struct {
	Protocol int               `json:"protocol"`
	Device   string            `json:"device"`
	Epoch    string            `json:"epoch"`
	Cursor   int64             `json:"cursor"`
	Mark     string            `json:"mark"`
	At       string            `json:"at"`
	Load     *Load             `json:"load"`
	Sheets   []json.RawMessage `json:"sheets"`
	Entries  []json.RawMessage `json:"entries"`
}

// A Refusal is why a whole request was not taken, in a sentence.
type Refusal struct {
	Status   int    `json:"status"`
	Sentence string `json:"message"`
}

func (r *Refusal) Error() string { return r.Sentence }

func refuse(status int, sentence string, args ...any) *Refusal {
	return &Refusal{Status: status, Sentence: fmt.Sprintf(sentence, args...)}
}

// read reads and checks a request, packed with gzip or not.
func read(r *http.Request) (*Request, *Refusal) {
	body, refusal := unpack(r)
	if refusal != nil {
		return nil, refusal
	}
	return Parse(body)
}

// Parse reads a request from its JSON. What is wrong with single records is
// for their verdicts to say.
func Parse(body []byte) (*Request, *Refusal) {
	var request Request
	if err := json.Unmarshal(body, &request); err != nil {
		// A newer app may send other shapes; what it needs to hear is that the versions differ.
		if request.Protocol != Protocol && request.Protocol != 0 {
			return nil, wrongProtocol(request.Protocol)
		}
		return nil, unreadable(body, err)
	}
	if request.Protocol != Protocol {
		return nil, wrongProtocol(request.Protocol)
	}
	if !husbandry.IsRecordID(request.Device) {
		return nil, refuse(http.StatusBadRequest, "device is %s: give the device's own id, 32 lower-case hex digits.", shown(request.Device))
	}
	if request.Cursor < 0 {
		return nil, refuse(http.StatusBadRequest, "cursor is %d: give the last number that the server answered, or 0.", request.Cursor)
	}
	if count := len(request.Sheets) + len(request.Entries); count > MostRecords {
		return nil, refuse(http.StatusRequestEntityTooLarge, "sheets and entries are %d records: give at most %d in one request.", count, MostRecords)
	}
	if refusal := request.Load.check(); refusal != nil {
		return nil, refusal
	}
	return &request, nil
}

func unpack(r *http.Request) ([]byte, *Refusal) {
	defer r.Body.Close()
	tooLarge := refuse(http.StatusRequestEntityTooLarge, "The request is larger than %d MiB: send fewer records at once.", MostBytes>>20)
	if r.ContentLength > MostBytes {
		return nil, tooLarge
	}
	reader := io.Reader(io.LimitReader(r.Body, MostBytes+1))
	switch encoding := strings.ToLower(strings.TrimSpace(r.Header.Get("Content-Encoding"))); encoding {
	case "", "identity":
	case "gzip":
		unpacked, err := gzip.NewReader(reader)
		if err != nil {
			return nil, refuse(http.StatusBadRequest, "The request says that it is packed with gzip, but it is not: send it whole.")
		}
		reader = io.LimitReader(unpacked, MostBytes+1)
	default:
		return nil, refuse(http.StatusUnsupportedMediaType, "Content-Encoding is %s: give gzip or none.", shown(encoding))
	}
	body, err := io.ReadAll(reader)
	if err != nil {
		return nil, refuse(http.StatusBadRequest, "The request is cut off after %d bytes: send it whole.", len(body))
	}
	if len(body) > MostBytes {
		return nil, tooLarge
	}
	return body, nil
}

func wrongProtocol(theirs int) *Refusal {
	return refuse(http.StatusUpgradeRequired,
		"This app speaks version %d of the exchange and the server version %d: update the older of the two. What is not sent stays on this device.", theirs, Protocol)
}

func unreadable(body []byte, err error) *Refusal {
	var wrongType *json.UnmarshalTypeError
	if errors.As(err, &wrongType) {
		field := wrongType.Field
		if field == "" {
			field = "The request"
		}
		return refuse(http.StatusBadRequest, "%s is a %s: give %s.", field, plainWord(wrongType.Value), wanted(field))
	}
	if len(bytes.TrimSpace(body)) == 0 {
		return refuse(http.StatusBadRequest, "The request is empty: give one JSON object.")
	}
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) && syntax.Offset >= int64(len(body)) {
		return refuse(http.StatusBadRequest, "The request is cut off after %d bytes: give one whole JSON object.", len(body))
	}
	return refuse(http.StatusBadRequest, "The request is not JSON (%v): give one whole JSON object.", err)
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
	case "sheets", "entries":
		return "a list"
	case "device", "epoch", "at":
		return "a text"
	}
	return "one JSON object"
}

func shown(text string) string {
	if text == "" {
		return "missing"
	}
	if len(text) > 60 {
		text = strings.ToValidUTF8(text[:60], "") + "…"
	}
	return text
}
