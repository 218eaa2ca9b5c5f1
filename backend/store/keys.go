package store

import (
	"crypto/rand"
	"encoding/hex"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
)

// Names of values in the collection keys.
const (
	KeyEpoch        = "epoch"         // of the feed's numbers
	KeyExample      = "example"       // set while the household is the invented one
	KeyVAPIDPublic  = "vapid public"  // base64url, uncompressed point
	KeyVAPIDPrivate = "vapid private" // base64url
	KeyContact      = "contact"       // whom a push service may write to
	keyRewound      = "rewound"       // when the feed was last found to be older than a device's
)

// Key returns a value of the collection keys, empty where there is none.
func (s *Store) Key(name string) (string, error) {
	return value[string](s.App.ConcurrentDB(), "SELECT value FROM {{keys}} WHERE name = {:name}", dbx.Params{"name": name})
}

// SetKey sets a value of the collection keys; an empty one removes it.
func (s *Store) SetKey(app core.App, name, text string) error {
	db := app.NonconcurrentDB()
	if _, err := db.Delete(Keys, dbx.HashExp{"name": name}).Execute(); err != nil || text == "" {
		return err
	}
	_, err := db.Insert(Keys, dbx.Params{"id": NewID(), "name": name, "value": text}).Execute()
	return err
}

// Epoch names the feed that the numbers belong to. It is made with the first
// question, and made anew when numbers may have gone backwards.
func (s *Store) Epoch() (string, error) {
	epoch, err := s.Key(KeyEpoch)
	if err != nil || epoch != "" {
		return epoch, err
	}
	return s.NewEpoch()
}

// NewEpoch begins a new epoch: every device forgets its place in the feed,
// reads it from the start and offers again what is not in it.
func (s *Store) NewEpoch() (string, error) {
	epoch := NewID()
	return epoch, s.App.RunInTransaction(func(tx core.App) error { return s.SetKey(tx, KeyEpoch, epoch) })
}

// Rewound begins a new epoch because the records came back from an older
// copy. For a while everybody may bring back what anybody had written until
// then: the phone of its author may be the one that is lost.
func (s *Store) Rewound() (string, error) {
	epoch := NewID()
	return epoch, s.App.RunInTransaction(func(tx core.App) error {
		if err := s.SetKey(tx, keyRewound, s.Clock.Now().UTC().Format(time.RFC3339)); err != nil {
			return err
		}
		return s.SetKey(tx, KeyEpoch, epoch)
	})
}

// bringingBack is how long after that devices may bring back the records of
// others. Judgement: a phone in a drawer for a season.
const bringingBack = 90 * 24 * time.Hour

// fastClock is by how much a phone's clock may be ahead before it is put right
// (MUST 22 of the exchange): what was written just before the records were
// lost may carry a time that is so much later. It also covers the part of a
// second that RFC 3339 in whole seconds leaves out.
const fastClock = 2*time.Minute + time.Second

// rewound returns the instant before which a record must have been written to
// be brought back by anybody, the zero time where there is none.
func (s *Store) rewound(now time.Time) (time.Time, error) {
	text, err := s.Key(keyRewound)
	if err != nil || text == "" {
		return time.Time{}, err
	}
	at, err := time.Parse(time.RFC3339, text)
	if err != nil || now.After(at.Add(bringingBack)) {
		return time.Time{}, err
	}
	return at.Add(fastClock), nil
}

// BringsBack reports whether records that this server has lost may still be
// brought back to it.
func (s *Store) BringsBack() (bool, error) {
	until, err := s.rewound(s.Clock.Now())
	return !until.IsZero(), err
}

// NewID returns 32 random hex digits.
func NewID() string {
	var id [16]byte
	rand.Read(id[:])
	return hex.EncodeToString(id[:])
}
