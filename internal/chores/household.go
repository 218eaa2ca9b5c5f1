package chores

import (
	"slices"
	"sort"
	"strings"
	"time"

	"underlog/internal/fuse"
	"underlog/internal/gauge"
	"underlog/internal/husbandry"
)

// epoch is where hours are counted from.
var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// ahead is how far the clocks run beyond the time asked for.
const ahead = 120 * day

// Settings are the records that all bins of a household share.
type Settings struct {
	Room  husbandry.Room
	Kinds map[string]husbandry.Kind // by slug
	Foods map[string]husbandry.Food // by slug
}

// A Household holds what the forecasts of all bins share at one time: the
// drying power of the air, and what the room's bins have taught each other.
type Household struct {
	Settings
	drying *clock
	start  time.Time
	at     time.Time
	people []string // by name; a person's index is their place
	food   *fuse.Room
	tables *gauge.Tables
}

// history is one bin with what happened to it.
type history struct {
	bin      husbandry.Bin
	number   int // tells bins apart, from 0
	kind     husbandry.Kind
	entries  []husbandry.Entry // by time, none struck, none later than asked for
	feedings []*feeding
	drying   *clock // the bin's own, where its own air was read
}

// newHousehold sets the clocks for entries from start on, as known at an
// instant. climate are the room's entries.
func newHousehold(settings Settings, climate []husbandry.Entry, start, at time.Time, tables *gauge.Tables) *Household {
	h := &Household{Settings: settings, start: start, at: at, tables: tables}
	h.drying = newClock(NewAir(settings.Room, climate), start, at.Add(ahead), at)
	return h
}

func (h *Household) hours(t time.Time) float64 { return t.Sub(epoch).Hours() }

// newHistory gathers what happened to a bin.
func (h *Household) newHistory(bin husbandry.Bin, number int, entries []husbandry.Entry) *history {
	past := &history{
		bin: bin, number: number, entries: entries, drying: h.drying,
		feedings: feedings(entries, h.Foods),
	}
	kind, known := h.Kinds[bin.Kind]
	if !known {
		kind = husbandry.Kind{Slug: bin.Kind, Name: bin.Kind, Moisture: "moderate", Appetite: 2}
	}
	past.kind = kind
	if slices.ContainsFunc(entries, func(e husbandry.Entry) bool { return e.What == husbandry.Climate }) {
		past.drying = newClock(NewAir(h.Room, entries), h.start, h.at.Add(ahead), h.at)
	}
	return past
}

// person returns the index of whoever logged an entry.
func (h *Household) person(by string) int {
	i, _ := slices.BinarySearch(h.people, by)
	return i
}

// peopleOf lists everybody who logged a reading, by name.
func peopleOf(histories []*history) []string {
	seen := map[string]bool{}
	for _, past := range histories {
		for _, e := range past.entries {
			seen[e.By] = true
		}
	}
	people := make([]string, 0, len(seen))
	for by := range seen {
		people = append(people, by)
	}
	sort.Slice(people, func(i, j int) bool { return strings.Compare(people[i], people[j]) < 0 })
	return people
}
