// Package store keeps a household's records in PocketBase: its collections,
// the rules about who may read them, and the one way in which records are
// written.
//
// Every change of a sheet and every new entry gets the next number of the
// feed, in the transaction that writes it; a reader who remembers the last
// number it saw can miss nothing. Entries (collection logs) are never changed
// and never deleted. A sheet that is edited in the dashboard is stamped and
// numbered like any other edit.
//
// A transaction that has returned is durable: the database runs with
// synchronous=FULL in WAL mode, so that what was acknowledged survives a
// killed process and a power cut.
//
// The package is the ground that the other packages of the server stand on;
// it knows none of them.
package store

import (
	"database/sql"
	"errors"
	"fmt"
	"sync"

	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	_ "github.com/pocketbase/pocketbase/migrations" // PocketBase's own tables

	"underlog/internal/husbandry"
)

// A Store reads and writes the records of one household.
type Store struct {
	App   core.App
	Clock clockwork.Clock

	mu        sync.Mutex
	listeners []func(Change)
}

// A Change is what one transaction wrote. Listeners are called after the
// commit and must return at once. Two changes may be told in the other order
// than they were committed in; records merge, so that does no harm.
type Change struct {
	Cursor  int64 // the feed's number after it
	Sheets  []husbandry.Sheet
	Entries []husbandry.Entry
	Wiped   bool // everything was removed
}

// New makes the store of an app that is not bootstrapped yet and binds its
// hooks.
func New(app core.App, clock clockwork.Clock) *Store {
	s := &Store{App: app, Clock: clock}
	s.bindHooks()
	return s
}

// Open connects to a data folder with the settings that the promise of this
// package rests on. Use it as PocketBase's DBConnect.
func Open(path string) (*dbx.DB, error) {
	// busy_timeout comes first: switching to WAL may have to wait already.
	const pragmas = "?_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=journal_size_limit(200000000)" +
		"&_pragma=synchronous(FULL)&_pragma=foreign_keys(ON)&_pragma=temp_store(MEMORY)&_pragma=cache_size(-32000)"
	return dbx.Open("sqlite", path+pragmas)
}

// OnChange has listener called after every transaction that changed records.
func (s *Store) OnChange(listener func(Change)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.listeners = append(s.listeners, listener)
}

func (s *Store) tell(change Change) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, listener := range s.listeners {
		listener(change)
	}
}

// Empty reports whether nobody has set up a household yet.
func (s *Store) Empty(app core.App) (bool, error) {
	count, err := app.CountRecords(People)
	return count == 0, err
}

// Room returns the household's settings, the usual ones before there are any.
func (s *Store) Room() (husbandry.Room, error) {
	sheet, err := s.sheet(s.App, "rooms", husbandry.RoomID)
	if err != nil || sheet.ID == "" {
		return husbandry.UsualRoom(), err
	}
	return husbandry.AsRoom(sheet)
}

// A Person is somebody of the household, as the others see them.
type Person struct {
	ID   string `db:"id" json:"id"`
	Name string `db:"name" json:"name"`
	Role string `db:"role" json:"role"`
}

// People returns everybody of the household.
func (s *Store) People() ([]Person, error) {
	people := []Person{}
	err := s.App.ConcurrentDB().Select("id", "name", "role").From(People).OrderBy("created", "id").All(&people)
	return people, err
}

// value reads one single value; the zero value where there is no row.
func value[T any](db dbx.Builder, query string, params dbx.Params) (T, error) {
	var found T
	err := db.NewQuery(query).Bind(params).Row(&found)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	if err != nil {
		return found, fmt.Errorf("store: %w", err)
	}
	return found, nil
}
