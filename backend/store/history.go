package store

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// Recent is how far back a device needs entries for its forecasts, with a day
// to spare: the engine looks at the last 200 days.
const Recent = 201 * 24 * time.Hour

// A Place in the entries by time, from the newest to the oldest: before At,
// and of those at At before ID. The zero Place is before all of them.
type Place struct {
	At time.Time // to the millisecond, as the column holds it
	ID string
}

// String is the form in which a device keeps a place; ParsePlace reads it.
func (p Place) String() string {
	if p.At.IsZero() {
		return ""
	}
	return dateTime(p.At) + "|" + p.ID
}

// ParsePlace reads what String wrote.
func ParsePlace(text string) (Place, error) {
	if text == "" {
		return Place{}, nil
	}
	at, id, found := strings.Cut(text, "|")
	instant, err := time.Parse(types.DefaultDateLayout, at)
	if err != nil || !found || id != "" && !husbandry.IsRecordID(id) {
		return Place{}, fmt.Errorf("before is %q: give what the server answered as next, or nothing", text)
	}
	return Place{instant, id}, nil
}

// A Stretch is a part of the entries by time, the newest first.
type Stretch struct {
	Entries []json.RawMessage // as they are stored
	Next    Place             // to go on from
	Left    int               // entries of the stretch after these
}

// Before returns at most most entries that come after a place, reading from
// the newest to the oldest, back to an instant; the zero instant is all the
// way.
func (s *Store) Before(place Place, from time.Time, most int) (Stretch, error) {
	where, params := stretch(place, from)
	params["most"] = most
	var rows []struct {
		ID  string         `db:"id"`
		At  types.DateTime `db:"at"`
		Raw []byte         `db:"raw"`
	}
	db := s.App.ConcurrentDB()
	err := db.NewQuery("SELECT id, at, raw FROM logs WHERE " + where + " ORDER BY at DESC, id DESC LIMIT {:most}").Bind(params).All(&rows)
	if err != nil {
		return Stretch{}, fmt.Errorf("store: the entries before %s: %w", place, err)
	}
	found := Stretch{Entries: make([]json.RawMessage, len(rows)), Next: place}
	for i, row := range rows {
		found.Entries[i] = row.Raw
		found.Next = Place{row.At.Time(), row.ID}
	}
	if len(rows) < most {
		return found, nil
	}
	where, params = stretch(found.Next, from)
	found.Left, err = value[int](db, "SELECT COUNT(*) FROM logs WHERE "+where, params)
	return found, err
}

func stretch(place Place, from time.Time) (where string, params dbx.Params) {
	where, params = "at >= {:from}", dbx.Params{"from": dateTime(from)}
	if !place.At.IsZero() {
		where += " AND at <= {:at} AND (at < {:at} OR id < {:id})"
		params["at"], params["id"] = dateTime(place.At), place.ID
	}
	return where, params
}

// Counted returns how many entries happened before an instant.
func (s *Store) Counted(before time.Time) (int, error) {
	return value[int](s.App.ConcurrentDB(), "SELECT COUNT(*) FROM logs WHERE at < {:before}", dbx.Params{"before": dateTime(before)})
}

// OldStrikes returns the strikes from before an instant of entries from
// after it: a phone whose clock was wrong makes such.
func (s *Store) OldStrikes(from time.Time) ([]json.RawMessage, error) {
	var raws [][]byte
	err := s.App.ConcurrentDB().NewQuery(`SELECT strikes.raw FROM logs AS strikes JOIN logs ON logs.id = strikes.struck
		WHERE strikes.struck != '' AND strikes.at < {:from} AND logs.at >= {:from}`).Bind(dbx.Params{"from": dateTime(from)}).Column(&raws)
	if err != nil {
		return nil, fmt.Errorf("store: the strikes before %s: %w", from, err)
	}
	strikes := make([]json.RawMessage, len(raws))
	for i, raw := range raws {
		strikes[i] = raw
	}
	return strikes, nil
}
