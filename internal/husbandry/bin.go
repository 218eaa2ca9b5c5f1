package husbandry

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"
)

// A Bin is one lidded container with its colony. Lengths are inside measures.
type Bin struct {
	ID               string    `json:"id"`
	Name             string    `json:"name"`
	Rack             string    `json:"rack"`
	Shelf            int       `json:"shelf"`    // 1 is the top shelf
	Position         int       `json:"position"` // 1 is leftmost
	Kind             string    `json:"kind"`     // slug of a Kind
	Line             string    `json:"line,omitempty"`
	Shape            string    `json:"shape,omitempty"`
	LengthMM         float64   `json:"length_mm"`
	WidthMM          float64   `json:"width_mm"`
	HeightMM         float64   `json:"height_mm"`
	SubstrateDepthMM float64   `json:"substrate_depth_mm"`
	DampEnd          string    `json:"damp_end"`
	DampShare        float64   `json:"damp_share"`
	Openings         []Opening `json:"openings"`
	LidGapMM         float64   `json:"lid_gap_mm"`
	WallMM           float64   `json:"wall_mm"`
	Springtails      bool      `json:"springtails"`
	Started          string    `json:"started,omitempty"`           // the day on which the colony was
	SubstrateRenewed string    `json:"substrate_renewed,omitempty"` // a day
	RenewMonths      float64   `json:"renew_months,omitempty"`      // goal interval; 0 is the usual one
	RenewOn          string    `json:"renew_on,omitempty"`          // a day: when the plan has the next renewal
	RenewMoved       bool      `json:"renew_moved,omitempty"`       // a hand put it there, and there it stays
	MealsPerWeek     float64   `json:"meals_per_week,omitempty"`    // 0 is as many as the household gives
	Note             string    `json:"note,omitempty"`
	Deleted          bool      `json:"deleted,omitempty"`
}

// An Opening is one sort of vent, Count times.
type Opening struct {
	Where         string  `json:"where"` // lid or side
	Shape         string  `json:"shape"` // rectangle or round
	LengthMM      float64 `json:"length_mm,omitempty"`
	WidthMM       float64 `json:"width_mm,omitempty"`
	DiameterMM    float64 `json:"diameter_mm,omitempty"`
	Count         int     `json:"count,omitempty"`           // 0 counts as 1
	MeshOpenShare float64 `json:"mesh_open_share,omitempty"` // 1 is no mesh; 0 counts as 1
}

// Words of a bin's fields.
var (
	BinShapes     = []string{"box", "round"}
	DampEnds      = []string{"left", "right", "front", "back"}
	OpeningWheres = []string{"lid", "side"}
	OpeningShapes = []string{"rectangle", "round"}
)

var binFields = []Field{
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "rack", Type: Text, Max: 40, Required: true},
	{Name: "shelf", Type: Whole, Min: 1, Max: 50, Required: true},
	{Name: "position", Type: Whole, Min: 1, Max: 100, Required: true},
	{Name: "kind", Type: Ref, Required: true},
	{Name: "line", Type: Text, Max: 80},
	{Name: "shape", Type: Word, Words: BinShapes},
	{Name: "length_mm", Type: Number, Min: 40, Max: 2000, Unit: "mm", Required: true},
	{Name: "width_mm", Type: Number, Min: 40, Max: 2000, Unit: "mm", Required: true},
	{Name: "height_mm", Type: Number, Min: 30, Max: 1500, Unit: "mm", Required: true},
	{Name: "substrate_depth_mm", Type: Number, Min: 5, Max: 800, Unit: "mm", Required: true},
	{Name: "damp_end", Type: Word, Words: DampEnds, Required: true},
	{Name: "damp_share", Type: Number, Min: 0.1, Max: 1, Required: true},
	{Name: "openings", Type: List},
	{Name: "lid_gap_mm", Type: Number, Min: 0, Max: 10, Unit: "mm"},
	{Name: "wall_mm", Type: Number, Min: 0.2, Max: 20, Unit: "mm"},
	{Name: "springtails", Type: Truth},
	{Name: "started", Type: Day},
	{Name: "substrate_renewed", Type: Day},
	{Name: "renew_months", Type: Number, Min: 0, Max: 36, Unit: "months"},
	{Name: "renew_on", Type: Date},
	{Name: "renew_moved", Type: Truth},
	{Name: "meals_per_week", Type: Number, Min: 0, Max: 14, Unit: "meals"},
	{Name: "note", Type: Text, Max: 2000},
}

