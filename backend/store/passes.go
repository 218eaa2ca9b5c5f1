package store

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// Passes is the collection of sitters' ways in.
const Passes = "passes"

// Sitter is the role of whoever holds a pass. It is no account's.
const Sitter = "sitter"

// PassKey is where a request keeps its pass, a *Pass.
const PassKey = "underlogPass"

func init() {
	core.AppMigrations.Register(addPasses, nil, "8_passes.go")
}

// addPasses adds the collection, whether a device is told what a sitter finds
// wrong, and how often a sitter's phone may ask: a photo in pieces is many
// requests.
func addPasses(app core.App) error {
	if err := app.Save(passesCollection()); err != nil {
		return err
	}
	devices, err := app.FindCollectionByNameOrId(Devices)
	if err != nil {
		return err
	}
	devices.Fields.Add(&core.TextField{Name: "wrong", Max: 40})
	if err := app.Save(devices); err != nil {
		return err
	}
	settings := app.Settings()
	rule := core.RateLimitRule{Label: "/api/underlog/pass/photos/", MaxRequests: 1200, Duration: 10}
	settings.RateLimits.Rules = append([]core.RateLimitRule{rule}, settings.RateLimits.Rules...)
	return app.Save(settings)
}

func passesCollection() *core.Collection {
	collection := base(Passes, owners,
		&core.TextField{Name: "trip", Required: true},
		&core.TextField{Name: "sitter", Required: true, Max: 80, Presentable: true}, // the name
		&core.TextField{Name: "person", Required: true},                             // as entries name it
		&core.JSONField{Name: "bins", MaxSize: 1 << 16},                             // ids; empty is the trip's
		&core.BoolField{Name: "photos"},
		&core.TextField{Name: "hash", Required: true, Hidden: true}, // SHA-256 of the secret
		&core.DateField{Name: "made_at"}, &core.DateField{Name: "seen_at"}, &core.DateField{Name: "revoked_at"},
	)
	collection.AddIndex("idx_passes_hash", true, "hash", "")
	collection.AddIndex("idx_passes_person", false, "person", "")
	return collection
}

// A Pass is a sitter's way in for one trip. It follows the trip: its days, and
// with no bins of its own its bins.
type Pass struct {
	ID        string                  `db:"id"`
	Trip      string                  `db:"trip"`
	Sitter    string                  `db:"sitter"` // the name
	Person    string                  `db:"person"` // as entries name it
	Bins      types.JSONArray[string] `db:"bins"`
	Photos    bool                    `db:"photos"`
	Hash      string                  `db:"hash"`
	MadeAt    types.DateTime          `db:"made_at"`
	SeenAt    types.DateTime          `db:"seen_at"`
	RevokedAt types.DateTime          `db:"revoked_at"`
}

// hashOf is what is kept of a secret. It is long and random, so there is
// nothing that a slow hash would hold off.
func hashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// AddPass keeps a pass under the hash of its secret, and gives it its id and
// its person.
func (s *Store) AddPass(pass *Pass, secret string) error {
	pass.Sitter = strings.Join(strings.Fields(pass.Sitter), " ")
	pass.ID, pass.Person, pass.Hash, pass.MadeAt = NewID(), husbandry.SitterID(Username(pass.Sitter)), hashOf(secret), Date(s.Clock.Now())
	bins, err := json.Marshal(pass.Bins)
	if err != nil {
		return err
	}
	_, err = s.App.NonconcurrentDB().Insert(Passes, dbx.Params{"id": pass.ID, "trip": pass.Trip, "sitter": pass.Sitter, "person": pass.Person,
		"bins": string(bins), "photos": pass.Photos, "hash": pass.Hash, "made_at": pass.MadeAt.String()}).Execute()
	if err != nil {
		return fmt.Errorf("store: a pass: %w", err)
	}
	return nil
}

// Passes returns the passes of a trip, or with an empty id all, the newest
// first.
func (s *Store) Passes(trip string) ([]Pass, error) {
	passes := []Pass{}
	query := s.App.ConcurrentDB().Select().From(Passes).OrderBy("made_at DESC", "id")
	if trip != "" {
		query.Where(dbx.HashExp{"trip": trip})
	}
	if err := query.All(&passes); err != nil {
		return nil, fmt.Errorf("store: the passes: %w", err)
	}
	return passes, nil
}

