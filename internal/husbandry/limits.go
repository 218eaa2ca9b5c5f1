package husbandry

// Limits is every rule in a form that the app's build reads, so that a form
// knows the bounds of its fields before the engine has loaded.
type Limits struct {
	Entries map[string][]Field `json:"entries"`
	Sheets  map[string][]Field `json:"sheets"`
	Opening []Field            `json:"opening"`
	Part    []Field            `json:"part"`
	Tub     Bin                `json:"tub"`
	Room    Room               `json:"room"`
	Trip    Trip               `json:"trip"`
	Photos  PhotoBounds        `json:"photos"`

	AlertFields []Field       `json:"alert_fields"`
	Alerts      AlertSettings `json:"alerts"` // of a new device
}

// AllLimits returns the rules of every record, and the defaults.
func AllLimits() Limits {
	limits := Limits{
		Entries: map[string][]Field{}, Sheets: map[string][]Field{},
		Opening: openingFields("round"), Part: partFields, Tub: CommonTub(), Room: UsualRoom(), Trip: UsualTrip(),
		Photos:      Photos(),
		AlertFields: AlertFields(), Alerts: UsualAlerts(),
	}
	for _, what := range Whats() {
		limits.Entries[what] = EntryFields(what)
	}
	for _, sort := range SheetSorts() {
		limits.Sheets[sort] = SheetFields(sort)
	}
	return limits
}
