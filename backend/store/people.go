package store

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"golang.org/x/text/unicode/norm"

	"underlog/internal/husbandry"
)

// Username is the form of a name by which people are told apart and sign in:
// neither capitals nor spare spaces matter.
func Username(name string) string {
	return norm.NFC.String(strings.ToLower(strings.Join(strings.Fields(name), " ")))
}

// ErrNameTaken is the error of a name that somebody of the household has.
var ErrNameTaken = errors.New("somebody of this household has that name already: choose another")

// AddPerson makes an account. The error's text is fit to be shown.
func (s *Store) AddPerson(app core.App, name, password, role string) (*core.Record, error) {
	name = strings.Join(strings.Fields(name), " ")
	collection, err := app.FindCollectionByNameOrId(People)
	if err != nil {
		return nil, err
	}
	if found, _ := app.FindFirstRecordByData(People, "username", Username(name)); found != nil {
		return nil, ErrNameTaken
	}
	person := core.NewRecord(collection)
	person.Set("name", name)
	person.Set("username", Username(name))
	person.Set("role", role)
	person.SetPassword(password)
	if err := app.Save(person); err != nil {
		return nil, fmt.Errorf("this person cannot be added: %w", err)
	}
	return person, nil
}

// findByNameAsTyped lets people sign in by their name as they write it.
func (s *Store) findByNameAsTyped(e *core.RecordAuthWithPasswordRequestEvent) error {
	if e.Record == nil {
		if found, err := e.App.FindFirstRecordByData(People, "username", Username(e.Identity)); err == nil {
			e.Record = found
		}
	}
	return e.Next()
}

// DeviceID is the id of the record of a device in one person's hands. Devices
// are known to everybody by the entries made on them, so the record belongs
// to the person too: naming a device gives no power over somebody else's.
func DeviceID(person, device string) string {
	return husbandry.RecordID(Devices, person+" "+device)
}

// seldom is how often it is noted that somebody was here.
const seldom = 10 * time.Minute

// Seen notes that a person's device was here.
func (s *Store) Seen(author Author) error {
	now := s.Clock.Now()
	if err := s.seenSession(author, now); err != nil {
		return err
	}
	_, err := s.App.NonconcurrentDB().NewQuery(`INSERT INTO devices (id, person, device, seen_at)
		VALUES ({:id}, {:person}, {:device}, {:now})
		ON CONFLICT (id) DO UPDATE SET seen_at = excluded.seen_at WHERE seen_at < {:stale}`).
		Bind(dbx.Params{"id": DeviceID(author.Person, author.Device), "person": author.Person, "device": author.Device,
			"now": dateTime(now), "stale": dateTime(now.Add(-seldom))}).Execute()
	return err
}

// Wipe removes everything of the household, its people too, and begins a new
// epoch. It is for the invented household only; callers see to that.
func (s *Store) Wipe() error {
	err := s.App.RunInTransaction(func(tx core.App) error {
		tables := []string{Deliveries, Devices, Sessions, Passes, Sensors, Calendars, "published", Chores, Windows, Logs, Photos, "bins", "kinds", "foods", "trips", "batches", "mixes", "stock", "supplies", "rooms", "feed", People}
		for _, table := range tables {
			if _, err := tx.NonconcurrentDB().Delete(table, dbx.NewExp("1=1")).Execute(); err != nil {
				return err
			}
		}
		if err := s.SetKey(tx, KeyExample, ""); err != nil {
			return err
		}
		return s.SetKey(tx, KeyEpoch, NewID())
	})
	if err == nil {
		s.tell(Change{Wiped: true})
	}
	return err
}
