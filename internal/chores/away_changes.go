package chores

import (
	"math"
	"slices"
	"strings"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
)

// An AwayDone is a day of a trip on which somebody opened bins of it.
type AwayDone struct {
	Date string   `json:"date"`
	By   []string `json:"by"`
	Bins []string `json:"bins"` // in walking order
}

// An AwayOdd is a word felt since leaving that was unlikely when it was felt.
type AwayOdd struct {
	Bin    string    `json:"bin"`
	Entry  string    `json:"entry"`
	At     time.Time `json:"at"`
	By     string    `json:"by"`
	Feel   string    `json:"feel"`
	Chance float64   `json:"chance"`
}

// Why a bin's visits are others than they were.
const (
	ChangedFound  = "found"  // what was felt there
	ChangedMissed = "missed" // it was to be opened and was not
	ChangedAir    = "air"    // nothing of its own: the room's air, or what other bins teach
)

// An AwayChange is what has become of the plan since it was last made anew.
type AwayChange struct {
	Since  time.Time        `json:"since"`  // when the plan before was made
	From   string           `json:"from"`   // the day from which on the two plans are compared
	Visits int              `json:"visits"` // still to come under the plan before
	Harmed float64          `json:"harmed"` // and bins expected to come to harm
	Bins   []AwayBinChange  `json:"bins"`   // in walking order
	Days   []AwayDateChange `json:"days"`   // visits that are new or fall away
}

// An AwayDateChange is a visit that only one of two plans has.
type AwayDateChange struct {
	Date string `json:"date"`
	New  bool   `json:"new"` // else it falls away
}

// An AwayBinChange is a bin that is to be opened on other days than before.
type AwayBinChange struct {
	Bin  string    `json:"bin"`
	Was  []string  `json:"was"` // days still to come
	Now  []string  `json:"now"`
	Why  string    `json:"why"`
	Feel string    `json:"feel,omitempty"` // for ChangedFound
	At   time.Time `json:"at,omitzero"`    // of that
}

// oddChance is the chance below which a word is odd (judgement).
const oddChance = 0.05

// left is when the owner has left.
func (j *journey) left() time.Time { return j.leaves.Add(LeftBy) }

// done fills in who has opened what since leaving, and what they found that
// was unlikely.
func (r *Room) done(a *Away, j *journey) {
	a.Done, a.Odd = []AwayDone{}, []AwayOdd{}
	days := map[string]*AwayDone{}
	var known, then *gauge.Filter
	for _, b := range r.bins {
		if !j.trip.Has(b.past.bin.ID) {
			continue
		}
		felt := false
		for _, e := range b.past.entries {
			if !e.At.After(j.left()) || e.At.After(j.home()) || !opens(e) {
				continue
			}
			felt = felt || e.What == husbandry.Feel
			date := e.At.In(j.leaves.Location()).Format(time.DateOnly)
			day := days[date]
			if day == nil {
				day = &AwayDone{Date: date}
				days[date] = day
			}
			if !slices.Contains(day.By, e.By) {
				day.By = append(day.By, e.By)
			}
			if n := len(day.Bins); n == 0 || day.Bins[n-1] != b.past.bin.ID {
				day.Bins = append(day.Bins, b.past.bin.ID)
			}
		}
		if felt {
			if known == nil {
				known, then = r.household.tables.New(), r.household.tables.New()
			}
			a.Odd = append(a.Odd, b.odd(j.left(), known, then)...)
		}
	}
	for _, day := range days {
		slices.Sort(day.By)
		a.Done = append(a.Done, *day)
	}
	slices.SortFunc(a.Done, func(a, b AwayDone) int { return strings.Compare(a.Date, b.Date) })
	slices.SortStableFunc(a.Odd, func(a, b AwayOdd) int { return a.At.Compare(b.At) })
}

// odd lists the words felt after an instant that were unlikely, given all that
// was known of the bin before each. known and then are filters to use.
func (b *binState) odd(after time.Time, known, then *gauge.Filter) (list []AwayOdd) {
	tr := b.damp
	n := tr.settledBy(after)
	tr.branch(known, tr.touch, tr.events[:n], &tr.told, &tr.taught)
	for i := n; i < len(tr.events); i++ {
		event := &tr.events[i]
		at := tr.from.Add(hoursLong(event.Hours))
		if event.Kind == gauge.Word && at.After(after) {
			known.CopyTo(then)
			then.Reweigh(tr.prior)
			before := then.Evidence()
			then.Take(event)
			if chance := math.Exp(then.Evidence() - before); chance < oddChance {
				odd := AwayOdd{Bin: b.past.bin.ID, At: at, Feel: husbandry.FeelWords[event.Word], Chance: math.Round(chance*1e4) / 1e4}
				for _, e := range b.past.entries {
					if e.What == husbandry.Feel && e.At.Equal(at) && e.Feel == odd.Feel {
						odd.Entry, odd.By, odd.At = e.ID, e.By, e.At
					}
				}
				list = append(list, odd)
			}
		}
		known.Take(event)
	}
	return list
}

