package chores

import (
	"strings"
	"testing"
	"time"

	"underlog/internal/husbandry"
)

// tonight is when a round is expected where nothing says otherwise.
var tonight = time.Date(2026, 6, 3, 18, 0, 0, 0, evening.Location())

func meals(perWeek float64) func(*husbandry.Room) {
	return func(room *husbandry.Room) { room.MealsPerWeek = perWeek }
}

// Feeding: as many meals a week as the household wants, counted from the last
// meal, and nothing new on leftovers.
func TestWhenToFeed(t *testing.T) {
	removed := looked("f", back(20*time.Hour), "some left", "specks")
	removed.Removed = true
	for name, c := range map[string]struct {
		setUp
		due    time.Time // none if zero
		reason string
	}{
		"nothing fed yet": {setUp{}, tonight, "nothing fed yet"},
		"a household that does not feed": {
			setUp{room: meals(0)}, time.Time{}, ""},
		"twice a week, eaten": {
			setUp{room: meals(2), entries: []husbandry.Entry{fed("f", back(48*time.Hour), "carrot"), looked("f", back(24*time.Hour), "all gone", "")}},
			back(48 * time.Hour).Add(84 * time.Hour), "last fed 2 days ago: Carrot"},
		"seven times a week, eaten": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(30*time.Hour), "carrot"), looked("f", back(24*time.Hour), "all gone", "")}},
			back(6 * time.Hour), "last fed 30 h ago: Carrot"},
		"leftovers lie": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(48*time.Hour), "carrot")}}, time.Time{}, ""},
		"leftovers were looked at and still lie": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(48*time.Hour), "carrot"), looked("f", back(24*time.Hour), "some left", "none")}},
			time.Time{}, ""},
		"leftovers were taken out": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(48*time.Hour), "carrot"), removed}},
			back(24 * time.Hour), "last fed 2 days ago: Carrot"},
		"one of two pieces is gone": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(48*time.Hour), "carrot"), fed("g", back(48*time.Hour), "melon"), looked("g", back(24*time.Hour), "all gone", "")}},
			time.Time{}, ""},
		"forgotten leftovers": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(22*day), "carrot")}}, back(21 * day), "last fed 22 days ago: Carrot"},
		"what stays in is no meal": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(20*time.Hour), "cuttlebone")}}, tonight, "nothing fed yet"},
		"leftovers went with the substrate": {
			setUp{room: meals(7), entries: []husbandry.Entry{fed("f", back(40*time.Hour), "carrot"), {At: back(30 * time.Hour), What: husbandry.Renew}}},
			tonight, "nothing fed yet"},
	} {
		t.Run(name, func(t *testing.T) {
			if c.due.IsZero() {
				if found := all(c.make(), husbandry.ChoreFeed); len(found) > 0 {
					t.Fatalf("to be fed: %+v", found)
				}
				return
			}
			chore := the(t, husbandry.ChoreFeed, c.setUp)
			near(t, "due", chore.Due, c.due, time.Minute)
			if chore.Reason != c.reason {
				t.Errorf("because %q, want %q", chore.Reason, c.reason)
			}
		})
	}
}

// Looking in: never longer unopened than the household's cadence.
func TestWhenToLookIn(t *testing.T) {
	every := func(days float64) func(*husbandry.Room) {
		return func(room *husbandry.Room) { room.LookInDays = days }
	}
	opened := husbandry.Entry{At: back(3 * day), What: husbandry.Look}
	for name, c := range map[string]struct {
		setUp
		due    time.Time
		reason string
	}{
		"nothing logged yet": {setUp{}, tonight, "nothing logged yet"},
		"once a week":        {setUp{room: every(7), entries: []husbandry.Entry{opened}}, back(3 * day).Add(7 * day), "not opened for 3 days"},
		"every other day":    {setUp{room: every(2), entries: []husbandry.Entry{opened}}, back(day), "not opened for 3 days"},
		"any opening counts": {setUp{room: every(7), entries: []husbandry.Entry{opened, watered(back(5*time.Hour), 20)}}, back(5 * time.Hour).Add(7 * day), "not opened for 5 h"},
		"a note opens nothing": {setUp{room: every(7), entries: []husbandry.Entry{opened, {At: back(time.Hour), What: husbandry.Note, Note: "hm"}}},
			back(3 * day).Add(7 * day), "not opened for 3 days"},
		"nor does the air": {setUp{room: every(7), entries: []husbandry.Entry{opened, {At: back(time.Hour), What: husbandry.Climate}}},
			back(3 * day).Add(7 * day), "not opened for 3 days"},
	} {
		t.Run(name, func(t *testing.T) {
			chore := the(t, husbandry.ChoreLook, c.setUp)
			near(t, "due", chore.Due, c.due, time.Minute)
			if chore.Reason != c.reason {
				t.Errorf("because %q, want %q", chore.Reason, c.reason)
			}
		})
	}
}

