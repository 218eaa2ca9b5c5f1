package exchange

import (
	"encoding/json"
	"net/http"

	"underlog/backend/body"
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
	// Asked are ids of entries that the device believes to be here: each that
	// is gets the verdict duplicate, the others get none.
	Asked []string `json:"asked"`
}

// A Refusal is why a whole request was not taken, in a sentence.
type Refusal = body.Refusal

// read reads and checks a request, packed with gzip or not.
func read(r *http.Request) (*Request, *Refusal) {
	raw, refusal := body.Read(r, MostBytes)
	if refusal != nil {
		return nil, refusal
	}
	return Parse(raw)
}

// Parse reads a request from its JSON. What is wrong with single records is
// for their verdicts to say.
func Parse(raw []byte) (*Request, *Refusal) {
	var request Request
	if refusal := body.Decode(raw, &request, &request.Protocol, Protocol, &request.Device); refusal != nil {
		return nil, refusal
	}
	if request.Cursor < 0 {
		return nil, body.Refuse(http.StatusBadRequest, "cursor is %d: give the last number that the server answered, or 0.", request.Cursor)
	}
	if count := len(request.Sheets) + len(request.Entries); count > MostRecords {
		return nil, body.Refuse(http.StatusRequestEntityTooLarge, "sheets and entries are %d records: give at most %d in one request.", count, MostRecords)
	}
	if count := len(request.Asked); count > MostAsked {
		return nil, body.Refuse(http.StatusRequestEntityTooLarge, "asked is %d ids: give at most %d in one request.", count, MostAsked)
	}
	if refusal := request.Load.check(); refusal != nil {
		return nil, refusal
	}
	return &request, nil
}
