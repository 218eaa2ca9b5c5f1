// Package passes gives sitters a way in: no account, but a link for one person
// and one trip. Its secret is told once and kept as a hash; it opens that
// trip's bins and nothing else, to the sorts of entries that a sitter makes,
// on the trip's days and one of grace, until its owner ends it.
//
// The owner's routes are under Path, the sitter's under DoorPath; photos have
// theirs in package photos, behind the same door.
package passes

import (
	"cmp"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/backend/body"
	"underlog/backend/store"
	"underlog/internal/engine"
	"underlog/internal/husbandry"
)

const (
	// Path is where an owner sees to passes.
	Path = "/api/underlog/passes"
	// DoorPath is where a sitter comes in.
	DoorPath = "/api/underlog/pass"
)

// A Forecast works trips out.
type Forecast interface {
	// Trip tells what has changed of the bins of seen alone.
	Trip(trip, seen husbandry.Trip) (engine.Away, []engine.Glance, error)
}

// Routes are the routes of this package. OwnerOnly is bound to the owner's.
type Routes struct {
	Store     *store.Store
	Forecast  Forecast
	OwnerOnly *hook.Handler[*core.RequestEvent]
	// Addresses returns where phones reach this server, and the page that they
	// open first where one is needed.
	Addresses func(origin string) (base, guide string)

	guesses guesses
	seen    struct {
		sync.Mutex
		of map[string]lastView // by pass
	}
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	group := se.Router.Group(Path)
	group.Bind(r.OwnerOnly, apis.SkipSuccessActivityLog(), apis.BodyLimit(256<<10))
	group.GET("", r.list)
	group.POST("", r.add)
	group.DELETE("/{id}", r.revoke)
	group.GET("/rehearsal/{trip}", r.rehearse).Bind(apis.Gzip())

	door := se.Router.Group(DoorPath)
	door.Bind(r.Door(), apis.SkipSuccessActivityLog())
	door.GET("/view", r.show).Bind(apis.Gzip())
	door.POST("/exchange", r.exchange).
		Bind(apis.Gzip()).
		Unbind(apis.DefaultBodyLimitMiddlewareId) // ours says more
}

func sentence(e *core.RequestEvent, status int, text string, args ...any) error {
	return e.JSON(status, &body.Refusal{Status: status, Sentence: fmt.Sprintf(text, args...)})
}

// A line is a pass as its owner sees it.
type line struct {
	ID        string   `json:"id"`
	Trip      string   `json:"trip"`
	Sitter    string   `json:"sitter"`
	Person    string   `json:"person"`
	Bins      []string `json:"bins"`
	Photos    bool     `json:"photos"`
	MadeAt    *string  `json:"made_at"`
	From      string   `json:"from"` // empty where the trip is no more
	Until     string   `json:"until"`
	SeenAt    *string  `json:"seen_at"`
	RevokedAt *string  `json:"revoked_at"`
	State     string   `json:"state"`
}

// States of a pass.
const (
	good    = "good"
	over    = "over"
	revoked = "revoked"
)

func (r *Routes) line(pass store.Pass) (line, error) {
	l := line{ID: pass.ID, Trip: pass.Trip, Sitter: pass.Sitter, Person: pass.Person, Bins: pass.Bins, Photos: pass.Photos,
		MadeAt: given(pass.MadeAt), SeenAt: given(pass.SeenAt), RevokedAt: given(pass.RevokedAt), State: over}
	if l.Bins == nil {
		l.Bins = []string{}
	}
	span, err := r.span(pass.Trip)
	if err != nil {
		return l, err
	}
	if span.ok {
		l.From, l.Until = span.from.Format(time.RFC3339), span.until.Format(time.RFC3339)
		if r.Store.Clock.Now().Before(span.until) {
			l.State = good
		}
	}
	if l.RevokedAt != nil {
		l.State = revoked
	}
	return l, nil
}

// given is an instant for JSON, null where there is none.
func given(at types.DateTime) *string {
	if at.IsZero() {
		return nil
	}
	text := at.Time().UTC().Format(time.RFC3339)
	return &text
}

