package air

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// mustReadRows reads a file of testdata; each row becomes column name -> text.
func mustReadRows(tb testing.TB, path string) []map[string]string {
	tb.Helper()
	file, err := os.Open("../../testdata/" + path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	if len(lines) < 2 {
		tb.Fatalf("%s: no rows", path)
	}
	rows := make([]map[string]string, 0, len(lines)-1)
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func mustNumber(tb testing.TB, text string) float64 {
	tb.Helper()
	number, err := strconv.ParseFloat(text, 64)
	if err != nil {
		tb.Fatal(err)
	}
	return number
}

// apart is the relative distance of a number from what it should be.
func apart(got, want float64) float64 { return math.Abs(got/want - 1) }

func mustBeNear(tb testing.TB, what string, got, want, tolerance float64) {
	tb.Helper()
	if !(apart(got, want) <= tolerance) {
		tb.Errorf("%s: got %.6g, want %.6g within %.2g %%", what, got, want, 100*tolerance)
	}
}
