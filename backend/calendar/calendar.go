// Package calendar hands out what is to be done as calendars that other
// programs subscribe to: the visits of a trip to its sitter, rounds and visits
// to the people of the household. Each has a link of its own, which is all that
// the asking program knows; what is kept of it is a hash, and it can be
// withdrawn or made anew at any time.
package calendar

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/husbandry"
	"underlog/internal/ical"
)

const (
	// refresh is how often clients are asked to come back.
	refresh = 4 * time.Hour
	// grace is how long after the return a sitter's link still answers.
	grace = 24 * time.Hour
	// mostLinks is how many links one person may have.
	mostLinks = 50
	mostName  = 80 // characters
)

// A Planner knows what is to come.
type Planner interface {
	TripEvents(trip husbandry.Trip) ([]ical.Event, error)
	RoundEvents() ([]ical.Event, error)
}

// Routes are the routes of this package.
type Routes struct {
	Store   *store.Store
	Planner Planner
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	links := se.Router.Group("/api/underlog/calendars")
	links.Bind(apis.RequireAuth(store.People), apis.BodyLimit(16<<10))
	links.GET("", r.list)
	links.POST("", r.add)
	links.POST("/{id}/link", r.renew)
	links.DELETE("/{id}", r.remove)
	// The secret is in the path: it goes into no log.
	se.Router.GET("/api/underlog/calendar/{file}", r.read).Bind(apis.SkipSuccessActivityLog())
}

func sentence(e *core.RequestEvent, status int, text string) error {
	return e.JSON(status, map[string]any{"status": status, "message": text})
}

// A line is one link as its owner sees it.
type line struct {
	ID     string `json:"id"`
	Person string `json:"person"`
	Name   string `json:"name"`
	Of     string `json:"of"`
	Trip   string `json:"trip,omitempty"`
	MadeAt string `json:"made_at"`
	SeenAt string `json:"seen_at,omitempty"` // when it was last asked for
	Path   string `json:"path,omitempty"`    // told once, when it is made
}

func lineOf(c store.Calendar) line {
	l := line{ID: c.ID, Person: c.Person, Name: c.Name, Of: c.Of, Trip: c.Trip, MadeAt: c.MadeAt.Time().UTC().Format(time.RFC3339)}
	if seen := c.SeenAt.Time(); !seen.IsZero() {
		l.SeenAt = seen.UTC().Format(time.RFC3339)
	}
	return l
}

// whose is whose links somebody sees: the owner sees everybody's.
func whose(e *core.RequestEvent) string {
	if e.Auth.GetString("role") == store.Owner {
		return ""
	}
	return e.Auth.Id
}

func (r *Routes) list(e *core.RequestEvent) error {
	found, err := r.Store.FindCalendars(whose(e))
	if err != nil {
		return err
	}
	lines := make([]line, len(found))
	for i, c := range found {
		lines[i] = lineOf(c)
	}
	return e.JSON(http.StatusOK, lines)
}

// add makes a link. It is told this once.
func (r *Routes) add(e *core.RequestEvent) error {
	var wish struct{ Name, Of, Trip string }
	if err := e.BindBody(&wish); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give name, and of, which is room or trip.")
	}
	wish.Name = strings.Join(strings.Fields(wish.Name), " ")
	if n := utf8.RuneCountInString(wish.Name); n < 1 || n > mostName {
		return sentence(e, http.StatusBadRequest, fmt.Sprintf("name has %d characters: give 1 to %d, such as who uses the calendar.", n, mostName))
	}
	switch wish.Of {
	case store.CalendarOfRoom:
		wish.Trip = ""
	case store.CalendarOfTrip:
		if e.Auth.GetString("role") != store.Owner {
			return sentence(e, http.StatusForbidden, "Only the owner may let somebody see the visits of a trip.")
		}
		if trip, known, err := r.Store.AnyTrip(wish.Trip); err != nil {
			return err
		} else if !known || trip.Deleted {
			return sentence(e, http.StatusBadRequest, "trip is "+wish.Trip+": give the id of a trip of this household that has arrived here.")
		}
	default:
		return sentence(e, http.StatusBadRequest, fmt.Sprintf("of is %q: give room or trip.", wish.Of))
	}
	mine, err := r.Store.FindCalendars(e.Auth.Id)
	if err != nil {
		return err
	}
	if len(mine) >= mostLinks {
		return sentence(e, http.StatusConflict, fmt.Sprintf("You have %d calendar links, more than that are not kept: withdraw one that is not used.", len(mine)))
	}
	secret := rand.Text()
	made, err := r.Store.AddCalendar(store.Calendar{Person: e.Auth.Id, Name: wish.Name, Of: wish.Of, Trip: wish.Trip}, secret)
	if err != nil {
		return err
	}
	l := lineOf(made)
	l.Path = pathOf(secret)
	return e.JSON(http.StatusCreated, l)
}

