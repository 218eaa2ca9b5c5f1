package store

import (
	"fmt"

	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

func init() {
	core.AppMigrations.Register(widenKinds, nil, "9_kinds.go")
}

// widenKinds lets a kind say more, each value with its source, and an entry
// what was seen in a bin and whether there is a way out of it.
func widenKinds(app core.App) error {
	kinds, err := app.FindCollectionByNameOrId("kinds")
	if err != nil {
		return err
	}
	for _, rule := range husbandry.SheetFields("kinds") {
		if kinds.Fields.GetByName(rule.Name) == nil {
			kinds.Fields.Add(column(rule, false))
		}
	}
	if err := app.Save(kinds); err != nil {
		return err
	}
	logs, err := app.FindCollectionByNameOrId(Logs)
	if err != nil {
		return err
	}
	logs.Fields.GetByName("what").(*core.SelectField).Values = husbandry.Whats()
	for _, name := range entryColumns {
		if logs.Fields.GetByName(name) == nil {
			logs.Fields.Add(entryColumn(name))
		}
	}
	if err := app.Save(logs); err != nil {
		return err
	}
	for _, name := range []string{Chores, Windows} {
		collection, err := app.FindCollectionByNameOrId(name)
		if err != nil {
			return err
		}
		collection.Fields.GetByName("chore").(*core.SelectField).Values = husbandry.ChoreSorts
		if err := app.Save(collection); err != nil {
			return err
		}
	}
	return nil
}

// RenewSeeds offers a household that began with an older version what ships
// with this one. Where somebody has edited, the edit stays.
func (s *Store) RenewSeeds() error {
	empty, err := s.Empty(s.App)
	if err != nil || empty {
		return err
	}
	raws, err := Raws(husbandry.Seeds())
	if err != nil {
		return err
	}
	receipt, err := s.Put(Author{Role: Owner}, raws, nil)
	if err != nil {
		return err
	}
	for _, verdict := range receipt.Verdicts {
		if verdict.Verdict == Refused {
			return fmt.Errorf("store: the seed %s: %v", verdict.ID, verdict.Problems)
		}
	}
	return nil
}