// FindPass returns the pass with a secret; ok is false where there is none.
// What is looked up and compared is the hash, of which no answer's time tells
// anything about the secret.
func (s *Store) FindPass(secret string) (pass Pass, ok bool, err error) {
	hash := hashOf(secret)
	var found []Pass
	if err := s.App.ConcurrentDB().Select().From(Passes).Where(dbx.HashExp{"hash": hash}).All(&found); err != nil {
		return Pass{}, false, fmt.Errorf("store: a pass: %w", err)
	}
	if len(found) == 0 || subtle.ConstantTimeCompare([]byte(found[0].Hash), []byte(hash)) != 1 {
		return Pass{}, false, nil
	}
	return found[0], true, nil
}

// RevokePass ends a pass; known is false where there is none with this id.
func (s *Store) RevokePass(id string) (known bool, err error) {
	result, err := s.App.NonconcurrentDB().NewQuery("UPDATE passes SET revoked_at = CASE WHEN revoked_at = '' THEN {:now} ELSE revoked_at END WHERE id = {:id}").
		Bind(dbx.Params{"id": id, "now": dateTime(s.Clock.Now())}).Execute()
	if err != nil {
		return false, err
	}
	rows, err := result.RowsAffected()
	return rows > 0, err
}

// SeenPass notes that a pass was used, seldom: a photo in pieces does not wait
// for the one writer at each of them.
func (s *Store) SeenPass(pass Pass) error {
	now := s.Clock.Now()
	if now.Sub(pass.SeenAt.Time()) <= seldom {
		return nil
	}
	_, err := s.App.NonconcurrentDB().NewQuery("UPDATE passes SET seen_at = {:now} WHERE id = {:id}").
		Bind(dbx.Params{"id": pass.ID, "now": dateTime(now)}).Execute()
	return err
}

// Sitters returns whoever has or had a pass, as they are named in entries.
func (s *Store) Sitters() ([]Person, error) {
	passes, err := s.Passes("")
	sitters := []Person{}
	for _, pass := range passes {
		if !slices.ContainsFunc(sitters, func(one Person) bool { return one.ID == pass.Person }) {
			sitters = append(sitters, Person{pass.Person, pass.Sitter, Sitter})
		}
	}
	return sitters, err
}

// Known returns everybody by whom there may be entries: first the people of the
// household, then whoever has or had a pass, since what they logged stays.
func (s *Store) Known() ([]Person, error) {
	people, err := s.People()
	if err != nil {
		return nil, err
	}
	sitters, err := s.Sitters()
	return append(people, sitters...), err
}

// Trip returns a trip; ErrUnknown where there is none or it is deleted.
func (s *Store) Trip(id string) (husbandry.Trip, error) {
	sheet, err := s.sheet(s.App, Trips, id)
	if err != nil {
		return husbandry.Trip{}, err
	}
	if sheet.ID == "" || sheet.Deleted() {
		return husbandry.Trip{}, ErrUnknown
	}
	return husbandry.AsTrip(sheet)
}

// Bins returns the bins in use, in walking order.
func (s *Store) Bins() ([]husbandry.Bin, error) {
	bins, err := inUse(s, "bins", husbandry.AsBin)
	slices.SortFunc(bins, husbandry.WalkingOrder)
	return bins, err
}

// Foods returns the foods in use.
func (s *Store) Foods() ([]husbandry.Food, error) { return inUse(s, "foods", husbandry.AsFood) }

// inUse returns the sheets of a sort that are not deleted. One that cannot be
// typed is left out, as the engine does.
func inUse[T any](s *Store, sort string, as func(husbandry.Sheet) (T, error)) ([]T, error) {
	var rows []struct {
		ID      string `db:"id"`
		Stamped []byte `db:"stamped"`
	}
	if err := s.App.ConcurrentDB().Select("id", stampedColumn).From(sort).OrderBy("id").All(&rows); err != nil {
		return nil, err
	}
	var all []T
	for _, row := range rows {
		sheet, err := unpack(sort, row.ID, row.Stamped)
		if err != nil {
			return nil, err
		}
		if one, err := as(sheet); err == nil && !sheet.Deleted() {
			all = append(all, one)
		}
	}
	return all, nil
}

