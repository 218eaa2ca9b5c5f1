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
	Trips []husbandry.Trip          // by what begins first
	Stock []husbandry.Stock         // of food
}

// A Household holds what the forecasts of all bins share at one time: the
// drying power of the air, and what the room's bins have taught each other.
type Household struct {
	Settings
	drying  *clock
	sameAir bool // drying is as it was before
	sameDay bool // and so is the day, here and in UTC
	start   time.Time
	at      time.Time
	day     time.Time // the UTC day of at: what happened before it has been learnt from
	people  []string  // by name; a person's index is their place
	food    *fuse.Room
	tables  *gauge.Tables
}

// history is one bin with what happened to it.
type history struct {
	bin      husbandry.Bin
	number   int // tells bins apart, from 0
	kind     husbandry.Kind
	entries  []*husbandry.Entry // by time, none struck, none later than asked for
	feedings []*feeding
	drying   *clock
	ownAir   bool // drying is the bin's own: its air was read
}

// newHousehold is for entries from start on, as known at an instant.
func newHousehold(settings Settings, start, at time.Time) *Household {
	return &Household{Settings: settings, start: start, at: at, day: at.UTC().Truncate(day), tables: new(gauge.Tables)}
}

// carryOver takes over from the household as it was what is still so.
func (h *Household) carryOver(before *Household, sameClimate bool) {
	h.tables = before.tables
	h.sameDay = before.sameDayAs(h.at)
	if h.sameDay && sameClimate {
		h.drying, h.sameAir = before.drying, true
	}
}

func (h *Household) sameDayAs(at time.Time) bool {
	return at.UTC().Truncate(day).Equal(h.day) && dayStart(at).Equal(dayStart(h.at)) &&
		at.Location().String() == h.at.Location().String()
}

// clock sums the drying power of the air that the climate entries tell of.
func (h *Household) clock(climate []*husbandry.Entry) *clock {
	return newClock(NewAir(h.Room, climate), h.start, h.day.Add(ahead), h.at)
}

// moveOn carries a history over to this household and the given place, and
// says whether everything that its gauges hang on is as it was.
func (h *Household) moveOn(past *history, number int) (same bool) {
	same = past.number == number && h.sameAir
	past.number = number
	if past.ownAir {
		was := past.drying
		past.drying = h.clock(past.entries)
		return same && past.drying.sameAs(was)
	}
	past.drying = h.drying
	return same
}

func (h *Household) hours(t time.Time) float64 { return t.Sub(epoch).Hours() }

// newHistory gathers what happened to a bin.
func (h *Household) newHistory(bin husbandry.Bin, number int, entries []*husbandry.Entry) *history {
	past := h.unfed(bin, number, entries)
	past.feedings = feedings(entries, h.Foods)
	return past
}

// unfed is a history without what was fed.
func (h *Household) unfed(bin husbandry.Bin, number int, entries []*husbandry.Entry) *history {
	past := &history{bin: bin, number: number, entries: entries, drying: h.drying}
	kind, known := h.Kinds[bin.Kind]
	if !known {
		kind = husbandry.Kind{Slug: bin.Kind, Name: bin.Kind, Moisture: "moderate", Appetite: 2}
	}
	past.kind = kind
	if slices.ContainsFunc(entries, func(e *husbandry.Entry) bool { return e.What == husbandry.Climate }) {
		past.ownAir = true
		past.drying = h.clock(entries)
	}
	return past
}

// person returns the index of whoever logged an entry.
func (h *Household) person(by string) int {
	i, _ := slices.BinarySearch(h.people, by)
	return i
}

// peopleOf lists everybody who logged a reading, by name.
func peopleOf(bins []*binState) []string {
	seen := map[string]bool{}
	for _, b := range bins {
		for i := range b.past.entries {
			seen[b.past.entries[i].By] = true
		}
	}
	people := make([]string, 0, len(seen))
	for by := range seen {
		people = append(people, by)
	}
	sort.Slice(people, func(i, j int) bool { return strings.Compare(people[i], people[j]) < 0 })
	return people
}
