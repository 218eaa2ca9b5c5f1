package store

import (
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// The collections beside those of the sheets, which are named like their sorts.
const (
	People     = "people"
	Logs       = "logs" // entries
	Chores     = "chores"
	Devices    = "devices"
	Deliveries = "deliveries"
	Sensors    = "sensors"
	Keys       = "keys"
)

// Roles of people.
const (
	Owner  = "owner"
	Helper = "helper"
)

// Who may read. There is no rule for writing: records come in through the
// exchange and through routes of their own, where more is checked than a rule
// can say.
var (
	members = types.Pointer(`@request.auth.collectionName = "people"`)
	owners  = types.Pointer(`@request.auth.collectionName = "people" && @request.auth.role = "owner"`)
	// owner or the person whose device it is
	ofDevice = types.Pointer(`@request.auth.collectionName = "people" && (person = @request.auth.id || @request.auth.role = "owner")`)
	nobody   *string
)

func init() {
	core.AppMigrations.Register(createCollections, nil, "1_household.go")
}

func createCollections(app core.App) error {
	collections := []*core.Collection{peopleCollection(), logsCollection()}
	for _, sort := range husbandry.SheetSorts() {
		collections = append(collections, sheetCollection(sort))
	}
	collections = append(collections, choresCollection(), sensorsCollection(), keysCollection())
	for _, collection := range collections {
		if err := app.Save(collection); err != nil {
			return err
		}
	}
	people, err := app.FindCollectionByNameOrId(People)
	if err != nil {
		return err
	}
	devices := devicesCollection(people.Id)
	if err := app.Save(devices); err != nil {
		return err
	}
	if err := app.Save(deliveriesCollection(devices.Id)); err != nil {
		return err
	}
	if _, err := app.DB().NewQuery(`CREATE TABLE feed (
		seq INTEGER PRIMARY KEY AUTOINCREMENT, sort TEXT NOT NULL, record TEXT NOT NULL)`).Execute(); err != nil {
		return err
	}
	if err := saveSettings(app); err != nil {
		return err
	}
	// PocketBase's stock collection for accounts: ours is people. Without a
	// field for files there is no folder to tidy up, which would be done in a
	// goroutine that reads the settings while later migrations write them.
	if users, err := app.FindCollectionByNameOrId("users"); err == nil {
		users.Fields.RemoveByName("avatar")
		return app.Delete(users)
	}
	return nil
}

// saveSettings closes what PocketBase leaves open: nobody's address is
// logged, and guessing passwords is slow. The exchange has its own rule, or
// the general one would throttle a phone that comes back after a month.
func saveSettings(app core.App) error {
	settings := app.Settings()
	settings.Meta.AppName = "Underlog"
	settings.Logs.LogIP = false
	settings.RateLimits.Enabled = true
	settings.RateLimits.Rules = []core.RateLimitRule{
		{Label: "*:auth", MaxRequests: 10, Duration: 60},
		{Label: "POST /api/underlog/exchange", MaxRequests: 1200, Duration: 10},
		{Label: "/api/", MaxRequests: 300, Duration: 10},
	}
	return app.Save(settings)
}

// base makes a collection whose ids may be made on a device. The pattern is
// the stock one on purpose: with any other PocketBase looks ids up without
// the index.
func base(name string, reads *string, fields ...core.Field) *core.Collection {
	collection := core.NewBaseCollection(name)
	collection.ListRule, collection.ViewRule = reads, reads
	openID(collection)
	collection.Fields.Add(fields...)
	return collection
}

func openID(collection *core.Collection) {
	id := collection.Fields.GetByName("id").(*core.TextField)
	id.Min, id.Max = 15, 32
}

func peopleCollection() *core.Collection {
	collection := core.NewAuthCollection(People)
	collection.ListRule, collection.ViewRule = members, members
	openID(collection)
	collection.Fields.Add(
		&core.TextField{Name: "username", Required: true, Min: 1, Max: 80},
		&core.TextField{Name: "name", Required: true, Min: 1, Max: 80, Presentable: true},
		&core.SelectField{Name: "role", Required: true, MaxSelect: 1, Values: []string{Owner, Helper}},
		&core.AutodateField{Name: "created", OnCreate: true},
	)
	collection.Fields.GetByName("email").(*core.EmailField).Required = false
	collection.AddIndex("idx_people_username", true, "username", "")
	collection.PasswordAuth.IdentityFields = []string{"username"}
	collection.AuthAlert.Enabled = false
	// A phone that was in a drawer for a season should not have to sign in anew.
	collection.AuthToken.Duration = 180 * 24 * 3600
	return collection
}

// sheetCollection makes a table that a person can read and edit in the
// dashboard from the same rules that check a record.
func sheetCollection(sort string) *core.Collection {
	collection := base(sort, members)
	for _, rule := range husbandry.SheetFields(sort) {
		collection.Fields.Add(column(rule, rule.Name == "name"))
	}
	collection.Fields.Add(&core.JSONField{Name: stampedColumn, MaxSize: 1 << 20})
	return collection
}

// stampedColumn holds the sheet itself, every field with its stamp; the other
// columns are its values for reading and editing.
const stampedColumn = "stamped"

func column(rule husbandry.Field, presentable bool) core.Field {
	switch rule.Type {
	case husbandry.Number, husbandry.Whole:
		return &core.NumberField{Name: rule.Name, OnlyInt: rule.Type == husbandry.Whole}
	case husbandry.Truth:
		return &core.BoolField{Name: rule.Name}
	case husbandry.Word:
		return &core.SelectField{Name: rule.Name, MaxSelect: 1, Values: rule.Words}
	case husbandry.List:
		return &core.JSONField{Name: rule.Name, MaxSize: 1 << 16}
	default:
		return &core.TextField{Name: rule.Name, Max: int(rule.Max), Presentable: presentable}
	}
}

// logsCollection has a column for every field of every entry. The raw column
// is the entry as it was stored, which is what a second arrival is compared
// with; the others are there to be read. A missing temperature is not 0 °C,
// so readings of the air are JSON columns, which know null.
func logsCollection() *core.Collection {
	collection := base(Logs, members,
		&core.DateField{Name: "at", Required: true},
		&core.SelectField{Name: "what", Required: true, MaxSelect: 1, Values: husbandry.Whats()},
	)
	for _, name := range entryColumns {
		collection.Fields.Add(entryColumn(name))
	}
	collection.Fields.Add(&core.JSONField{Name: "raw", MaxSize: 1 << 16})
	collection.AddIndex("idx_logs_bin_at", false, "bin, at", "")
	collection.AddIndex("idx_logs_at", false, "at", "")
	collection.AddIndex("idx_logs_of", false, "`of`", "`of` != ''")
	collection.AddIndex("idx_logs_struck", false, "struck", "struck != ''")
	return collection
}

// entryColumns are the columns of logs beside id, at, what and raw, in the
// order in which values writes them.
var entryColumns = []string{"bin", "by", "device", "feel", "water_ml", "food", "pieces", "side", "cooked", "of", "left",
	"mould", "removed", "leaves", "handfuls", "batch", "substrate", "mix", "item", "found", "used", "added", "temperature_c", "humidity_pct", "struck", "photo", "note",
	"seen", "count", "place", "rim", "mesh", "lid"}

func entryColumn(name string) core.Field {
	if name == "temperature_c" || name == "humidity_pct" {
		return &core.JSONField{Name: name, MaxSize: 32}
	}
	for _, what := range husbandry.Whats() {
		for _, rule := range husbandry.EntryFields(what) {
			if rule.Name == name {
				return column(rule, false)
			}
		}
	}
	panic("store: no entry has a field " + name) // a slip in this file
}

func choresCollection() *core.Collection {
	collection := base(Chores, members,
		&core.TextField{Name: "bin", Required: true},
		&core.SelectField{Name: "chore", Required: true, MaxSelect: 1, Values: husbandry.ChoreSorts},
		&core.TextField{Name: "of"}, &core.TextField{Name: "food"},
		&core.DateField{Name: "opens"}, &core.DateField{Name: "due"}, &core.DateField{Name: "closes"},
		&core.NumberField{Name: "dose_ml"}, &core.NumberField{Name: "handfuls"}, &core.NumberField{Name: "odds"},
		&core.TextField{Name: "reason", Max: 500},
	)
	collection.AddIndex("idx_chores_due", false, "due", "")
	return collection
}

func devicesCollection(people string) *core.Collection {
	collection := base(Devices, ofDevice,
		&core.RelationField{Name: "person", CollectionId: people, MaxSelect: 1, CascadeDelete: true},
		&core.TextField{Name: "device", Required: true}, // as entries name it
		&core.TextField{Name: "label", Max: 80, Presentable: true},
		&core.TextField{Name: "endpoint", Max: 2000, Hidden: true},
		&core.TextField{Name: "p256dh", Max: 200, Hidden: true},
		&core.TextField{Name: "auth", Max: 100, Hidden: true},
		&core.TextField{Name: "quiet_from", Max: 5}, // 22:00
		&core.TextField{Name: "quiet_to", Max: 5},   // 08:00
		&core.DateField{Name: "seen_at"}, &core.DateField{Name: "subscribed_at"}, &core.DateField{Name: "sent_at"},
		&core.NumberField{Name: "status", OnlyInt: true},
	)
	collection.AddIndex("idx_devices_person", true, "person, device", "")
	return collection
}

func deliveriesCollection(devices string) *core.Collection {
	collection := base(Deliveries, nobody,
		&core.TextField{Name: "chore", Required: true}, // which instance of a chore
		&core.RelationField{Name: "device", CollectionId: devices, MaxSelect: 1, Required: true, CascadeDelete: true},
		&core.TextField{Name: "bin"}, &core.TextField{Name: "of"}, &core.TextField{Name: "food"},
		&core.SelectField{Name: "state", MaxSelect: 1, Values: DeliveryStates},
		&core.DateField{Name: "due"}, &core.DateField{Name: "until"}, &core.DateField{Name: "next_at"}, &core.DateField{Name: "sent_at"},
		&core.NumberField{Name: "attempts", OnlyInt: true}, &core.NumberField{Name: "status", OnlyInt: true},
		&core.TextField{Name: "answer", Max: 500},
	)
	collection.AddIndex("idx_deliveries_once", true, "chore, device", "")
	collection.AddIndex("idx_deliveries_next", false, "state, next_at", "")
	return collection
}

func sensorsCollection() *core.Collection {
	collection := base(Sensors, owners,
		&core.TextField{Name: "name", Required: true, Max: 80, Presentable: true},
		&core.TextField{Name: "bin"}, // empty: the room's air
		&core.TextField{Name: "hash", Required: true, Hidden: true},
		&core.DateField{Name: "seen_at"},
		&core.AutodateField{Name: "created", OnCreate: true},
	)
	collection.AddIndex("idx_sensors_hash", true, "hash", "")
	return collection
}

func keysCollection() *core.Collection {
	collection := base(Keys, nobody,
		&core.TextField{Name: "name", Required: true, Presentable: true},
		&core.TextField{Name: "value", Hidden: true, Max: 2000},
	)
	collection.AddIndex("idx_keys_name", true, "name", "")
	return collection
}
