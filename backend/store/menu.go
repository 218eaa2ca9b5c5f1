package store

import (
	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

func init() {
	core.AppMigrations.Register(addMenu, nil, "9_menu.go")
}

// addMenu adds what the rota goes by to a folder from before it: what a serving
// is, a bin's own meals a week, how long calcium lasts.
func addMenu(app core.App) error {
	for _, sort := range []string{"foods", "bins", "rooms"} {
		collection, err := app.FindCollectionByNameOrId(sort)
		if err != nil {
			return err
		}
		for _, rule := range husbandry.SheetFields(sort) {
			switch known := collection.Fields.GetByName(rule.Name).(type) {
			case nil:
				collection.Fields.Add(column(rule, false))
			case *core.SelectField:
				known.Values = rule.Words
			}
		}
		if err := app.Save(collection); err != nil {
			return err
		}
	}
	return nil
}
