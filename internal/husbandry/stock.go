package husbandry

import (
	"cmp"
	"strings"
)

// A Stock is food in the larder: what was bought or cut up together.
type Stock struct {
	ID       string  `json:"id"`
	Food     string  `json:"food"`             // slug of a Food
	Amount   float64 `json:"amount,omitempty"` // in Unit, when it came; 0 is not known
	Unit     string  `json:"unit,omitempty"`
	Kept     string  `json:"kept,omitempty"`   // where
	Got      string  `json:"got,omitempty"`    // the day on which it came
	UseBy    string  `json:"use_by,omitempty"` // a day that may lie ahead
	Finished string  `json:"finished,omitempty"`
	Note     string  `json:"note,omitempty"`
	Deleted  bool    `json:"deleted,omitempty"`
}

// Words of a stock's fields.
var (
	StockUnits = []string{"pieces", "grams"}
	KeptWords  = []string{"shelf", "fridge", "freezer"}
)

var stockFields = []Field{
	{Name: "food", Type: Text, Max: 80, Required: true},
	{Name: "amount", Type: Number, Min: 0, Max: 100000},
	{Name: "unit", Type: Word, Words: StockUnits},
	{Name: "kept", Type: Word, Words: KeptWords},
	{Name: "got", Type: Day},
	{Name: "use_by", Type: Date},
	{Name: "finished", Type: Day},
	{Name: "note", Type: Text, Max: 2000},
}

// AsStock types a sheet of the sort "stock".
func AsStock(s Sheet) (Stock, error) {
	var stock Stock
	return stock, retype(s, &stock)
}

// SoonestStock compares stock by what has to be used first; what keeps comes
// last. It suits slices.SortFunc.
func SoonestStock(a, b Stock) int {
	if (a.UseBy == "") != (b.UseBy == "") {
		if a.UseBy == "" {
			return 1
		}
		return -1
	}
	return cmp.Or(strings.Compare(a.UseBy, b.UseBy), strings.Compare(a.ID, b.ID))
}

// A Supply is anything else that is kept in the larder and runs out.
type Supply struct {
	ID        string  `json:"id"`
	Name      string  `json:"name"`
	Class     string  `json:"class"`
	Amount    float64 `json:"amount,omitempty"` // in Unit, when it came; 0 is not known
	Unit      string  `json:"unit,omitempty"`
	LastsDays float64 `json:"lasts_days,omitempty"` // how long that much usually lasts; 0 is not known
	Got       string  `json:"got,omitempty"`        // the day on which it came
	Finished  string  `json:"finished,omitempty"`
	Note      string  `json:"note,omitempty"`
	Deleted   bool    `json:"deleted,omitempty"`
}

// Words of a supply's fields.
var (
	SupplyClasses = []string{"springtails", "calcium", "leaves", "wood and moss", "substrate", "bins", "labels", "other"}
	SupplyUnits   = []string{"pieces", "cultures", "handfuls", "litres", "grams"}
)

var supplyFields = []Field{
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "class", Type: Word, Words: SupplyClasses, Required: true},
	{Name: "amount", Type: Number, Min: 0, Max: 100000},
	{Name: "unit", Type: Word, Words: SupplyUnits},
	{Name: "lasts_days", Type: Number, Min: 0, Max: 3650, Unit: "days"},
	{Name: "got", Type: Day},
	{Name: "finished", Type: Day},
	{Name: "note", Type: Text, Max: 2000},
}

// AsSupply types a sheet of the sort "supplies".
func AsSupply(s Sheet) (Supply, error) {
	var supply Supply
	return supply, retype(s, &supply)
}