// Renewing: at the goal after the last renewal, sooner if it is mostly frass.
func TestWhenToRenew(t *testing.T) {
	since := func(date string, months float64) func(*husbandry.Bin) {
		return func(bin *husbandry.Bin) { bin.SubstrateRenewed, bin.RenewMonths = date, months }
	}
	at := func(year int, month time.Month, date int) time.Time {
		return time.Date(year, month, date, 18, 0, 0, 0, evening.Location())
	}
	for name, c := range map[string]struct {
		setUp
		due    time.Time
		reason string
	}{
		"six months are usual":         {setUp{bin: since("2026-03-14", 0)}, at(2026, 9, 14), "substrate 2.7 months old, goal 6 months"},
		"a bin's own goal":             {setUp{bin: since("2026-03-14", 3)}, at(2026, 6, 14), "substrate 2.7 months old, goal 3 months"},
		"a renewal counts anew":        {setUp{bin: since("2026-03-14", 0), entries: []husbandry.Entry{{At: back(10 * day), What: husbandry.Renew}}}, at(2026, 11, 24), "substrate 0.3 months old, goal 6 months"},
		"nobody knows: from the first": {setUp{entries: []husbandry.Entry{felt(back(10*day), "damp")}}, at(2026, 11, 24), "substrate since nobody knows when, goal 6 months"},
		"nothing at all is known":      {setUp{}, at(2026, 12, 3), "substrate since nobody knows when, goal 6 months"},
	} {
		t.Run(name, func(t *testing.T) {
			chore := the(t, husbandry.ChoreRenew, c.setUp)
			near(t, "due", chore.Due, c.due, time.Minute)
			if chore.Reason != c.reason {
				t.Errorf("because %q, want %q", chore.Reason, c.reason)
			}
		})
	}
	frass := husbandry.Entry{At: back(day), What: husbandry.Substrate, Substrate: "mostly frass"}
	early := the(t, husbandry.ChoreRenew, setUp{bin: since("2026-03-14", 0), entries: []husbandry.Entry{frass, frass}})
	if !early.Due.Before(at(2026, 8, 31)) || !strings.Contains(early.Reason, "mostly frass") {
		t.Errorf("mostly frass, yet due %v because %q", early.Due, early.Reason)
	}
	fresh := husbandry.Entry{At: back(day), What: husbandry.Substrate, Substrate: "fresh"}
	if chore := the(t, husbandry.ChoreRenew, setUp{bin: since("2026-03-14", 0), entries: []husbandry.Entry{fresh}}); !chore.Due.Equal(at(2026, 9, 14)) {
		t.Errorf("found fresh, yet due %v", chore.Due)
	}
}

// Leaves: the barer they were found, the sooner; what is added puts it off.
func TestWhenToAddLeaves(t *testing.T) {
	found := func(word string) husbandry.Chore {
		return the(t, husbandry.ChoreLeaves, setUp{entries: []husbandry.Entry{{At: back(day), What: husbandry.Leaves, Leaves: word}}})
	}
	bare, thin, plenty := found("bare"), found("thin"), found("plenty")
	if bare.Due.After(evening) {
		t.Errorf("found bare, yet due %v", bare.Due)
	}
	if !bare.Due.Before(thin.Due) || !thin.Due.Before(plenty.Due) || plenty.Due.Before(evening.Add(10*day)) {
		t.Errorf("due %v if bare, %v if thin, %v if plenty", bare.Due, thin.Due, plenty.Due)
	}
	if bare.Odds <= thin.Odds || thin.Odds <= plenty.Odds {
		t.Errorf("odds of bare: %g if bare, %g if thin, %g if plenty", bare.Odds, thin.Odds, plenty.Odds)
	}
	if bare.Handfuls < 0.5 || 2*bare.Handfuls != float64(int(2*bare.Handfuls)) {
		t.Errorf("add %g handfuls", bare.Handfuls)
	}
	if !strings.HasPrefix(bare.Reason, "no leaves logged yet, ") {
		t.Errorf("because %q", bare.Reason)
	}
	added := the(t, husbandry.ChoreLeaves, setUp{entries: []husbandry.Entry{
		{At: back(day), What: husbandry.Leaves, Leaves: "bare"}, {At: back(day), What: husbandry.AddLeaves, Handfuls: 3}}})
	if !added.Due.After(bare.Due.Add(5*day)) || !strings.HasPrefix(added.Reason, "leaves added 24 h ago, ") {
		t.Errorf("three handfuls added, due %v because %q", added.Due, added.Reason)
	}
	large := the(t, husbandry.ChoreLeaves, setUp{
		bin:     func(bin *husbandry.Bin) { bin.LengthMM, bin.WidthMM = 680, 400 },
		entries: []husbandry.Entry{{At: back(day), What: husbandry.Leaves, Leaves: "bare"}}})
	if large.Handfuls < 2*bare.Handfuls {
		t.Errorf("%g handfuls over four times the area, %g over one", large.Handfuls, bare.Handfuls)
	}
}
