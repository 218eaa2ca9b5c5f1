package pairing

import (
	"crypto/rand"
	"errors"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
)

func sentence(e *core.RequestEvent, status int, text string) error {
	return e.JSON(status, map[string]any{"status": status, "message": text})
}

// A wish says for whom a code is wanted: for whoever asks, for somebody of the
// household by id, or for a new helper by name.
type wish struct {
	Person string `json:"person"`
	Helper string `json:"helper"`
	Origin string `json:"origin"` // where the screen that shows the code got the app from
}

// An answer is a code, and the addresses that a phone opens. Where phones
// cannot reach this server they are empty.
type answer struct {
	Code  string `json:"code"`
	Until string `json:"until"`
	Name  string `json:"name"`
	Link  string `json:"link"`
	Guide string `json:"guide"` // of a phone that does not trust this home yet, empty where that is not needed
}

// offer makes a code.
func (r *Routes) offer(e *core.RequestEvent) error {
	var w wish
	if err := e.BindBody(&w); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give person or helper, and origin.")
	}
	person, problem, status := r.whom(e, &w)
	if problem != "" {
		return sentence(e, status, problem)
	}
	code := newCode()
	session, _ := e.Get(store.SessionKey).(string)
	o := &offer{hash: hashOf(code), until: r.Store.Clock.Now().Add(life), session: session, person: person, name: w.Helper}
	r.keep(e.Auth.Id, o)
	a := answer{Code: code, Until: o.until.UTC().Format(time.RFC3339), Name: o.name}
	if base, guide := r.Addresses(w.Origin); base != "" {
		a.Link, a.Guide = base+"/#/pair/"+code, guide
	}
	return e.JSON(http.StatusCreated, a)
}

// Addresses returns where phones reach this server, and the page that they
// open first where one is needed. origin is where a screen that shows them got
// the app from: an address by which phones can come too is the better one.
func (r *Routes) Addresses(origin string) (base, guide string) {
	r.mu.Lock()
	base, guide = r.address, r.guide
	r.mu.Unlock()
	if origin := reachable(origin); origin != "" {
		base = origin
	}
	return base, guide
}

// whom finds out whom a code is to sign in, and puts the name into the wish. A
// helper may let in only themselves.
func (r *Routes) whom(e *core.RequestEvent, w *wish) (person, problem string, status int) {
	w.Helper = strings.Join(strings.Fields(w.Helper), " ")
	owner := e.Auth.GetString("role") == store.Owner
	switch {
	case w.Person == "" && w.Helper == "" || w.Person == e.Auth.Id:
		w.Helper = e.Auth.GetString("name")
		return e.Auth.Id, "", 0
	case !owner:
		return "", "Only the owner may let somebody else in.", http.StatusForbidden
	case w.Person != "":
		found, err := e.App.FindRecordById(store.People, w.Person)
		if err != nil {
			return "", "There is no such person in this household.", http.StatusNotFound
		}
		w.Helper = found.GetString("name")
		return found.Id, "", 0
	case utf8.RuneCountInString(w.Helper) > 80:
		return "", "The name is too long: give 1 to 80 characters.", http.StatusBadRequest
	}
	if found, _ := e.App.FindFirstRecordByData(store.People, "username", store.Username(w.Helper)); found != nil {
		return "", "The name is taken: somebody of this household has it already. Choose another, or make a code for them.", http.StatusBadRequest
	}
	return "", "", 0
}

// reachable returns an origin as phones can use it, empty where it is none or
// leads to the asking machine itself.
func reachable(origin string) string {
	parsed, err := url.Parse(origin)
	if err != nil || parsed.Scheme != "https" && parsed.Scheme != "http" || parsed.Host == "" || len(origin) > 300 {
		return ""
	}
	host := parsed.Hostname()
	if host == "localhost" || strings.HasSuffix(host, ".localhost") || net.ParseIP(host).IsLoopback() {
		return ""
	}
	return parsed.Scheme + "://" + parsed.Host
}

// show tells the screen that shows a code what became of it.
func (r *Routes) show(e *core.RequestEvent) error {
	state, name := r.last(e.Auth.Id, r.Store.Clock.Now())
	return e.JSON(http.StatusOK, map[string]string{"state": state, "name": name})
}

func (r *Routes) withdraw(e *core.RequestEvent) error {
	r.forget(e.Auth.Id)
	return e.NoContent(http.StatusNoContent)
}

const unknownCode = "This code is not good any more, or was mistyped. A code lasts five minutes and lets one device in: have a new one shown, and look at each character."

// claim signs the device that asks in with a code.
func (r *Routes) claim(e *core.RequestEvent) error {
	var w struct{ Code string }
	if err := e.BindBody(&w); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give code.")
	}
	o, maker, found := r.use(w.Code, r.Store.Clock.Now())
	if !found {
		return sentence(e, http.StatusBadRequest, unknownCode)
	}
	holds, err := r.Store.HasSession(o.session, maker)
	if err != nil {
		return err
	}
	if !holds {
		return sentence(e, http.StatusBadRequest, unknownCode)
	}
	var person *core.Record
	if o.person == "" {
		// Nobody knows this password: the helper comes in by codes.
		person, err = r.Store.AddPerson(e.App, o.name, rand.Text(), store.Helper)
		if errors.Is(err, store.ErrNameTaken) {
			return sentence(e, http.StatusBadRequest, "The name is taken by now: have a code shown for "+o.name+".")
		}
	} else if person, err = e.App.FindRecordById(store.People, o.person); err != nil {
		return sentence(e, http.StatusBadRequest, unknownCode)
	}
	if err != nil {
		return err
	}
	// Whatever session the request came with is not the one that begins here.
	e.Set(store.SessionKey, "")
	return apis.RecordAuthResponse(e, person, "", nil)
}
