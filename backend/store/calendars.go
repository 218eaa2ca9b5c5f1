package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"database/sql"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
	"underlog/internal/ical"
)

// Calendars is the collection of the links by which calendars are asked for.
const Calendars = "calendars"

// Of what a calendar is.
const (
	CalendarOfRoom = "room" // rounds and visits, for somebody of the household
	CalendarOfTrip = "trip" // the visits of one trip, for the sitter
)

// calendarAsks is how often one machine may ask for calendars in a minute, right or
// wrong: clients ask a few times an hour.
const calendarAsks = 30

func init() {
	core.AppMigrations.Register(addCalendars, nil, "9_calendars.go")
}

func addCalendars(app core.App) error {
	people, err := app.FindCollectionByNameOrId(People)
	if err != nil {
		return err
	}
	collection := base(Calendars, ofDevice,
		&core.RelationField{Name: "person", CollectionId: people.Id, MaxSelect: 1, Required: true, CascadeDelete: true}, // who made it
		&core.TextField{Name: "name", Required: true, Max: 80, Presentable: true},
		&core.SelectField{Name: "of", Required: true, MaxSelect: 1, Values: []string{CalendarOfRoom, CalendarOfTrip}},
		&core.TextField{Name: "trip"},
		&core.TextField{Name: "hash", Required: true, Hidden: true},
		&core.DateField{Name: "made_at"}, &core.DateField{Name: "seen_at"},
	)
	collection.AddIndex("idx_calendars_hash", true, "hash", "")
	if err := app.Save(collection); err != nil {
		return err
	}
	// What was published, so that a change is told as one.
	if _, err := app.DB().NewQuery(`CREATE TABLE published (
		of TEXT NOT NULL, uid TEXT NOT NULL, event TEXT NOT NULL, PRIMARY KEY (of, uid))`).Execute(); err != nil {
		return err
	}
	settings := app.Settings()
	settings.RateLimits.Rules = slices.Insert(settings.RateLimits.Rules, 0,
		core.RateLimitRule{Label: "/api/underlog/calendar/", MaxRequests: calendarAsks, Duration: 60})
	return app.Save(settings)
}

// A Calendar is one link.
type Calendar struct {
	ID     string         `db:"id"`
	Person string         `db:"person"`
	Name   string         `db:"name"`
	Of     string         `db:"of"`
	Trip   string         `db:"trip"`
	MadeAt types.DateTime `db:"made_at"`
	SeenAt types.DateTime `db:"seen_at"`
}

// AddCalendar stores a link. Of its secret only the hash is kept.
func (s *Store) AddCalendar(c Calendar, secret string) (Calendar, error) {
	c.ID, c.MadeAt = NewID(), Date(s.Clock.Now())
	_, err := s.App.NonconcurrentDB().Insert(Calendars, dbx.Params{"id": c.ID, "person": c.Person, "name": c.Name, "of": c.Of, "trip": c.Trip,
		"hash": hashOf(secret), "made_at": c.MadeAt.String(), "seen_at": ""}).Execute()
	return c, err
}

// RenewCalendar gives a link another secret: the one before is worthless then.
func (s *Store) RenewCalendar(id, secret string) error {
	_, err := s.App.NonconcurrentDB().Update(Calendars, dbx.Params{"hash": hashOf(secret), "made_at": dateTime(s.Clock.Now()), "seen_at": ""}, dbx.HashExp{"id": id}).Execute()
	return err
}

// RemoveCalendar makes a link worthless.
func (s *Store) RemoveCalendar(id string) error {
	_, err := s.App.NonconcurrentDB().Delete(Calendars, dbx.HashExp{"id": id}).Execute()
	return err
}

// FindCalendars returns the links that a person made, or with an empty id all,
// the newest first.
func (s *Store) FindCalendars(person string) ([]Calendar, error) {
	calendars := []Calendar{}
	query := s.App.ConcurrentDB().Select("id", "person", "name", "of", "trip", "made_at", "seen_at").From(Calendars).OrderBy("made_at DESC", "id")
	if person != "" {
		query.Where(dbx.HashExp{"person": person})
	}
	if err := query.All(&calendars); err != nil {
		return nil, fmt.Errorf("store: the calendars: %w", err)
	}
	return calendars, nil
}

// OpenCalendar returns the link with a secret and notes that it was
// used; ok is false where there is none.
func (s *Store) OpenCalendar(secret string) (c Calendar, ok bool, err error) {
	err = s.App.ConcurrentDB().Select("id", "person", "name", "of", "trip", "made_at", "seen_at").From(Calendars).Where(dbx.HashExp{"hash": hashOf(secret)}).One(&c)
	if errors.Is(err, sql.ErrNoRows) {
		return c, false, nil
	}
	if err != nil {
		return c, false, fmt.Errorf("store: a calendar: %w", err)
	}
	now := s.Clock.Now()
	if seen := c.SeenAt.Time(); seen.IsZero() || now.Sub(seen) > seldom {
		_, err = s.App.NonconcurrentDB().Update(Calendars, dbx.Params{"seen_at": dateTime(now)}, dbx.HashExp{"id": c.ID}).Execute()
	}
	return c, true, err
}

// AnyTrip returns a trip whether it is deleted or not; ok is false where there is
// none, or it cannot be read.
func (s *Store) AnyTrip(id string) (trip husbandry.Trip, ok bool, err error) {
	sheet, err := s.sheet(s.App, Trips, id)
	if err != nil || len(sheet.Fields) == 0 {
		return trip, false, err
	}
	trip, unreadable := husbandry.AsTrip(sheet)
	trip.Deleted = sheet.Deleted()
	return trip, unreadable == nil, nil
}

// TripsUntil returns the ids of the trips, deleted ones too, that are not over
// at a day, or of which something was published.
func (s *Store) TripsUntil(day string) (ids []string, err error) {
	err = s.App.ConcurrentDB().NewQuery(`SELECT id FROM trips WHERE returns >= {:day} UNION
		SELECT of FROM published WHERE of != {:room} ORDER BY 1`).Bind(dbx.Params{"day": day, "room": CalendarOfRoom}).Column(&ids)
	return ids, err
}

// Publish brings what was published of a trip (its id) or of the room up to
// what is planned now, and returns it.
func (s *Store) Publish(of string, planned []ical.Event, at time.Time) (events []ical.Event, err error) {
	err = s.App.RunInTransaction(func(tx core.App) error {
		db := tx.NonconcurrentDB()
		var raws [][]byte
		if err := db.NewQuery("SELECT event FROM published WHERE of = {:of} ORDER BY uid").Bind(dbx.Params{"of": of}).Column(&raws); err != nil {
			return err
		}
		before := make([]ical.Event, len(raws))
		for i, raw := range raws {
			if err := json.Unmarshal(raw, &before[i]); err != nil {
				return fmt.Errorf("store: a published event: %w", err)
			}
		}
		events = ical.Update(before, planned, at)
		if ical.Equal(ical.Sorted(before), events) {
			return nil
		}
		if _, err := db.Delete("published", dbx.HashExp{"of": of}).Execute(); err != nil {
			return err
		}
		for _, event := range events {
			raw, err := json.Marshal(event)
			if err != nil {
				return err
			}
			if _, err := db.Insert("published", dbx.Params{"of": of, "uid": event.UID, "event": string(raw)}).Execute(); err != nil {
				return err
			}
		}
		return nil
	})
	return events, err
}
