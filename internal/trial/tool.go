// Package trial sends the forecaster on rounds through simulated rooms
// (package roomsim) that share nothing with it, and reports what it is worth:
// lids opened, needless openings, hours felt dry, at risk and swamped, beside
// fixed routines and an oracle that sees the true level.
//
// Its benchmark prints the whole report, on rooms and seeds that no constant
// was tuned on:
//
//	go test -run xxx -bench Policy ./internal/trial
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
	// Tolerance, if not 0, opens a bin not when it is due but when the damp
	// side feels dry at the end of Look with these odds.
	Tolerance float64
	// Plain pours the one dose that a chore names, and only on dry or barely.
	Plain bool

	engine *engine.Engine
	taken  map[string]bool // entries that the engine has, by ID
}

// NewTool returns a Tool that goes round every evening.
func NewTool() *Tool { return &Tool{Look: 24 * time.Hour} }

// Plan implements roomsim.Keeper.
func (t *Tool) Plan(now time.Time, view roomsim.View) []roomsim.Visit {
	t.read(view)
	survey := t.engine.Survey
	if t.Tolerance > 0 {
		survey = t.engine.SurveyWithForecasts
	}
	var visits []roomsim.Visit
	for _, chore := range survey(now).Chores {
		if chore.Chore == husbandry.ChoreFeel && t.opens(chore, now) {
			visits = append(visits, roomsim.Visit{Bin: chore.Bin, Water: func(feel string) float64 { return t.dose(chore, feel) }})
		}
	}
	return visits
}

func (t *Tool) opens(chore husbandry.Chore, now time.Time) bool {
	until := now.Add(t.Look)
	if t.Tolerance == 0 || len(chore.Forecast) == 0 {
		return chore.Due.Before(until)
	}
	odds := 0.0
	for _, point := range chore.Forecast {
		if !point.At.After(until) {
			odds = *point.Dry
		}
	}
	return odds >= t.Tolerance
}

func (t *Tool) dose(chore husbandry.Chore, feel string) float64 {
	if dose, named := chore.DoseIfML[feel]; named && !t.Plain {
		return dose
	}
	if feel == husbandry.FeelWords[0] || feel == husbandry.FeelWords[1] {
		return chore.DoseML
	}
	return 0
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
		t.engine, t.taken = engine.New(), map[string]bool{}
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
	var fresh []husbandry.Entry
	for _, seen := range view.Entries {
		if t.taken[seen.ID] {
			continue
		}
		t.taken[seen.ID] = true
		var entry husbandry.Entry
		convert(seen, &entry)
		fresh = append(fresh, entry)
	}
	t.engine.Put(nil, fresh)
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
