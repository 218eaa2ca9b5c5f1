package chores

import (
	"testing"
	"time"

	"underlog/internal/husbandry"
)

// Leftovers: the day after (common practice, no source), sooner where mould is
// likely sooner, and again until nothing lies.
func TestWhenToLookAtLeftovers(t *testing.T) {
	f := back(30 * time.Hour)
	// After a look at 26 h that found it clean.
	soonest, nextLook := (26+soonestHours)*time.Hour, (26+nextLookHours)*time.Hour
	taken := looked("f", f.Add(26*time.Hour), "some left", "none")
	taken.Removed = true
	for name, c := range map[string]struct {
		entries []husbandry.Entry
		first   time.Duration // due after feeding: no sooner
		last    time.Duration // and no later; nothing is to be looked at if 0
		reason  string
	}{
		"carrot keeps: the day after": {[]husbandry.Entry{fed("f", f, "carrot")}, 24 * time.Hour, 24 * time.Hour, ""},
		"firm and clean: a next look": {
			[]husbandry.Entry{fed("f", f, "carrot"), looked("f", f.Add(26*time.Hour), "some left", "none")}, soonest, nextLook, ""},
		"mould left in": {
			[]husbandry.Entry{fed("f", f, "carrot"), looked("f", f.Add(26*time.Hour), "some left", "specks")}, 38 * time.Hour, 38 * time.Hour,
			"carrot left in with mould (specks) 4 h ago"},
		"mould that was none": {
			[]husbandry.Entry{fed("f", f, "carrot"), looked("f", f.Add(20*time.Hour), "some left", "specks"), looked("f", f.Add(26*time.Hour), "some left", "none")},
			soonest, nextLook, ""},
		"all gone":                {[]husbandry.Entry{fed("f", f, "carrot"), looked("f", f.Add(26*time.Hour), "all gone", "")}, 0, 0, ""},
		"taken out":               {[]husbandry.Entry{fed("f", f, "carrot"), taken}, 0, 0, ""},
		"what stays in":           {[]husbandry.Entry{fed("f", f, "cuttlebone")}, 0, 0, ""},
		"gone with the substrate": {[]husbandry.Entry{fed("f", f, "carrot"), {At: f.Add(time.Hour), What: husbandry.Renew}}, 0, 0, ""},
		"forgotten":               {[]husbandry.Entry{fed("f", back(22*day), "carrot")}, 0, 0, ""},
		"a look at another feeding": {
			[]husbandry.Entry{fed("f", f, "carrot"), looked("other", f.Add(26*time.Hour), "all gone", "")}, 24 * time.Hour, 24 * time.Hour, ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := setUp{entries: c.entries}
			if c.last == 0 {
				if found := all(s.make(), husbandry.ChoreLeftovers); len(found) > 0 {
					t.Fatalf("to be looked at: %+v", found)
				}
				return
			}
			chore := the(t, husbandry.ChoreLeftovers, s)
			if chore.Of != "f" || chore.Due.Before(f.Add(c.first-time.Minute)) || chore.Due.After(f.Add(c.last+time.Minute)) {
				t.Errorf("of %s, due %v after feeding, want %v to %v", chore.Of, chore.Due.Sub(f), c.first, c.last)
			}
			if c.reason != "" && chore.Reason != c.reason {
				t.Errorf("because %q, want %q", chore.Reason, c.reason)
			}
		})
	}
}

// What moulds sooner is looked at sooner, and each feeding for itself.
func TestEachFeedingIsLookedAt(t *testing.T) {
	f := back(2 * time.Hour)
	r := setUp{entries: []husbandry.Entry{fed("f", f, "banana"), fed("g", f, "carrot")}}.make()
	due := map[string]husbandry.Chore{}
	for _, c := range all(r, husbandry.ChoreLeftovers) {
		due[c.Of] = c
	}
	if len(due) != 2 || due["f"].Odds <= due["g"].Odds {
		t.Errorf("banana %+v, carrot %+v", due["f"], due["g"])
	}
	// Odds rise while it lies.
	r.At(evening.Add(4 * time.Hour))
	for _, c := range all(r, husbandry.ChoreLeftovers) {
		if c.Odds <= due[c.Of].Odds || !c.Due.Equal(due[c.Of].Due) {
			t.Errorf("four hours later %+v, before %+v", c, due[c.Of])
		}
	}
}

// Mould does not wait for the day after where nothing holds it up.
func TestMouldBringsTheLookForward(t *testing.T) {
	cooked := fed("f", back(time.Hour), "banana")
	cooked.Cooked = true
	chore := the(t, husbandry.ChoreLeftovers, setUp{
		bin: func(bin *husbandry.Bin) { bin.Springtails = false }, entries: []husbandry.Entry{cooked}})
	if !chore.Due.Before(cooked.At.Add(24*time.Hour - 10*time.Minute)) {
		t.Errorf("cooked banana without springtails is due %v after feeding", chore.Due.Sub(cooked.At))
	}
}

// A room where every banana moulds by the next morning says so of the next one.
func TestMouldTeachesTheRoom(t *testing.T) {
	at := func(days int) time.Time { return back(time.Duration(days) * day).Add(-time.Hour) }
	var entries []husbandry.Entry
	for days := 60; days > 4; days -= 4 {
		id := at(days).Format(time.DateOnly)
		look := looked(id, at(days).Add(16*time.Hour), "some left", "furry")
		look.Removed = true
		entries = append(entries, fed(id, at(days), "banana"), look)
	}
	next := fed("next", back(time.Hour), "banana")
	taught := the(t, husbandry.ChoreLeftovers, setUp{entries: append(entries, next)})
	alone := the(t, husbandry.ChoreLeftovers, setUp{entries: []husbandry.Entry{next}})
	if !taught.Due.Before(alone.Due.Add(-time.Hour)) {
		t.Errorf("due %v where all moulded within 16 h, %v elsewhere", taught.Due, alone.Due)
	}
}
