package passes

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// scheme is how a phone says in its Authorization header that a secret
// follows.
const scheme = "Pass "

// What a phone hears that may not come in. Only who holds the secret of a
// pass hears that there was one.
const (
	unknownPass = "This link opens nothing here. Look whether all of it was copied, or ask for a new one."
	revokedPass = "This link was ended by whoever gave it to you. Ask for a new one if you are still to come."
	overPass    = "The days of this link are over. Thank you for looking in."
	guessed     = "Too many links that open nothing were tried from here. Wait some minutes and open yours again."
)

// spanKey is where a request keeps the span of its pass.
const spanKey = "underlogPassSpan"

// late is where a request keeps that the days of its pass are over: it may
// still bring what happened in them.
const lateKey = "underlogPassLate"

// Door lets in whoever comes with a pass, and puts it into the request under
// store.PassKey. The records are asked each time, so that a pass that is ended
// is ended for a phone that is in already.
func (r *Routes) Door() *hook.Handler[*core.RequestEvent] {
	return &hook.Handler[*core.RequestEvent]{Id: "underlogPassDoor", Func: r.open}
}

func (r *Routes) open(e *core.RequestEvent) error {
	now := r.Store.Clock.Now()
	e.Response.Header().Set("Cache-Control", "private, no-store")
	if wait := r.guesses.wait(e.RealIP(), now); wait > 0 {
		e.Response.Header().Set("Retry-After", fmt.Sprint(int(wait/time.Second)+1))
		return sentence(e, http.StatusTooManyRequests, guessed)
	}
	secret, said := strings.CutPrefix(e.Request.Header.Get("Authorization"), scheme)
	if !said { // an app of no pass is no guess
		return sentence(e, http.StatusUnauthorized, unknownPass)
	}
	pass, known, err := r.Store.FindPass(secret)
	if err != nil {
		return err
	}
	if !known {
		r.guesses.note(e.RealIP(), now)
		return sentence(e, http.StatusUnauthorized, unknownPass)
	}
	if !pass.RevokedAt.IsZero() {
		return sentence(e, http.StatusForbidden, revokedPass)
	}
	s, err := r.span(pass.Trip)
	if err != nil {
		return err
	}
	if !s.ok || !now.Before(s.until.Add(husbandry.PassLate)) {
		return sentence(e, http.StatusGone, overPass)
	}
	e.Auth = nil // a pass is nobody's account, whatever else the phone may be
	e.Set(store.PassKey, &pass)
	e.Set(spanKey, s)
	e.Set(lateKey, !now.Before(s.until))
	if err := r.Store.SeenPass(pass); err != nil {
		e.App.Logger().Warn("the use of a pass could not be noted", "error", err)
	}
	return e.Next()
}

// within returns the pass of a request, and its span; isLate says that its
// days are over.
func within(e *core.RequestEvent) (pass *store.Pass, s span, isLate bool) {
	pass, _ = e.Get(store.PassKey).(*store.Pass)
	s, _ = e.Get(spanKey).(span)
	isLate, _ = e.Get(lateKey).(bool)
	return pass, s, isLate
}

// reach is how far a pass reaches in a span: over the bins that are in use.
func (r *Routes) reach(pass *store.Pass, s span) (store.Reach, error) {
	bins, err := r.Store.Bins()
	reach := store.Reach{Bins: map[string]bool{}, From: s.from, Until: s.until}
	for _, bin := range bins {
		if s.trip.InPass(pass.Bins, bin.ID) {
			reach.Bins[bin.ID] = true
		}
	}
	return reach, err
}

// MayBring reports whether the pass of a request may bring a photo: one that
// an entry of its own names.
func (r *Routes) MayBring(e *core.RequestEvent, name string) (bool, error) {
	pass, s, _ := within(e)
	reach, err := r.reach(pass, s)
	if err != nil {
		return false, err
	}
	return r.Store.NamesPicture(pass.Person, reach, name)
}

// MaySee reports whether the pass of a request may be shown a picture: one that
// it has brought itself, or that its view names.
func (r *Routes) MaySee(e *core.RequestEvent, name string) (bool, error) {
	pass, s, isLate := within(e)
	if isLate {
		return false, nil
	}
	record, err := r.Store.FindPicture(name)
	if err != nil || record == nil {
		return false, err
	}
	if record.GetString("person") == pass.Person {
		if named, err := r.MayBring(e, name); err != nil || named {
			return named, err
		}
	}
	if !pass.Photos {
		return false, nil
	}
	view, err := r.viewOf(pass, s)
	if err != nil {
		return false, err
	}
	for _, bin := range view.Bins {
		if bin.Photo == name {
			return true, nil
		}
	}
	return false, nil
}
