package store

import (
	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

// Trips is the collection of times away.
const Trips = "trips"

func init() {
	core.AppMigrations.Register(addTrips, nil, "6_trips.go")
}

// addTrips adds what came with trips to a folder from before them: their
// collection, and the chore of getting a bin ready.
func addTrips(app core.App) error {
	if known, _ := app.FindCollectionByNameOrId(Trips); known == nil {
		if err := app.Save(sheetCollection(Trips)); err != nil {
			return err
		}
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
