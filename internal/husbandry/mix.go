package husbandry

import (
	"encoding/json"
	"slices"
)

// A Mix is substrate that was mixed together, and its recipe. Renewals name it
// by its slug. Mixed again, with other leaves, it is another mix: what went
// into a bin stays what it was.
type Mix struct {
	ID       string  `json:"id"`
	Slug     string  `json:"slug"`
	Name     string  `json:"name"`
	Parts    []Part  `json:"parts,omitempty"`
	Mixed    string  `json:"mixed,omitempty"`  // a day
	Litres   float64 `json:"litres,omitempty"` // of the whole mix; 0 is not known
	Finished string  `json:"finished,omitempty"`
	Note     string  `json:"note,omitempty"`
	Deleted  bool    `json:"deleted,omitempty"`
}

// A Part is one ingredient of a mix.
type Part struct {
	Ingredient string  `json:"ingredient"`
	Share      float64 `json:"share"`           // parts by volume, of the sum of all
	Batch      string  `json:"batch,omitempty"` // slug of the batch of leaves that it is
}

// MostParts is how many parts a mix may have.
const MostParts = 20

var mixFields = []Field{
	{Name: "slug", Type: Text, Max: 80, Required: true},
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "parts", Type: List},
	{Name: "mixed", Type: Day},
	{Name: "litres", Type: Number, Min: 0, Max: 10000, Unit: "litres"},
	{Name: "finished", Type: Day},
	{Name: "note", Type: Text, Max: 2000},
}

var partFields = []Field{
	{Name: "ingredient", Type: Text, Max: 80, Required: true},
	{Name: "share", Type: Number, Min: 0.01, Max: 1000, Unit: "parts", Required: true},
	batchSlugField,
}

func checkParts(flat map[string]json.RawMessage) Problems {
	return checkObjects(flat, "parts", "parts", "a part", MostParts, func(map[string]json.RawMessage) []Field { return partFields })
}

// AsMix types a sheet of the sort "mixes".
func AsMix(s Sheet) (Mix, error) {
	var mix Mix
	return mix, retype(s, &mix)
}

// Batches returns the slugs of the batches that went in.
func (m Mix) Batches() []string {
	var slugs []string
	for _, part := range m.Parts {
		if part.Batch != "" && !slices.ContainsFunc(slugs, func(slug string) bool { return SameSlug(slug, part.Batch) }) {
			slugs = append(slugs, part.Batch)
		}
	}
	return slugs
}
