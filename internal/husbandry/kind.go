package husbandry

import "encoding/json"

// A Kind is a species profile: what a colony usually wants. Every value is a
// starting point that the keeper may edit, and has its source beside it; the
// identity of trade forms is often uncertain, so a bin's line is free text.
type Kind struct {
	ID             string  `json:"id"`
	Slug           string  `json:"slug"`
	Name           string  `json:"name"`
	Animal         string  `json:"animal,omitempty"` // isopod or springtail; empty counts as isopod
	Moisture       string  `json:"moisture"`         // wet, humid, moderate, arid
	Air            string  `json:"air,omitempty"`    // how much a lid should let through
	TemperatureMin float64 `json:"temperature_min_c"`
	TemperatureMax float64 `json:"temperature_max_c"`
	BroodMin       float64 `json:"brood_min,omitempty"`           // young of one brood, eggs of springtails
	BroodMax       float64 `json:"brood_max,omitempty"`           // 0 is unknown, here and below
	BroodDaysMin   float64 `json:"brood_days_min,omitempty"`      // from laying to release or hatching, about 22 °C
	BroodDaysMax   float64 `json:"brood_days_max,omitempty"`      //
	MaturityMin    float64 `json:"maturity_min_months,omitempty"` // from release to breeding
	MaturityMax    float64 `json:"maturity_max_months,omitempty"` //
	Appetite       float64 `json:"appetite"`                      // for protein: 1 little, 2 some, 3 much
	Climbs         bool    `json:"climbs"`                        // readily, out of a bin that gives it a way
	Guards         bool    `json:"guards,omitempty"`              // holds its brood's corner against others
	// Where each value comes from.
	MoistureSource    string `json:"moisture_source,omitempty"`
	AirSource         string `json:"air_source,omitempty"`
	TemperatureSource string `json:"temperature_source,omitempty"`
	BroodSource       string `json:"brood_source,omitempty"`
	BroodDaysSource   string `json:"brood_days_source,omitempty"`
	MaturitySource    string `json:"maturity_source,omitempty"`
	AppetiteSource    string `json:"appetite_source,omitempty"`
	ClimbsSource      string `json:"climbs_source,omitempty"`
	GuardsSource      string `json:"guards_source,omitempty"`
	Source            string `json:"source"` // of the whole, in the keeper's words
	Deleted           bool   `json:"deleted,omitempty"`
}

// Words of a kind's fields.
var (
	AnimalWords   = []string{"isopod", "springtail"}
	MoistureWords = []string{"wet", "humid", "moderate", "arid"}     // from never dry to dry-leaning
	AirWords      = []string{"closed", "little", "moderate", "much"} // a loose lid; few holes; holes; a cut-out and sides
)

var kindFields = []Field{
	{Name: "slug", Type: Ref, Required: true},
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "animal", Type: Word, Words: AnimalWords},
	{Name: "moisture", Type: Word, Words: MoistureWords, Required: true},
	{Name: "air", Type: Word, Words: AirWords},
	{Name: "temperature_min_c", Type: Number, Min: 0, Max: 40, Unit: "°C"},
	{Name: "temperature_max_c", Type: Number, Min: 0, Max: 45, Unit: "°C"},
	{Name: "brood_min", Type: Number, Min: 0, Max: 500},
	{Name: "brood_max", Type: Number, Min: 0, Max: 500},
	{Name: "brood_days_min", Type: Number, Min: 0, Max: 200, Unit: "days"},
	{Name: "brood_days_max", Type: Number, Min: 0, Max: 200, Unit: "days"},
	{Name: "maturity_min_months", Type: Number, Min: 0, Max: 60, Unit: "months"},
	{Name: "maturity_max_months", Type: Number, Min: 0, Max: 60, Unit: "months"},
	{Name: "appetite", Type: Number, Min: 0, Max: 5},
	{Name: "climbs", Type: Truth},
	{Name: "guards", Type: Truth},
	{Name: "moisture_source", Type: Text, Max: 200},
	{Name: "air_source", Type: Text, Max: 200},
	{Name: "temperature_source", Type: Text, Max: 200},
	{Name: "brood_source", Type: Text, Max: 200},
	{Name: "brood_days_source", Type: Text, Max: 200},
	{Name: "maturity_source", Type: Text, Max: 200},
	{Name: "appetite_source", Type: Text, Max: 200},
	{Name: "climbs_source", Type: Text, Max: 200},
	{Name: "guards_source", Type: Text, Max: 200},
	{Name: "source", Type: Text, Max: 500},
}

// kindRanges are the pairs of fields of which the second may not be below the
// first.
var kindRanges = [][2]string{
	{"temperature_min_c", "temperature_max_c"},
	{"brood_min", "brood_max"},
	{"brood_days_min", "brood_days_max"},
	{"maturity_min_months", "maturity_max_months"},
}

// checkKind checks that ranges are the right way round, where both ends are
// given. An unknown end is 0.
func checkKind(flat map[string]json.RawMessage) Problems {
	var problems Problems
	for _, pair := range kindRanges {
		low, known := numberOf(flat[pair[0]])
		high, also := numberOf(flat[pair[1]])
		if known && also && high < low && high != 0 {
			problems = append(problems, Problem{Field: pair[1], Value: plain(high), Accepted: "give at least " + pair[0] + ", " + plain(low)})
		}
	}
	return problems
}

func numberOf(raw json.RawMessage) (x float64, ok bool) {
	return x, !absent(raw) && json.Unmarshal(raw, &x) == nil
}

// IsSpringtail reports whether the kind is a springtail; what says nothing is
// an isopod.
func (k Kind) IsSpringtail() bool { return k.Animal == AnimalWords[1] }

// AsKind types a sheet of the sort "kinds".
func AsKind(s Sheet) (Kind, error) {
	var kind Kind
	return kind, retype(s, &kind)
}
