package engine_test

import (
	"slices"
	"testing"
	"time"

	"underlog/internal/engine"
	"underlog/internal/example"
	"underlog/internal/husbandry"
)

// The example room shows a healthy household: hardly a bin is told of. The
// answer for one bin is that of the room.
func TestTroubleOfTheExampleRoom(t *testing.T) {
	at := time.Date(2026, 11, 25, 19, 0, 0, 0, time.UTC)
	b := example.Book(at, "metric")
	e := engine.New()
	e.Put(append(husbandry.Seeds(), b.Sheets...), b.Entries)
	all := e.Trouble("", at)
	for _, one := range all {
		for _, f := range one.Findings {
			t.Logf("%s: %s, %g, since %s", one.Bin, f.Rule, f.Count, f.Since.Format(time.DateOnly))
		}
	}
	if len(all) > 6 {
		t.Errorf("%d of 24 bins are in trouble", len(all))
	}
	wants := 0
	for _, chore := range e.Survey(at).Chores {
		if chore.Chore == husbandry.ChoreEscape && !chore.Due.After(at) {
			wants++
		}
	}
	if wants > 4 {
		t.Errorf("%d bins want a look for ways out on one evening", wants)
	}

	// An escape leads to trouble only if it comes again, and to a check at once.
	bin := e.Survey(at).Glances[0].Bin
	seen := husbandry.Entry{ID: "out1", Bin: bin, At: at.Add(-time.Hour), What: husbandry.Seen, Seen: husbandry.SeenEscaped, Count: 1}
	again := seen
	again.ID, again.At = "out2", at.Add(-50*time.Hour)
	holds := func() bool {
		found := e.Trouble(bin, at)
		return len(found) > 0 && slices.ContainsFunc(found[0].Findings, func(f engine.Finding) bool { return f.Rule == "escapes" })
	}
	e.Put(nil, []husbandry.Entry{seen})
	if holds() {
		t.Error("one escape is trouble")
	}
	e.Put(nil, []husbandry.Entry{again})
	if !holds() {
		t.Error("two escapes are no trouble")
	}
	for _, one := range e.Trouble("", at) {
		alone := e.Trouble(one.Bin, at)
		if len(alone) != 1 || len(alone[0].Findings) != len(one.Findings) {
			t.Errorf("asked alone %s is %v", one.Bin, alone)
		}
	}
}
