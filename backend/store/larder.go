package store

import (
	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

// LarderSorts are the collections of what the larder holds.
var LarderSorts = []string{"batches", "mixes", "stock", "supplies"}

func init() {
	core.AppMigrations.Register(addLarder, nil, "8_larder.go")
}

// addLarder adds the larder to a folder from before it: its collections, what
// entries say of them, and the indexes by which both are traced.
func addLarder(app core.App) error {
	for _, sort := range LarderSorts {
		if known, _ := app.FindCollectionByNameOrId(sort); known == nil {
			if err := app.Save(sheetCollection(sort)); err != nil {
				return err
			}
		}
	}
	logs, err := app.FindCollectionByNameOrId(Logs)
	if err != nil {
		return err
	}
	logs.Fields.GetByName("what").(*core.SelectField).Values = husbandry.Whats()
	for _, name := range []string{"item", "found", "used", "added"} {
		if logs.Fields.GetByName(name) == nil {
			logs.Fields.Add(entryColumn(name))
		}
	}
	for _, name := range []string{"batch", "mix", "item"} {
		logs.AddIndex("idx_logs_"+name, false, name, name+" != ''")
	}
	return app.Save(logs)
}
