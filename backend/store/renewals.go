package store

import (
	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

func init() {
	core.AppMigrations.Register(addRenewals, nil, "7_renewals.go")
}

// addRenewals lets a bin say when its renewal is planned, and an entry that
// young were seen.
func addRenewals(app core.App) error {
	logs, err := app.FindCollectionByNameOrId(Logs)
	if err != nil {
		return err
	}
	logs.Fields.GetByName("what").(*core.SelectField).Values = husbandry.Whats()
	if err := app.Save(logs); err != nil {
		return err
	}
	bins, err := app.FindCollectionByNameOrId("bins")
	if err != nil {
		return err
	}
	for _, rule := range husbandry.SheetFields("bins") {
		if bins.Fields.GetByName(rule.Name) == nil {
			bins.Fields.Add(column(rule, false))
		}
	}
	return app.Save(bins)
}
