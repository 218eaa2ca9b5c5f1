package engine

import (
	"encoding/json"
	"testing"
	"time"

	"underlog/internal/husbandry"
	"underlog/internal/renewal"
)

func mustRenewals(t *testing.T, e *Engine, at time.Time) renewal.Calendar {
	t.Helper()
	cal, err := e.Renewals(at, false)
	if err != nil {
		t.Fatal(err)
	}
	return cal
}

func firstOf(t *testing.T, cal renewal.Calendar, bin string) renewal.Block {
	t.Helper()
	for _, block := range cal.Blocks {
		if block.Bin == bin && block.Nth == 0 {
			return block
		}
	}
	t.Fatalf("%s has no renewal in the year", bin)
	return renewal.Block{}
}

func renewChore(t *testing.T, e *Engine, bin string, at time.Time) husbandry.Chore {
	t.Helper()
	for _, chore := range e.Survey(at).Chores {
		if chore.Bin == bin && chore.Chore == husbandry.ChoreRenew {
			return chore
		}
	}
	t.Fatalf("%s has no renewal among its chores", bin)
	return husbandry.Chore{}
}

// A plan that is kept is what the round goes by, until the renewal is done; the
// calendar has the bin where the plan has it, and young push it back.
func TestTheRoundGoesByThePlanOfRenewals(t *testing.T) {
	e, bin := New(), ""
	sheets, entries := mustExample(t)
	e.Put(sheets, entries)
	at := today.Add(2 * time.Hour)
	cal := mustRenewals(t, e, at)
	if cal.Fullest != 1 {
		t.Errorf("%d renewals in a week of two dozen bins, want 1", cal.Fullest)
	}
	bin = cal.Blocks[0].Bin
	if why := renewChore(t, e, bin, at).Why.Code; why == husbandry.WhyPlanned {
		t.Fatalf("%s is planned though nobody kept a plan", bin)
	}

	week := 8
	on, err := json.Marshal(cal.Weeks[week].Format(time.DateOnly))
	if err != nil {
		t.Fatal(err)
	}
	stamp := husbandry.NextStamp(at, "d", "")
	e.Put([]husbandry.Sheet{{Sheet: "bins", ID: bin, Fields: map[string]husbandry.Stamped{
		"renew_on": {Value: on, Stamp: stamp}, "renew_moved": {Value: json.RawMessage("true"), Stamp: stamp},
	}}}, nil)
	chore := renewChore(t, e, bin, at)
	if chore.Why.Code != husbandry.WhyPlanned || !chore.Opens.Equal(cal.Weeks[week]) {
		t.Errorf("the round has it from %v for %q, want from %v as planned", chore.Opens, chore.Why.Code, cal.Weeks[week])
	}
	if block := firstOf(t, mustRenewals(t, e, at), bin); block.Week != week || !block.Moved {
		t.Errorf("the calendar has it in week %d (moved %v), want where a hand put it", block.Week, block.Moved)
	}

	e.Put(nil, []husbandry.Entry{{ID: "done", Bin: bin, What: husbandry.Renew, At: cal.Weeks[week].Add(18 * time.Hour)}})
	later := cal.Weeks[week].Add(20 * time.Hour)
	if chore := renewChore(t, e, bin, later); chore.Why.Code == husbandry.WhyPlanned || chore.Due.Before(later) {
		t.Errorf("it is done, and wanted again on %v for %q", chore.Due, chore.Why.Code)
	}
}

func TestYoungPushTheRenewalBack(t *testing.T) {
	e := New()
	sheets, entries := mustExample(t)
	e.Put(sheets, entries)
	at := today.Add(2 * time.Hour)
	soon := mustRenewals(t, e, at).Blocks[0]
	if soon.Week > 1 {
		t.Fatalf("the first renewal of the example is in week %d: this test needs one that is near", soon.Week)
	}
	e.Put(nil, []husbandry.Entry{{ID: "young", Bin: soon.Bin, What: husbandry.Young, At: at.Add(-time.Hour)}})
	if block := firstOf(t, mustRenewals(t, e, at), soon.Bin); block.Week < 2 {
		t.Errorf("young were seen today, and the substrate is renewed in week %d", block.Week)
	}
}
