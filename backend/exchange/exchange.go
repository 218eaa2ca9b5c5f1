// Package exchange is the route by which devices and server make their
// records equal: a device offers what it has made, the server answers with a
// verdict on each record and with what is new since the device's cursor.
//
// Offering twice is harmless. A refused record never holds up the others.
// The answer follows the commit: what it calls stored is on the disk.
package exchange

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// Bounds of the protocol.
const (
	Protocol    = 1
	MostRecords = 1000    // offered in one request
	MostAsked   = 10_000  // asked after by their ids
	MostBytes   = 8 << 20 // of a request, unpacked
	mostChanges = 1000    // of the feed, in one answer
)

// Path is where the exchange is.
const Path = "/api/underlog/exchange"

// Route answers exchanges.
type Route struct {
	Store *store.Store
}

// Bind adds the route.
func (r *Route) Bind(se *core.ServeEvent) {
	se.Router.POST(Path, r.serve).
		Bind(apis.RequireAuth(store.People), apis.Gzip(), quiet()).
		Unbind(apis.DefaultBodyLimitMiddlewareId) // ours says more
}

// quiet keeps the log of requests to what went wrong.
func quiet() *hook.Handler[*core.RequestEvent] { return apis.SkipSuccessActivityLog() }

// An Answer is what a device gets.
type Answer struct {
	Protocol int    `json:"protocol"`
	Epoch    string `json:"epoch"`
	Mark     string `json:"mark"`    // what has the cursor's number; given back with it, if the device keeps it
	Durable  int64  `json:"durable"` // the number up to which nothing can be lost any more
	At       string `json:"at"`
	store.Page
	Load     *Loaded         `json:"load,omitempty"`
	Verdicts []store.Verdict `json:"verdicts"`
	People   []store.Person  `json:"people"`
}

func (r *Route) serve(e *core.RequestEvent) error {
	request, refusal := read(e.Request)
	if refusal != nil {
		return e.JSON(refusal.Status, refusal)
	}
	author := store.Author{Person: e.Auth.Id, Device: request.Device, Role: e.Auth.GetString("role")}
	author.Session, _ = e.Get(store.SessionKey).(string)
	answer, err := r.exchange(author, request)
	if err != nil {
		return r.failed(e, err)
	}
	if err := r.Store.Seen(author); err != nil {
		e.App.Logger().Warn("a device could not be noted", "error", err)
	}
	return e.JSON(http.StatusOK, answer)
}

// failed answers for a disk that is full or a database that is busy: nothing
// was stored, and the device is to try again.
func (r *Route) failed(e *core.RequestEvent, err error) error {
	if errors.Is(err, context.Canceled) {
		return err
	}
	e.App.Logger().Error("an exchange failed", "error", err)
	e.Response.Header().Set("Retry-After", "5")
	return e.JSON(http.StatusServiceUnavailable, &Refusal{Status: http.StatusServiceUnavailable,
		Sentence: "The server could not store anything just now. Nothing is lost: what was sent stays on this device and is sent again."})
}

func (r *Route) exchange(author store.Author, request *Request) (*Answer, error) {
	epoch, err := r.epoch(request)
	if err != nil {
		return nil, err
	}
	last, err := r.Store.Last()
	if err != nil {
		return nil, err
	}
	author.Behind = request.Epoch != epoch || request.Cursor < last
	receipt := store.Receipt{First: 1}
	if len(request.Sheets)+len(request.Entries) > 0 {
		if receipt, err = r.Store.Put(author, request.Sheets, request.Entries); err != nil {
			return nil, err
		}
	}
	known, err := r.Store.Have(request.Asked)
	if err != nil {
		return nil, err
	}
	for _, id := range known {
		receipt.Verdicts = append(receipt.Verdicts, store.Verdict{ID: id, Verdict: store.Duplicate})
	}
	answer := &Answer{Protocol: Protocol, Epoch: epoch, Verdicts: receipt.Verdicts}
	if answer.Verdicts == nil {
		answer.Verdicts = []store.Verdict{}
	}
	if err := r.fill(answer, request, receipt); err != nil {
		return nil, err
	}
	answer.At = r.Store.Clock.Now().UTC().Format(time.RFC3339Nano)
	return answer, nil
}

// epoch returns the feed's epoch, a new one where the device has seen another
// feed than this one: then the server came back from an older copy. Its
// numbers may have overtaken the device's cursor since, which only the mark
// can tell.
func (r *Route) epoch(request *Request) (string, error) {
	epoch, err := r.Store.Epoch()
	if err != nil || request.Epoch != epoch || request.Cursor == 0 {
		return epoch, err
	}
	record, err := r.Store.At(request.Cursor)
	if err != nil || record != "" && (request.Mark == "" || request.Mark == record) {
		return epoch, err
	}
	return r.Store.Rewound()
}

// fill adds what is new to the device.
func (r *Route) fill(answer *Answer, request *Request, receipt store.Receipt) error {
	var err error
	if answer.Durable, err = r.Store.Last(); err != nil {
		return err
	}
	if answer.People, err = r.Store.Known(); err != nil {
		return err
	}
	if request.Epoch != "" && request.Epoch != answer.Epoch {
		// The cursor means nothing here: the device begins anew.
		answer.Page = store.Page{More: true, Sheets: []husbandry.Sheet{}, Entries: []json.RawMessage{}}
		return nil
	}
	if request.Load != nil {
		return r.load(answer, request)
	}
	skip := store.Skip{First: receipt.First, Last: receipt.Last, Entries: map[string]bool{}}
	for _, verdict := range receipt.Verdicts {
		if verdict.Verdict == store.Duplicate {
			skip.Entries[verdict.ID] = true
		}
	}
	if answer.Page, err = r.Store.Since(request.Cursor, mostChanges, skip); err != nil {
		return err
	}
	answer.Mark, err = r.Store.At(answer.Page.Cursor)
	return err
}
