// Package trial sends the forecaster on rounds through simulated rooms
// (package roomsim) that share nothing with it, and reports what it is worth:
// lids opened, needless openings, hours felt dry, at risk and swamped, beside
// fixed routines and an oracle that sees the true level.
package trial

import (
	"encoding/json"
	"fmt"
	"time"

	"underlog/internal/engine"
	"underlog/internal/husbandry"
	"underlog/internal/roomsim"
)

// A Tool is a keeper who opens just the bins that the forecaster asks for:
// those whose damp side is due to be felt before the next evening, and pours
// the dose that the forecaster names for what was felt. It knows what the
// book says and nothing else. Take a new one for each season.
type Tool struct {
	// Look is how far ahead of an evening a chore must be due to be done then.
	Look time.Duration

	engine *engine.Engine
	taken  int // entries of the view that the engine has
}

// NewTool returns a Tool that goes round every evening.
func NewTool() *Tool { return &Tool{Look: 24 * time.Hour} }

// Plan implements roomsim.Keeper.
func (t *Tool) Plan(now time.Time, view roomsim.View) []roomsim.Visit {
	t.read(view)
	var visits []roomsim.Visit
	for _, chore := range t.engine.Survey(now).Chores {
		if chore.Chore == husbandry.ChoreFeel && chore.Due.Before(now.Add(t.Look)) {
			visits = append(visits, roomsim.Visit{Bin: chore.Bin, Water: func(feel string) float64 {
				return chore.DoseIfML[feel]
			}})
		}
	}
	return visits
}

// NextLook implements roomsim.LookPlanner: when the chore to look at the
// leftovers is due.
func (t *Tool) NextLook(feeding roomsim.Entry, looks []roomsim.Entry, view roomsim.View) time.Time {
	t.read(view)
	for _, chore := range t.engine.Survey(view.Now).Chores {
		if chore.Chore == husbandry.ChoreLeftovers && chore.Of == feeding.ID {
			return chore.Due
		}
	}
	return view.Now.Add(24 * time.Hour)
}

// read puts what is new in the view into the engine, by the same JSON that a
// book is made of.
func (t *Tool) read(view roomsim.View) {
	if t.engine == nil {
		t.engine = engine.New()
		t.engine.Put(husbandry.Seeds(), nil)
		for _, described := range view.Bins {
			var bin husbandry.Bin
			convert(described, &bin)
			sheet, err := husbandry.NewSheet("bins", bin, husbandry.SeedStamp)
			if err != nil {
				panic(err)
			}
			t.engine.Put([]husbandry.Sheet{sheet}, nil)
		}
	}
	fresh := make([]husbandry.Entry, 0, len(view.Entries)-t.taken)
	for _, seen := range view.Entries[t.taken:] {
		var entry husbandry.Entry
		convert(seen, &entry)
		fresh = append(fresh, entry)
	}
	t.engine.Put(nil, fresh)
	t.taken = len(view.Entries)
}

func convert(from, to any) {
	raw, err := json.Marshal(from)
	if err == nil {
		err = json.Unmarshal(raw, to)
	}
	if err != nil {
		panic(fmt.Sprintf("trial: the simulator's records are not the book's: %v", err))
	}
}