// openingFields are the rules for one opening; which measures are required
// follows from its shape.
func openingFields(shape string) []Field {
	round := shape == "round"
	return []Field{
		{Name: "where", Type: Word, Words: OpeningWheres, Required: true},
		{Name: "shape", Type: Word, Words: OpeningShapes, Required: true},
		{Name: "length_mm", Type: Number, Min: 1, Max: 2000, Unit: "mm", Required: !round},
		{Name: "width_mm", Type: Number, Min: 1, Max: 2000, Unit: "mm", Required: !round},
		{Name: "diameter_mm", Type: Number, Min: 0.3, Max: 500, Unit: "mm", Required: round},
		{Name: "count", Type: Whole, Min: 1, Max: 2000},
		{Name: "mesh_open_share", Type: Number, Min: 0.05, Max: 1},
	}
}

const mostOpenings = 20

func checkOpenings(flat map[string]json.RawMessage) Problems {
	return checkObjects(flat, "openings", "sorts of opening", "an opening", mostOpenings, func(given map[string]json.RawMessage) []Field {
		return openingFields(strings.Trim(string(bytes.TrimSpace(given["shape"])), `"`))
	})
}

// checkObjects checks every object of a list by the rules for it. many and one
// are what people call them.
func checkObjects(flat map[string]json.RawMessage, name, many, one string, most int, rules func(given map[string]json.RawMessage) []Field) Problems {
	var list []json.RawMessage
	if absent(flat[name]) || json.Unmarshal(flat[name], &list) != nil {
		return nil // the field's own rule has said so
	}
	if len(list) > most {
		return Problems{{Field: name, Value: fmt.Sprint(len(list), " ", many), Accepted: fmt.Sprintf("give at most %d %s", most, many)}}
	}
	var problems Problems
	for i, item := range list {
		given, problem := object(item)
		if problem != nil {
			problem.Field = fmt.Sprintf("%s %d", name, i+1)
			problems = append(problems, *problem)
			continue
		}
		for _, p := range checkFields(given, rules(given), nil, time.Time{}, "leave it out: "+one+" has no such field") {
			p.Field = fmt.Sprintf("%s %d, %s", name, i+1, p.Field)
			problems = append(problems, p)
		}
	}
	return problems
}

// AsBin types a sheet of the sort "bins".
func AsBin(s Sheet) (Bin, error) {
	var bin Bin
	return bin, retype(s, &bin)
}

func retype(s Sheet, into any) error {
	raw, err := json.Marshal(s.Flat())
	if err != nil {
		return err
	}
	return json.Unmarshal(raw, into)
}

// Place is the short code on a bin's label: the rack's first letter or
// digits, the shelf and the position, such as W2-3.
func (b Bin) Place() string {
	initial := "?"
	for _, r := range strings.TrimSpace(b.Rack) {
		initial = strings.ToUpper(string(r))
		break
	}
	return fmt.Sprintf("%s%d-%d", initial, b.Shelf, b.Position)
}

// SubstrateLitres is how much substrate fills the bin to its depth.
func (b Bin) SubstrateLitres() float64 {
	litres := b.LengthMM * b.WidthMM * b.SubstrateDepthMM * 1e-6
	if b.Shape == "round" {
		litres *= math.Pi / 4
	}
	return litres
}

// CommonTub returns a new bin with the defaults of a common 6-quart tub
// (about 5.7 L; inside measures from memory) with a screened lid cut-out.
func CommonTub() Bin {
	return Bin{
		Shape: "box", LengthMM: 340, WidthMM: 200, HeightMM: 120, SubstrateDepthMM: 50,
		DampEnd: "left", DampShare: 0.5, LidGapMM: 0.3, WallMM: 1.5, Springtails: true,
		Openings: []Opening{{Where: "lid", Shape: "rectangle", LengthMM: 150, WidthMM: 100, Count: 1, MeshOpenShare: 0.5}},
	}
}

// WalkingOrder compares bins by where they stand: rack, shelf from the top,
// position from the left. It suits slices.SortFunc.
func WalkingOrder(a, b Bin) int {
	return cmp.Or(
		strings.Compare(a.Rack, b.Rack), cmp.Compare(a.Shelf, b.Shelf),
		cmp.Compare(a.Position, b.Position), strings.Compare(a.ID, b.ID))
}
