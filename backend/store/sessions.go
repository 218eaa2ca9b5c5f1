package store

import (
	"fmt"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"
)

// Sessions is the collection of who is signed in where.
const Sessions = "sessions"

func init() {
	core.AppMigrations.Register(func(app core.App) error {
		people, err := app.FindCollectionByNameOrId(People)
		if err != nil {
			return err
		}
		return app.Save(sessionsCollection(people.Id))
	}, nil, "3_sessions.go")
}

func sessionsCollection(people string) *core.Collection {
	collection := base(Sessions, ofDevice,
		&core.RelationField{Name: "person", CollectionId: people, MaxSelect: 1, Required: true, CascadeDelete: true},
		&core.TextField{Name: "label", Max: 80, Presentable: true},
		&core.TextField{Name: "device"}, // as entries name it, once it has exchanged
		&core.DateField{Name: "since"}, &core.DateField{Name: "seen_at"},
	)
	collection.AddIndex("idx_sessions_person", false, "person", "")
	return collection
}

// A Session is one signing in: a token is good as long as its session is
// there.
type Session struct {
	ID     string         `db:"id"`
	Person string         `db:"person"`
	Label  string         `db:"label"`
	Device string         `db:"device"`
	Since  types.DateTime `db:"since"`
	SeenAt types.DateTime `db:"seen_at"`
}

// AddSession begins a session.
func (s *Store) AddSession(app core.App, person, label string) (id string, err error) {
	id, now := NewID(), dateTime(s.Clock.Now())
	_, err = app.NonconcurrentDB().Insert(Sessions, dbx.Params{"id": id, "person": person, "label": label, "since": now, "seen_at": now}).Execute()
	return id, err
}

// HasSession reports whether a person's session is still there.
func (s *Store) HasSession(id, person string) (bool, error) {
	return value[bool](s.App.ConcurrentDB(), "SELECT COUNT(*) FROM sessions WHERE id = {:id} AND person = {:person}",
		dbx.Params{"id": id, "person": person})
}

// FindSessions returns the sessions of a person, or with an empty id of
// everybody, the last seen first.
func (s *Store) FindSessions(person string) ([]Session, error) {
	sessions := []Session{}
	query := s.App.ConcurrentDB().Select().From(Sessions).OrderBy("seen_at DESC", "id")
	if person != "" {
		query.Where(dbx.HashExp{"person": person})
	}
	if err := query.All(&sessions); err != nil {
		return nil, fmt.Errorf("store: the sessions: %w", err)
	}
	return sessions, nil
}

// EndSession ends a session, and with it the alerts of its device.
func (s *Store) EndSession(session Session) error {
	if _, err := s.App.NonconcurrentDB().Delete(Sessions, dbx.HashExp{"id": session.ID}).Execute(); err != nil {
		return err
	}
	if session.Device == "" {
		return nil
	}
	return s.Unsubscribe(DeviceID(session.Person, session.Device), "")
}

// seenSession notes that a session was used, and on which device.
func (s *Store) seenSession(author Author, now time.Time) error {
	_, err := s.App.NonconcurrentDB().NewQuery(`UPDATE sessions SET seen_at = {:now}, device = {:device}
		WHERE id = {:id} AND (device != {:device} OR seen_at < {:stale})`).
		Bind(dbx.Params{"id": author.Session, "device": author.Device, "now": dateTime(now), "stale": dateTime(now.Add(-seldom))}).Execute()
	return err
}
