package fuse

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the golden odds anew")

// Odds of a learnt room, to 1e-9 as they were when the file was written on
// amd64: the same test, built for wasm, holds both sides together.
func TestOddsAreThoseOfTheGoldenFile(t *testing.T) {
	all, _ := worlds()[2].keep(rand.New(rand.NewPCG(9, 9)), 8, 50)
	var pieces []Piece
	for _, f := range all {
		p := f.Piece
		p.PlacedHours = math.Round(p.PlacedHours)
		p.TemperatureC = math.Round(p.TemperatureC)
		for i := range p.Looks {
			p.Looks[i].Hours = math.Round(p.Looks[i].Hours) // worlds differ in the last bit, books do not
		}
		pieces = append(pieces, p)
	}
	room := Learn(pieces, DefaultPriors())
	got := map[string][]Odds{}
	for _, food := range []string{"banana", "carrot", "cuttlebone", "something else"} {
		for _, looks := range [][]Look{nil, {{Hours: 22, Left: SomeLeft}}, {{Hours: 22, Left: Untouched}}, {{Hours: 22, Left: SomeLeft, Mould: Specks}}} {
			p := Piece{Food: food, Bin: 3, PlacedHours: 1200, TemperatureC: 20, Springtails: true, Looks: looks}
			got[fmt.Sprintf("%s after %d looks %v", food, len(looks), looks)] = room.Forecast(p, hours(21, 9, 8))
		}
	}
	path := filepath.Join("testdata", "odds.json")
	if *update {
		text, err := json.MarshalIndent(got, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, append(text, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var want map[string][]Odds
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	if len(want) != len(got) {
		t.Fatalf("%d forecasts, %d in the file", len(got), len(want))
	}
	for name, odds := range want {
		for i, o := range odds {
			within(t, name+", gone", got[name][i].Gone, o.Gone, 1e-9)
			within(t, name+", mouldy", got[name][i].Mouldy, o.Mouldy, 1e-9)
		}
	}
}
