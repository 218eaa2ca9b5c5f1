package husbandry

import "strings"

// A Batch is leaves that were gathered together, so that what a bin got can be
// traced to a tree. Entries and mixes name it by its slug.
type Batch struct {
	ID            string  `json:"id"`
	Slug          string  `json:"slug"`
	Name          string  `json:"name"`
	Tree          string  `json:"tree,omitempty"`
	Place         string  `json:"place,omitempty"`    // where it was gathered, or bought
	Gathered      string  `json:"gathered,omitempty"` // a day
	Sprayed       string  `json:"sprayed,omitempty"`  // no, unknown or yes; empty is unknown
	HeatedC       float64 `json:"heated_c,omitempty"` // 0 is not heated
	HeatedMinutes float64 `json:"heated_minutes,omitempty"`
	Amount        float64 `json:"amount,omitempty"` // in Unit, of the whole batch; 0 is not known
	Unit          string  `json:"unit,omitempty"`
	Started       string  `json:"started,omitempty"`  // the day on which it was begun
	Finished      string  `json:"finished,omitempty"` // the day on which it was used up or thrown out
	Note          string  `json:"note,omitempty"`
	Deleted       bool    `json:"deleted,omitempty"`
}

// Words of a batch's fields.
var (
	SprayedWords   = []string{"no", "unknown", "yes"}
	LeafUnits      = []string{"handfuls", "litres"}
	batchSlugField = Field{Name: "batch", Type: Text, Max: 80} // as entries and parts name one
)

// LitresPerHandful is what a loose handful of dry leaves takes up (judgement).
const LitresPerHandful = 0.4

var batchFields = []Field{
	{Name: "slug", Type: Text, Max: 80, Required: true},
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "tree", Type: Text, Max: 80},
	{Name: "place", Type: Text, Max: 200},
	{Name: "gathered", Type: Day},
	{Name: "sprayed", Type: Word, Words: SprayedWords},
	{Name: "heated_c", Type: Number, Min: 0, Max: 300, Unit: "°C"},
	{Name: "heated_minutes", Type: Number, Min: 0, Max: 1440, Unit: "minutes"},
	{Name: "amount", Type: Number, Min: 0, Max: 10000},
	{Name: "unit", Type: Word, Words: LeafUnits},
	{Name: "started", Type: Day},
	{Name: "finished", Type: Day},
	{Name: "note", Type: Text, Max: 2000},
}

// AsBatch types a sheet of the sort "batches".
func AsBatch(s Sheet) (Batch, error) {
	var batch Batch
	return batch, retype(s, &batch)
}

// Handfuls is the size of the whole batch; 0 where it is not known.
func (b Batch) Handfuls() float64 {
	if b.Unit == "litres" {
		return b.Amount / LitresPerHandful
	}
	return b.Amount
}

// How leaves are commonly heated: 200 °F for half an hour. Common practice, no
// source; it thins out what lives in them and does not sterilise.
const (
	UsualHeatC       = 93.0
	UsualHeatMinutes = 30.0
	heatSlackC       = 3 // who works in other degrees rounds
)

// Why a batch of leaves is doubtful.
const (
	DoubtSprayed   = "sprayed"
	DoubtSpray     = "spray unknown"
	DoubtTree      = "tree unknown"
	DoubtPlace     = "place unknown"
	DoubtHeat      = "not heated"
	DoubtHeatShort = "heated too little"
)

// Doubts lists why the leaves should be thought about before they go into a
// bin, the worst first; none for leaves of a known tree and place, unsprayed
// and heated as is usual.
func (b Batch) Doubts() []string {
	var doubts []string
	switch b.Sprayed {
	case "no":
	case "yes":
		doubts = append(doubts, DoubtSprayed)
	default:
		doubts = append(doubts, DoubtSpray)
	}
	if strings.TrimSpace(b.Tree) == "" {
		doubts = append(doubts, DoubtTree)
	}
	if strings.TrimSpace(b.Place) == "" {
		doubts = append(doubts, DoubtPlace)
	}
	switch {
	case b.HeatedC == 0:
		doubts = append(doubts, DoubtHeat)
	case b.HeatedC < UsualHeatC-heatSlackC || b.HeatedMinutes < UsualHeatMinutes:
		doubts = append(doubts, DoubtHeatShort)
	}
	return doubts
}

// Slug spells the short name of a food, a batch or a mix as names are compared:
// nobody minds capitals or a space too many.
func Slug(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// SameSlug reports whether two slugs name the same thing.
func SameSlug(a, b string) bool { return Slug(a) == Slug(b) }
