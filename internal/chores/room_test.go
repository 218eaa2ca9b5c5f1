package chores

import (
	"fmt"
	"testing"
	"time"

	"underlog/internal/husbandry"
)

// evening is when the rooms of these tests are asked.
var evening = time.Date(2026, 6, 3, 19, 0, 0, 0, time.FixedZone("summer", 2*3600))

// back is an instant so long before the evening.
func back(d time.Duration) time.Time { return evening.Add(-d) }

// A setUp is a room of one bin, b1, as a test wants it.
type setUp struct {
	bin     func(*husbandry.Bin)
	room    func(*husbandry.Room)
	entries []husbandry.Entry // by time
	at      time.Time         // the evening if zero
}

func settingsOf(change func(*husbandry.Room)) Settings {
	settings := Settings{Room: husbandry.UsualRoom(), Kinds: map[string]husbandry.Kind{}, Foods: map[string]husbandry.Food{}}
	if change != nil {
		change(&settings.Room)
	}
	for _, kind := range husbandry.Kinds() {
		settings.Kinds[kind.Slug] = kind
	}
	for _, food := range husbandry.Foods() {
		settings.Foods[food.Slug] = food
	}
	return settings
}

// tub is the common tub, changed.
func tub(id string, change func(*husbandry.Bin)) husbandry.Bin {
	bin := husbandry.CommonTub()
	bin.ID, bin.Name, bin.Kind = id, id, "armadillidium-vulgare"
	if change != nil {
		change(&bin)
	}
	return bin
}

// numbered gives entries the ids e0, e1, ... where they have none.
func numbered(entries []husbandry.Entry) []*husbandry.Entry {
	pointers := make([]*husbandry.Entry, len(entries))
	for i, entry := range entries {
		if entry.ID == "" {
			entry.ID = fmt.Sprint("e", i)
		}
		pointers[i] = &entry
	}
	return pointers
}

func (s setUp) make() *Room {
	at := s.at
	if at.IsZero() {
		at = evening
	}
	records := []Record{{Bin: tub("b1", s.bin), Entries: numbered(s.entries)}}
	return NewRoom(settingsOf(s.room), records, nil, at.Add(-200*day), at, nil, nil)
}

// all returns the chores of a sort.
func all(r *Room, sort string) []husbandry.Chore {
	var found []husbandry.Chore
	for _, c := range r.Chores(false) {
		if c.Chore == sort {
			found = append(found, c)
		}
	}
	return found
}

// the returns the one chore of a sort in the room of a setUp.
func the(t *testing.T, sort string, s setUp) husbandry.Chore {
	t.Helper()
	found := all(s.make(), sort)
	if len(found) != 1 {
		t.Fatalf("%d chores to %s, want one", len(found), sort)
	}
	c := found[0]
	if c.Opens.After(c.Due) || c.Due.After(c.Closes) {
		t.Errorf("%s opens %v, is due %v, closes %v", sort, c.Opens, c.Due, c.Closes)
	}
	for _, moment := range []time.Time{c.Opens, c.Due, c.Closes} {
		if !moment.Equal(moment.Truncate(time.Minute)) {
			t.Errorf("%s: %v is not a whole minute", sort, moment)
		}
	}
	return c
}

// near fails unless an instant is within slack of another.
func near(t *testing.T, what string, got, want time.Time, slack time.Duration) {
	t.Helper()
	if got.Sub(want).Abs() > slack {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func felt(at time.Time, word string) husbandry.Entry {
	return husbandry.Entry{At: at, What: husbandry.Feel, Feel: word}
}

func watered(at time.Time, ml float64) husbandry.Entry {
	return husbandry.Entry{At: at, What: husbandry.Water, WaterML: ml}
}

func fed(id string, at time.Time, food string) husbandry.Entry {
	return husbandry.Entry{ID: id, At: at, What: husbandry.Feed, Food: food, Pieces: 1}
}

func looked(of string, at time.Time, left, mould string) husbandry.Entry {
	return husbandry.Entry{At: at, What: husbandry.Leftovers, Of: of, Left: left, Mould: mould}
}
