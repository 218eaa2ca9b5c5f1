package chores

import (
	"testing"
	"time"

	"underlog/internal/husbandry"
)

func checkedFor(at time.Time, rim, mesh, lid string) husbandry.Entry {
	return husbandry.Entry{At: at, What: husbandry.Escape, Rim: rim, Mesh: mesh, Lid: lid}
}

func TestEscapeCheck(t *testing.T) {
	leaves := func(ago time.Duration) husbandry.Entry {
		return husbandry.Entry{At: back(ago), What: husbandry.AddLeaves, Handfuls: 2}
	}
	outside := func(ago time.Duration) husbandry.Entry {
		return husbandry.Entry{At: back(ago), What: husbandry.Seen, Seen: husbandry.SeenEscaped, Count: 2, Place: "floor"}
	}
	tight := func(ago time.Duration) husbandry.Entry { return checkedFor(back(ago), "clear", "whole", "shut") }
	climbs := func(b *husbandry.Bin) { b.Kind = "porcellio-scaber" }
	stays := func(b *husbandry.Bin) { b.Kind = "porcellio-haasi" }
	tests := []struct {
		name    string
		bin     func(*husbandry.Bin)
		entries []husbandry.Entry
		code    string // none: no chore
		due     time.Time
	}{
		{"nothing ever came in", climbs, []husbandry.Entry{felt(back(day), "damp")}, "", time.Time{}},
		{"leaves long ago, never checked", climbs, []husbandry.Entry{leaves(40 * day)}, "", time.Time{}},
		{"leaves, a climber", climbs, []husbandry.Entry{leaves(2 * time.Hour)}, husbandry.WhyRamp, back(-22 * time.Hour)},
		{"leaves, no climber", stays, []husbandry.Entry{leaves(2 * time.Hour)}, husbandry.WhyRamp, back(-70 * time.Hour)},
		{"wood", climbs, []husbandry.Entry{{At: back(time.Hour), What: husbandry.AddWood}}, husbandry.WhyRamp, back(-23 * time.Hour)},
		{"checked since", climbs, []husbandry.Entry{leaves(2 * time.Hour), tight(time.Hour)}, husbandry.WhyUnchecked, back(time.Hour).Add(30 * day)},
		{"checked, no climber", stays, []husbandry.Entry{tight(time.Hour)}, husbandry.WhyUnchecked, back(time.Hour).Add(120 * day)},
		{"found outside", stays, []husbandry.Entry{tight(5 * day), outside(time.Hour)}, husbandry.WhyEscaped, back(time.Hour)},
		{"a way out was found", stays, []husbandry.Entry{checkedFor(back(5*time.Hour), "clear", "torn", "shut")}, husbandry.WhyWayOut, back(-19 * time.Hour)},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := setUp{bin: test.bin, entries: test.entries}
			if test.code == "" {
				if found := all(s.make(), husbandry.ChoreEscape); len(found) != 0 {
					t.Errorf("asks: %s", found[0].Reason)
				}
				return
			}
			chore := the(t, husbandry.ChoreEscape, s)
			if chore.Why.Code != test.code {
				t.Errorf("because %s, want %s", chore.Why.Code, test.code)
			}
			near(t, "due", chore.Due, test.due, time.Minute)
		})
	}
}

// What was found raises the odds, and brings the next look nearer.
func TestWhatWasFoundRaisesTheOdds(t *testing.T) {
	climbs := func(b *husbandry.Bin) { b.Kind = "porcellio-scaber" }
	quiet := the(t, husbandry.ChoreEscape, setUp{bin: climbs, entries: []husbandry.Entry{
		checkedFor(back(60*day), "clear", "whole", "shut"), checkedFor(back(day), "clear", "whole", "shut")}})
	found := the(t, husbandry.ChoreEscape, setUp{bin: climbs, entries: []husbandry.Entry{
		checkedFor(back(60*day), "ramp", "whole", "shut"), {At: back(50 * day), What: husbandry.Seen, Seen: husbandry.SeenEscaped},
		checkedFor(back(day), "clear", "whole", "shut")}})
	other := the(t, husbandry.ChoreEscape, setUp{bin: func(b *husbandry.Bin) { b.Kind = "porcellio-haasi" }, entries: []husbandry.Entry{
		checkedFor(back(day), "clear", "whole", "shut")}})
	if !(found.Odds > quiet.Odds && quiet.Odds > other.Odds) {
		t.Errorf("odds %.3f after findings, %.3f of a climber, %.3f of another", found.Odds, quiet.Odds, other.Odds)
	}
	if !found.Due.Before(quiet.Due) {
		t.Errorf("next look %v after findings, %v without", found.Due, quiet.Due)
	}
}