// A span is a trip and the instants between which a sitter's entries lie; ok
// is false where the trip is no more, or its days cannot be read.
type span struct {
	trip        husbandry.Trip
	from, until time.Time
	ok          bool
}

func (r *Routes) span(trip string) (s span, err error) {
	if s.trip, err = r.Store.Trip(trip); errors.Is(err, store.ErrUnknown) {
		return span{}, nil
	}
	if err != nil {
		return s, err
	}
	zone, err := r.Store.Zone()
	if err != nil {
		return s, err
	}
	s.from, s.until, s.ok = s.trip.PassSpan(zone)
	return s, nil
}

func (r *Routes) list(e *core.RequestEvent) error {
	passes, err := r.Store.Passes(e.Request.URL.Query().Get("trip"))
	if err != nil {
		return err
	}
	lines := make([]line, len(passes))
	for i, pass := range passes {
		if lines[i], err = r.line(pass); err != nil {
			return err
		}
	}
	return e.JSON(http.StatusOK, lines)
}

const noTrip = "There is no such trip. Keep the trip first, then make its pass."

// add makes a pass and tells its secret, this once.
func (r *Routes) add(e *core.RequestEvent) error {
	raw, refusal := body.Read(e.Request, 256<<10)
	if refusal != nil {
		return e.JSON(refusal.Status, refusal)
	}
	wish, problems := husbandry.CheckPassWish(raw, "origin")
	if len(problems) > 0 {
		return sentence(e, http.StatusBadRequest, "%s", problems.Error())
	}
	var shown struct {
		Origin string `json:"origin"`
	}
	_ = json.Unmarshal(raw, &shown) // without one the server's own address will do
	s, err := r.span(wish.Trip)
	if err != nil {
		return err
	}
	if !s.ok {
		return sentence(e, http.StatusNotFound, noTrip)
	}
	if !r.Store.Clock.Now().Before(s.until) {
		return sentence(e, http.StatusBadRequest, "The trip is over: a pass for it would open nothing.")
	}
	problem, err := r.unknownBin(s.trip, wish.Bins)
	if err != nil {
		return err
	}
	if problem != nil {
		return sentence(e, http.StatusBadRequest, "%s", problem.Error())
	}
	secret := rand.Text() // 130 bits
	pass := store.Pass{Trip: wish.Trip, Sitter: wish.Sitter, Bins: wish.Bins, Photos: wish.Photos}
	if err := r.Store.AddPass(&pass, secret); err != nil {
		return err
	}
	answer := struct {
		line
		Secret string `json:"secret"`
		Link   string `json:"link"`
		Guide  string `json:"guide"`
	}{Secret: secret}
	if answer.line, err = r.line(pass); err != nil {
		return err
	}
	if base, guide := r.Addresses(shown.Origin); base != "" {
		answer.Link, answer.Guide = base+"/#/p/"+secret, guide
	}
	e.Response.Header().Set("Cache-Control", "no-store")
	return e.JSON(http.StatusCreated, answer)
}

// unknownBin says which of the bins that a pass is asked for is none of the
// trip's.
func (r *Routes) unknownBin(trip husbandry.Trip, ids []string) (*husbandry.Problem, error) {
	bins, err := r.Store.Bins()
	if err != nil {
		return nil, err
	}
	for i, id := range ids {
		if !trip.Has(id) || !slices.ContainsFunc(bins, func(bin husbandry.Bin) bool { return bin.ID == id }) {
			return &husbandry.Problem{Field: fmt.Sprintf("bins %d", i+1), Value: cmp.Or(id, `""`), Accepted: "give the id of a bin of the trip"}, nil
		}
	}
	return nil, nil
}

// revoke ends a pass: the next request that comes with it is refused.
func (r *Routes) revoke(e *core.RequestEvent) error {
	known, err := r.Store.RevokePass(e.Request.PathValue("id"))
	if err != nil {
		return err
	}
	if !known {
		return sentence(e, http.StatusNotFound, "There is no such pass.")
	}
	return e.NoContent(http.StatusNoContent)
}