// PlannedBefore is when the plan of a trip was made that held before the last
// visit: just before the first entry of the last day on which somebody opened
// a bin of it, or on leaving. ok is false where the trip is not on.
func (r *Room) PlannedBefore(trip husbandry.Trip) (at time.Time, ok bool) {
	j, readable := r.household.journey(trip)
	if !readable || !j.setUp.IsZero() || !r.household.at.Before(j.home()) {
		return at, false
	}
	first := j.left()
	for _, b := range r.bins {
		if !trip.Has(b.past.bin.ID) {
			continue
		}
		for i := len(b.past.entries) - 1; i >= 0; i-- {
			e := b.past.entries[i]
			if !e.At.After(j.left()) {
				break
			}
			if opens(e) {
				if start := dayStart(e.At.In(j.leaves.Location())); start.After(first) {
					first = start
				}
				break
			}
		}
	}
	at = first
	if first.After(j.left()) {
		at = r.firstOpened(trip, first).Add(-time.Second)
	}
	return at, r.household.at.After(at)
}

// firstOpened is when a bin of a trip was first opened from an instant on.
func (r *Room) firstOpened(trip husbandry.Trip, from time.Time) time.Time {
	first := r.household.at
	for _, b := range r.bins {
		if !trip.Has(b.past.bin.ID) {
			continue
		}
		for _, e := range b.past.entries {
			if opens(e) && !e.At.Before(from) {
				if e.At.Before(first) {
					first = e.At
				}
				break
			}
		}
	}
	return first
}

// Changed says what has become of a plan since the one before it was made, for
// the bins of a trip, which may be fewer than the plans'.
func (r *Room) Changed(trip husbandry.Trip, before, now *Away, since time.Time) *AwayChange {
	c := &AwayChange{Since: since, Visits: len(before.Visits), Harmed: before.Plan.Harmed, Bins: []AwayBinChange{}, Days: []AwayDateChange{}}
	today := r.household.at.Format(time.DateOnly)
	from := today // days that are over are not compared, nor is one on which somebody was there
	if n := len(now.Done); n > 0 && now.Done[n-1].Date == today && slices.ContainsFunc(now.Done[n-1].Bins, trip.Has) || r.household.at.Hour() >= trip.ToHour {
		from = r.household.at.AddDate(0, 0, 1).Format(time.DateOnly)
	}
	c.From = from
	was, is := before.openings(from), now.openings(from)
	over := before.openings("")
	for _, b := range r.bins {
		id := b.past.bin.ID
		if !trip.Has(id) || slices.Equal(was[id], is[id]) {
			continue
		}
		change := AwayBinChange{Bin: id, Was: notNil(was[id]), Now: notNil(is[id]), Why: ChangedAir}
		if felt := last(b.past.entries, husbandry.Feel); felt != nil && felt.At.After(since) {
			change.Why, change.Feel, change.At = ChangedFound, felt.Feel, felt.At
		} else if len(over[id]) > len(was[id]) {
			change.Why = ChangedMissed
		}
		c.Bins = append(c.Bins, change)
	}
	dates, datesNow := before.dates(from), now.dates(from)
	for _, date := range datesNow {
		if !slices.Contains(dates, date) {
			c.Days = append(c.Days, AwayDateChange{date, true})
		}
	}
	for _, date := range dates {
		if !slices.Contains(datesNow, date) {
			c.Days = append(c.Days, AwayDateChange{date, false})
		}
	}
	slices.SortFunc(c.Days, func(a, b AwayDateChange) int { return strings.Compare(a.Date, b.Date) })
	return c
}

// openings is the days from a date on, by bin, on which a plan opens it.
func (a *Away) openings(from string) map[string][]string {
	days := map[string][]string{}
	for _, visit := range a.Visits {
		if visit.Date < from {
			continue
		}
		for _, stop := range visit.Stops {
			days[stop.Bin] = append(days[stop.Bin], visit.Date)
		}
	}
	return days
}

func (a *Away) dates(from string) (list []string) {
	for _, visit := range a.Visits {
		if visit.Date >= from {
			list = append(list, visit.Date)
		}
	}
	return list
}

func notNil(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