// A Reach is how far a pass reaches: which entries its holder may write and
// read again.
type Reach struct {
	Bins        map[string]bool
	From, Until time.Time // of when they happened; Until is excluded
}

// OwnEntries returns the last entries of a person within a reach, at most so
// many, in the order in which they happened.
func (s *Store) OwnEntries(person string, reach Reach, most int) ([]json.RawMessage, error) {
	var rows []struct {
		Bin string `db:"bin"`
		Raw []byte `db:"raw"`
	}
	err := s.App.ConcurrentDB().NewQuery("SELECT bin, raw FROM logs WHERE [[by]] = {:person} AND at >= {:from} AND at < {:until} ORDER BY at DESC, id DESC").
		Bind(dbx.Params{"person": person, "from": dateTime(reach.From), "until": dateTime(reach.Until)}).All(&rows)
	if err != nil {
		return nil, fmt.Errorf("store: the entries of %s: %w", person, err)
	}
	raws := []json.RawMessage{}
	for _, row := range rows {
		if len(raws) < most && (row.Bin == "" || reach.Bins[row.Bin]) {
			raws = append(raws, row.Raw)
		}
	}
	slices.Reverse(raws)
	return raws, nil
}

// BinsOf returns the bins in which a person logged something within a reach.
func (s *Store) BinsOf(person string, reach Reach) ([]string, error) {
	var bins []string
	err := s.App.ConcurrentDB().NewQuery("SELECT DISTINCT bin FROM logs WHERE [[by]] = {:person} AND at >= {:from} AND at < {:until} AND bin != ''").
		Bind(dbx.Params{"person": person, "from": dateTime(reach.From), "until": dateTime(reach.Until)}).Column(&bins)
	return slices.DeleteFunc(bins, func(bin string) bool { return !reach.Bins[bin] }), err
}

// SittersNotes returns what sitters said to be wrong since an instant, by when
// it happened; what was taken back is left out.
func (s *Store) SittersNotes(from time.Time) ([]husbandry.Entry, error) {
	var raws [][]byte
	err := s.App.ConcurrentDB().NewQuery("SELECT raw FROM logs WHERE at >= {:from} AND what = 'note' AND [[by]] IN (SELECT person FROM passes) AND " + unstruck + " ORDER BY at, id").
		Bind(dbx.Params{"from": dateTime(from)}).Column(&raws)
	if err != nil {
		return nil, fmt.Errorf("store: the notes of sitters: %w", err)
	}
	entries := make([]husbandry.Entry, len(raws))
	for i, raw := range raws {
		if err := json.Unmarshal(raw, &entries[i]); err != nil {
			return nil, fmt.Errorf("store: a stored entry: %w", err)
		}
	}
	return entries, nil
}

// PictureOf returns the name of the newest picture of a bin that is here:
// first those of the bin itself, then those of something that was seen in it.
func (s *Store) PictureOf(bin string) (string, error) {
	return value[string](s.App.ConcurrentDB(), "SELECT l.photo FROM logs l JOIN photos p ON p.id = l.photo WHERE l.bin = {:bin} AND l.photo != '' AND "+notStruck+
		" AND l.[[by]] NOT IN (SELECT person FROM passes) ORDER BY l.[[of]] != '', l.at DESC, l.id LIMIT 1", dbx.Params{"bin": bin})
}

// NamesPicture reports whether an entry of a person within a reach names a
// picture and is not struck.
func (s *Store) NamesPicture(person string, reach Reach, name string) (bool, error) {
	var bins []string
	err := s.App.ConcurrentDB().NewQuery("SELECT l.bin FROM logs l WHERE l.photo = {:name} AND l.[[by]] = {:person} AND l.at >= {:from} AND l.at < {:until} AND " + notStruck).
		Bind(dbx.Params{"name": name, "person": person, "from": dateTime(reach.From), "until": dateTime(reach.Until)}).Column(&bins)
	return slices.ContainsFunc(bins, func(bin string) bool { return bin == "" || reach.Bins[bin] }), err
}
