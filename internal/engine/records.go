package engine

import (
	"cmp"
	"slices"
	"sort"
	"strings"
	"time"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
)

// Entries count for what a bin is like now that are not older than history.
// Where they begin to count moves on an era at a time, so that a bin is not
// replayed every day for an entry that grew too old.
const (
	day     = 24 * time.Hour
	history = 200 * day
	era     = 20 * day
)

// countsSince returns the instant from which on entries count at an instant:
// history before the end of its era.
func countsSince(at time.Time) time.Time { return at.UTC().Truncate(era).Add(era - history) }

// records holds a household's sheets, merged, and its entries, each once.
type records struct {
	sheets  map[string]*husbandry.Sheet // by sort and id
	entries map[string]*husbandry.Entry
	struck  map[string]bool
	byBin   map[string]*timeline // "" is the room
}

// A timeline is the entries of one bin by what happened first.
type timeline struct {
	list   []*husbandry.Entry
	sorted bool
}

// inOrder returns the entries by what happened first. Entries mostly arrive in
// order, and where they do not, they arrive many at a time: they are sorted
// when they are wanted.
func (t *timeline) inOrder() []*husbandry.Entry {
	if !t.sorted {
		slices.SortFunc(t.list, inOrder)
		t.sorted = true
	}
	return t.list
}

func newRecords() records {
	return records{
		sheets: map[string]*husbandry.Sheet{}, entries: map[string]*husbandry.Entry{},
		struck: map[string]bool{}, byBin: map[string]*timeline{},
	}
}

// merge takes over what is later in sheet and reports whether anything was.
func (r *records) merge(sheet husbandry.Sheet) bool {
	key := sheet.Sheet + " " + sheet.ID
	mine, have := r.sheets[key]
	if !have {
		mine = &husbandry.Sheet{Sheet: sheet.Sheet, ID: sheet.ID}
		r.sheets[key] = mine
	}
	return len(mine.Merge(sheet)) > 0 || !have
}

// add takes in an entry unless it is there already, and returns the bins
// whose history it changes.
func (r *records) add(entry husbandry.Entry) (touched []string) {
	if _, have := r.entries[entry.ID]; have {
		return nil
	}
	r.entries[entry.ID] = &entry
	if entry.What == husbandry.Strike {
		r.struck[entry.Struck] = true
		if struck, have := r.entries[entry.Struck]; have {
			return []string{struck.Bin}
		}
		return nil // the struck entry will find its strike when it arrives
	}
	line := r.byBin[entry.Bin]
	if line == nil {
		line = &timeline{sorted: true}
		r.byBin[entry.Bin] = line
	}
	if n := len(line.list); n > 0 && inOrder(line.list[n-1], &entry) > 0 {
		line.sorted = false
	}
	line.list = append(line.list, &entry)
	return []string{entry.Bin}
}

// inOrder compares entries by what happened first. Where one device logged
// several things in one instant a reading comes before a dose, since people
// feel first and then water.
func inOrder(a, b *husbandry.Entry) int {
	return cmp.Or(a.At.Compare(b.At), turn(a.What)-turn(b.What), strings.Compare(a.ID, b.ID))
}

func turn(what string) int {
	switch what {
	case husbandry.Water, husbandry.AddLeaves, husbandry.AddWood, husbandry.Renew, husbandry.Feed:
		return 1
	case husbandry.Escape: // of what came in
		return 2
	}
	return 0
}

// of returns the entries of a bin from since to at that are not struck, in the
// order in which they happened.
func (r *records) of(bin string, since, at time.Time) []*husbandry.Entry {
	line := r.byBin[bin]
	if line == nil {
		return nil
	}
	list := line.inOrder()
	first := sort.Search(len(list), func(i int) bool { return !list[i].At.Before(since) })
	counting := make([]*husbandry.Entry, 0, len(list)-first)
	for _, entry := range list[first:] {
		if entry.At.After(at) {
			break
		}
		if !r.struck[entry.ID] {
			counting = append(counting, entry)
		}
	}
	return counting
}

// sheetsOf returns the sheets of a sort that are not deleted, by id.
func (r *records) sheetsOf(sort string) []*husbandry.Sheet {
	var found []*husbandry.Sheet
	for _, sheet := range r.sheets {
		if sheet.Sheet == sort && !sheet.Deleted() {
			found = append(found, sheet)
		}
	}
	slices.SortFunc(found, func(a, b *husbandry.Sheet) int { return strings.Compare(a.ID, b.ID) })
	return found
}

// shared is what the sheets say.
type shared struct {
	bins     []husbandry.Bin
	settings chores.Settings
}

func (r *records) shared() *shared {
	return &shared{r.bins(), chores.Settings{Room: r.room(), Kinds: r.kinds(), Foods: r.foods(), Trips: r.trips(), Stock: typed(r.sheetsOf("stock"), husbandry.AsStock)}}
}

// bins returns the bins in use, in walking order.
func (r *records) bins() []husbandry.Bin {
	bins := typed(r.sheetsOf("bins"), husbandry.AsBin)
	slices.SortFunc(bins, husbandry.WalkingOrder)
	return bins
}

func (r *records) room() husbandry.Room {
	for _, room := range typed(r.sheetsOf("rooms"), husbandry.AsRoom) {
		if room.ID == husbandry.RoomID {
			return room
		}
	}
	return husbandry.UsualRoom()
}

func (r *records) kinds() map[string]husbandry.Kind {
	kinds := map[string]husbandry.Kind{}
	for _, kind := range typed(r.sheetsOf("kinds"), husbandry.AsKind) {
		kinds[kind.Slug] = kind
	}
	return kinds
}

func (r *records) foods() map[string]husbandry.Food {
	foods := map[string]husbandry.Food{}
	for _, food := range typed(r.sheetsOf("foods"), husbandry.AsFood) {
		foods[husbandry.Slug(food.Slug)] = food
	}
	return foods
}

func (r *records) trips() []husbandry.Trip {
	trips := typed(r.sheetsOf("trips"), husbandry.AsTrip)
	slices.SortFunc(trips, husbandry.SoonestTrip)
	return trips
}

// typed types sheets. One that cannot be typed (its rules were looser when it
// was written) is left out: it must not keep the rest of the room from its
// forecasts.
func typed[T any](sheets []*husbandry.Sheet, as func(husbandry.Sheet) (T, error)) []T {
	var all []T
	for _, sheet := range sheets {
		if one, err := as(*sheet); err == nil {
			all = append(all, one)
		}
	}
	return all
}

// between returns the bins that have entries after one of two instants and not
// after the other.
func (r *records) between(a, b time.Time) (bins []string) {
	if b.Before(a) {
		a, b = b, a
	}
	for bin, line := range r.byBin {
		list := line.inOrder()
		n := len(list)
		for n > 0 && list[n-1].At.After(b) {
			n--
		}
		if n > 0 && list[n-1].At.After(a) {
			bins = append(bins, bin)
		}
	}
	return bins
}