// find returns a link that the asking person may change.
func (r *Routes) find(e *core.RequestEvent) (c store.Calendar, found bool, err error) {
	all, err := r.Store.FindCalendars(whose(e))
	if err != nil {
		return c, false, err
	}
	at := slices.IndexFunc(all, func(c store.Calendar) bool { return c.ID == e.Request.PathValue("id") })
	if at < 0 {
		return c, false, sentence(e, http.StatusNotFound, "There is no such calendar link of yours.")
	}
	return all[at], true, nil
}

// renew puts another secret in the place of a link's: who has the old one is
// cut off.
func (r *Routes) renew(e *core.RequestEvent) error {
	c, found, err := r.find(e)
	if !found {
		return err
	}
	secret := rand.Text()
	if err := r.Store.RenewCalendar(c.ID, secret); err != nil {
		return err
	}
	l := lineOf(c)
	l.Path = pathOf(secret)
	return e.JSON(http.StatusOK, l)
}

func (r *Routes) remove(e *core.RequestEvent) error {
	c, found, err := r.find(e)
	if !found {
		return err
	}
	if err := r.Store.RemoveCalendar(c.ID); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}

func pathOf(secret string) string { return "/api/underlog/calendar/" + secret + ".ics" }

// read answers a calendar to whoever has its link.
func (r *Routes) read(e *core.RequestEvent) error {
	nothing := func() error { return sentence(e, http.StatusNotFound, "There is nothing at this address.") }
	secret, isCalendar := strings.CutSuffix(e.Request.PathValue("file"), ".ics")
	if !isCalendar {
		return nothing()
	}
	c, found, err := r.Store.OpenCalendar(secret)
	if err != nil {
		return err
	}
	if !found {
		return nothing()
	}
	made, found, err := r.make(c)
	if err != nil {
		return err
	}
	if !found {
		return nothing()
	}
	body := made.Bytes()
	sum := sha256.Sum256(body)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	header := e.Response.Header()
	header.Set("ETag", tag)
	header.Set("Cache-Control", "private, no-cache")
	header.Set("Content-Disposition", `inline; filename="underlog.ics"`)
	if strings.Contains(e.Request.Header.Get("If-None-Match"), tag) {
		return e.NoContent(http.StatusNotModified)
	}
	return e.Blob(http.StatusOK, "text/calendar; charset=utf-8", body)
}

// make puts a calendar together. found is false where its trip is over.
func (r *Routes) make(c store.Calendar) (made ical.Calendar, found bool, err error) {
	zone, err := r.Store.Zone()
	if err != nil {
		return made, false, err
	}
	room, err := r.Store.Room()
	if err != nil {
		return made, false, err
	}
	now := r.Store.Clock.Now().In(zone)
	// When it was made moves on by the day only, so that what is the same has
	// the same bytes.
	year, month, day := now.Date()
	made = ical.Calendar{Name: room.Name, Zone: zone, Made: time.Date(year, month, day, 12, 0, 0, 0, zone), Refresh: refresh}
	if c.Of == store.CalendarOfTrip {
		trip, known, err := r.Store.AnyTrip(c.Trip)
		if err != nil || !known {
			return made, false, err
		}
		if _, returns, readable := trip.Span(zone); readable && now.After(returns.AddDate(0, 0, 1).Add(grace)) {
			return made, false, nil
		}
		made.Name = trip.Name
		made.Events, err = r.visits(c.Trip, now)
		return made, true, err
	}
	planned, err := r.Planner.RoundEvents()
	if err != nil {
		return made, false, err
	}
	if made.Events, err = r.Store.Publish(store.CalendarOfRoom, planned, now); err != nil {
		return made, false, err
	}
	trips, err := r.Store.TripsUntil(now.Format(time.DateOnly))
	if err != nil {
		return made, false, err
	}
	for _, trip := range trips {
		visits, err := r.visits(trip, now)
		if err != nil {
			return made, false, err
		}
		made.Events = append(made.Events, visits...)
	}
	made.Events = ical.Sorted(made.Events)
	return made, true, nil
}

// visits publishes the visits of a trip. One that was removed has none, and
// neither has one that cannot be worked out.
func (r *Routes) visits(id string, now time.Time) ([]ical.Event, error) {
	trip, known, err := r.Store.AnyTrip(id)
	if err != nil {
		return nil, err
	}
	var planned []ical.Event
	if _, _, readable := trip.Span(now.Location()); known && readable && !trip.Deleted {
		if planned, err = r.Planner.TripEvents(trip); err != nil {
			return nil, err
		}
	}
	return r.Store.Publish(id, planned, now)
}
