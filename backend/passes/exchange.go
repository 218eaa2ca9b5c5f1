package passes

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/body"
	"underlog/backend/store"
)

// Bounds of a sitter's exchange. A verdict means what it does in the exchange
// of the household.
const (
	Protocol   = 1
	MostOffers = 500     // entries in one request
	MostBytes  = 2 << 20 // of a request, unpacked
	mostOwn    = 500     // of the sitter's own entries, in one answer
)

// A Request is what a sitter's phone sends.
type Request struct {
	Protocol int               `json:"protocol"`
	Device   string            `json:"device"`
	Epoch    string            `json:"epoch"`
	Entries  []json.RawMessage `json:"entries"`
}

// An Answer is what it gets. There are no numbers of the feed in it: they would
// tell how much goes on elsewhere.
type Answer struct {
	Protocol int               `json:"protocol"`
	Epoch    string            `json:"epoch"`
	At       string            `json:"at"`
	Verdicts []store.Verdict   `json:"verdicts"`
	Entries  []json.RawMessage `json:"entries"`
}

// Parse reads a request from its JSON. What is wrong with single entries is
// for their verdicts to say.
func Parse(raw []byte) (*Request, *body.Refusal) {
	var request Request
	if refusal := body.Decode(raw, &request, &request.Protocol, Protocol, &request.Device); refusal != nil {
		return nil, refusal
	}
	if count := len(request.Entries); count > MostOffers {
		return nil, body.Refuse(http.StatusRequestEntityTooLarge, "entries are %d records: give at most %d in one request.", count, MostOffers)
	}
	return &request, nil
}

func (r *Routes) exchange(e *core.RequestEvent) error {
	raw, refusal := body.Read(e.Request, MostBytes)
	if refusal != nil {
		return e.JSON(refusal.Status, refusal)
	}
	request, refusal := Parse(raw)
	if refusal != nil {
		return e.JSON(refusal.Status, refusal)
	}
	pass, s, isLate := within(e)
	answer, err := r.put(pass, s, request)
	if err != nil {
		if errors.Is(err, context.Canceled) {
			return err
		}
		e.App.Logger().Error("a sitter's exchange failed", "error", err)
		e.Response.Header().Set("Retry-After", "5")
		return sentence(e, http.StatusServiceUnavailable, "The server could not store anything just now. Nothing is lost: what was sent stays on this phone and is sent again.")
	}
	if isLate {
		answer.Entries = []json.RawMessage{} // what is over is taken in, and nothing is told any more
	}
	return e.JSON(http.StatusOK, answer)
}

func (r *Routes) put(pass *store.Pass, s span, request *Request) (*Answer, error) {
	reach, err := r.reach(pass, s)
	if err != nil {
		return nil, err
	}
	answer := &Answer{Protocol: Protocol, Verdicts: []store.Verdict{}}
	if answer.Epoch, err = r.Store.Epoch(); err != nil {
		return nil, err
	}
	author := store.Author{Person: pass.Person, Device: request.Device, Role: store.Sitter, Reach: &reach}
	if author.Behind, err = r.Store.BringsBack(); err != nil {
		return nil, err
	}
	if len(request.Entries) > 0 {
		receipt, err := r.Store.Put(author, nil, request.Entries)
		if err != nil {
			return nil, err
		}
		if receipt.Verdicts != nil {
			answer.Verdicts = receipt.Verdicts
		}
	}
	answer.Entries, err = r.Store.OwnEntries(pass.Person, reach, mostOwn)
	answer.At = r.Store.Clock.Now().UTC().Format(time.RFC3339Nano)
	return answer, err
}
