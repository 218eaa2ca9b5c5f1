package fuse

import (
	"encoding/csv"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// MustRows reads a table of testdata/survival and returns its rows by column
// name.
func MustRows(tb testing.TB, name string) []map[string]string {
	tb.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "survival", name))
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	return mustParse(tb, name, file)
}

func mustParse(tb testing.TB, name string, file io.Reader) []map[string]string {
	tb.Helper()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil {
		tb.Fatalf("%s: %v", name, err)
	}
	if len(records) < 2 {
		tb.Fatalf("%s: no rows", name)
	}
	rows := make([]map[string]string, 0, len(records)-1)
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, value := range record {
			row[records[0][i]] = strings.TrimSpace(value)
		}
		rows = append(rows, row)
	}
	return rows
}

// MustTable reads a table of names and values of testdata/survival.
func MustTable(tb testing.TB, name string) map[string]float64 {
	tb.Helper()
	return asTable(tb, MustRows(tb, name))
}

func asTable(tb testing.TB, rows []map[string]string) map[string]float64 {
	tb.Helper()
	table := map[string]float64{}
	for _, row := range rows {
		table[row["name"]] = MustNumber(tb, row["value"])
	}
	return table
}

// MustNumber reads a number; an empty field or NA is NaN.
func MustNumber(tb testing.TB, text string) float64 {
	tb.Helper()
	if text == "" || text == "NA" {
		return math.NaN()
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		tb.Fatal(err)
	}
	return x
}

// MustFit fits or ends the test.
func MustFit(tb testing.TB, m Model, cases []Case) *Posterior {
	tb.Helper()
	p, err := m.Fit(cases)
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// near fails unless got is within relative of want.
func near(tb testing.TB, what string, got, want, relative float64) {
	tb.Helper()
	if !(math.Abs(got-want) <= relative*math.Max(math.Abs(want), 1e-12)) {
		tb.Errorf("%s: got %.9g, want %.9g within %g relative", what, got, want, relative)
	}
}

// within fails unless got is within distance of want.
func within(tb testing.TB, what string, got, want, distance float64) {
	tb.Helper()
	if !(math.Abs(got-want) <= distance) {
		tb.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, distance)
	}
}

// cosmesis returns the spans of one arm ("RT", "RCT") or of both (""), with
// an intercept and, for both, the indicator of RCT.
func cosmesis(tb testing.TB, arm string, grouped bool) []Case {
	tb.Helper()
	var cases []Case
	for _, row := range MustRows(tb, "breast_cosmesis.csv") {
		if arm != "" && row["group"] != arm {
			continue
		}
		c := Case{Bin: NoBin, Span: Span{MustNumber(tb, row["left"]), MustNumber(tb, row["right"])}}
		if math.IsNaN(c.By) {
			c.By = math.Inf(1)
		}
		c.Terms = []Term{{0, 1}}
		if grouped && row["group"] == "RCT" {
			c.Terms = append(c.Terms, Term{1, 1})
		}
		cases = append(cases, c)
	}
	return cases
}
