package paper

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
)

// tubSide is a box with a damp left half, as the app draws one.
func tubSide() Drawing {
	grey := 0.85
	soil := "M20 90Q60 88 120 90T220 90L214 147H26Z"
	return Drawing{Top: 10, Width: 240, Height: 145, Left: "left, damp", Right: "right, dry", Layers: []Layer{
		{Path: soil, Fill: &grey},
		{Path: "M12 100q3 -2.4 6 0t6 0M60 100q3 -2.4 6 0t6 0M160 100q3 -2.4 6 0t6 0", Line: 1.2, Within: []string{soil, "M20 0H120V150H20Z"}},
		{Path: "M20 30L26 147H214L220 30Z", Line: 2},
		{Path: "M14 20h212v7h-212z", Fill: new(float64)},
	}}
}

// someVisits is a sheet of so many bins and days, every bin opened every third day.
func someVisits(bins, days int) VisitSheet {
	s := VisitSheet{
		Paper: "a4", Title: "Away", Span: "Wed 9 Dec to Mon 21 Dec, for Next door", Page: "Page {page} of {pages}",
		Call:   Note{Title: "If something is wrong, call", Lines: []string{"030 000 000"}},
		Notes:  []Note{{Title: "How to do it", Lines: []string{"Feel the ground at the damp end with a finger.", "Damp already? Then there is nothing to do: close the lid."}}},
		Map:    Map{Title: "Where they stand", Says: "A box without a number stays shut."},
		Visits: Calendar{Title: "The visits", None: "Nobody has to come."},
		Bins:   Catalog{Title: "The bins", Dont: "Please do not"},
	}
	rack := Rack{Name: "West"}
	for i := range bins {
		if i%6 == 0 {
			rack.Shelves = append(rack.Shelves, Shelf{Name: fmt.Sprintf("Shelf %d", i/6+1)})
		}
		shelf := &rack.Shelves[len(rack.Shelves)-1]
		shelf.Bins = append(shelf.Bins, i+1)
		s.Bins.Each = append(s.Bins.Each, BinOnPage{
			Number: i + 1, Title: fmt.Sprintf("W%d-%d Bin %dx", i/6+1, i%6+1, i+1), Where: "West, shelf 1, first from the left", Drawing: tubSide(),
			Do:   []string{"Feel the left end.", "Dry or barely damp: 6 tbsp (90 mL), slowly, at the left end.", "Damp or soaked: nothing."},
			Dont: []string{"No water at the other end."},
		})
	}
	rack.Shelves = append(rack.Shelves, Shelf{Name: "Shelf 9", Bins: []int{0, 0}})
	s.Map.Racks = []Rack{rack}
	for day := 1; day <= days; day++ {
		visit := Visit{Title: fmt.Sprintf("Visit of day %dx, 09:00 to 20:00", day)}
		for i := day % 3; i < bins; i += 3 {
			visit.Stops = append(visit.Stops, Stop{Number: i + 1, Title: s.Bins.Each[i].Title, Do: "Left end. Dry or barely damp: 6 tbsp (90 mL). Else nothing.", Found: []string{"Found:", "dry", "barely", "damp", "soaked"}})
		}
		if len(visit.Stops) > 0 {
			s.Visits.Days = append(s.Visits.Days, visit)
		}
	}
	return s
}

func mustVisits(t *testing.T, sheet VisitSheet) []byte {
	t.Helper()
	if problem := sheet.check(); problem != "" {
		t.Fatal(problem)
	}
	var out bytes.Buffer
	if err := WriteVisits(&out, sheet, printed); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestASheetOfVisitsIsVectorsAndType(t *testing.T) {
	pdf := string(mustVisits(t, someVisits(7, 9)))
	if !strings.HasPrefix(pdf, "%PDF-") || strings.Count(pdf, "/FontFile2") < 2 {
		t.Errorf("not a PDF with two fonts in it: %q", pdf[:8])
	}
	if strings.Contains(pdf, "/Subtype /Image") {
		t.Error("something was drawn as a picture")
	}
}

// Whatever is printed stays above the foot of its page, and what could not is
// refused.
func TestNothingRunsOffThePage(t *testing.T) {
	long := someVisits(40, 21)
	for i := range long.Bins.Each {
		bin := &long.Bins.Each[i]
		bin.Title = strings.Repeat("ü", 88)
		bin.Do[0], bin.Dont[0] = strings.Repeat("W", 120), strings.Repeat("words of it ", mostSentence/12)
	}
	letter := someVisits(40, 21)
	letter.Paper, letter.Code = "letter", "http://localhost:8090/#/pass/"+strings.Repeat("a", 60)
	for name, sheet := range map[string]VisitSheet{"one bin": someVisits(1, 1), "40 bins": someVisits(40, 21), "Letter": letter, "long": long, "nothing": someVisits(0, 0)} {
		t.Run(name, func(t *testing.T) {
			if problem := sheet.check(); problem != "" {
				t.Fatal(problem)
			}
			p := set(sheet, printed, 0)
			if p.Err() {
				t.Fatal(p.Error())
			}
			if p.lowest > p.bottom()+2 {
				t.Errorf("words reach down to %.0f mm, the page to %.0f", p.lowest, p.bottom())
			}
		})
	}
	endless := someVisits(1, 1)
	endless.Bins.Each[0].Do = slices.Repeat([]string{strings.Repeat("W", mostSentence)}, mostDo)
	if err := WriteVisits(io.Discard, endless, printed); err == nil || !strings.Contains(err.Error(), "bin 1 does not fit on one page") {
		t.Errorf("a bin higher than a page: %v", err)
	}
}

func TestWrongSheetsGetASentence(t *testing.T) {
	for _, c := range []struct {
		change func(*VisitSheet)
		says   string
	}{
		{func(s *VisitSheet) { s.Paper = "a3" }, `paper is "a3": give a4 or letter.`},
		{func(s *VisitSheet) { s.Title = "" }, "title is missing"},
		{func(s *VisitSheet) { s.Bins.Each[0].Title = strings.Repeat("x", 121) }, "a bin has 121 characters: give at most 120."},
		{func(s *VisitSheet) { s.Bins.Each[0].Do = make([]string, 7) }, "lines of what to do are 7: give at most 6."},
		{func(s *VisitSheet) { s.Bins.Each[0].Drawing.Width = 0 }, "a drawing is 0 by 145"},
		{func(s *VisitSheet) { s.Bins.Each[0].Drawing.Layers[0].Path = "M0 0A1 1 0 0 0 5 5" }, `the path "M0 0A1 1 0 0 0 5 5" has 'A': give M, L`},
		{func(s *VisitSheet) { s.Bins.Each[0].Drawing.Layers[0].Path = "L1 1" }, `the path "L1 1" does not begin with M`},
		{func(s *VisitSheet) { s.Bins.Each[0].Drawing.Layers[0].Path = "M1" }, `the path "M1" has no number`},
		{func(s *VisitSheet) { s.Code = strings.Repeat("x", 201) }, "code has 201 characters"},
		{func(*VisitSheet) {}, ""},
	} {
		sheet := someVisits(2, 2)
		c.change(&sheet)
		if got := sheet.check(); !strings.HasPrefix(got, c.says) || (c.says == "") != (got == "") {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
}

// Paths are read as SVG 1.1, 8.3 says: relative commands, several pairs after
// one letter, a smooth curve's mirrored control point.
func TestPathsBecomeLines(t *testing.T) {
	for _, c := range []struct {
		path string
		ends [][2]float64 // of the lines
	}{
		{"M1 2 3 4", [][2]float64{{3, 4}}},
		{"m1,2 3,4l-1 .5", [][2]float64{{3, 6.5}}},
		{"M1 2H5V7h-1v-1", [][2]float64{{4, 6}}},
		{"M0 0q2 -4 4 0t4 0", [][2]float64{{8, 0}}},
		{"M0 0L4 0L4 4Z", [][2]float64{{0, 0}}},
		{"M0 0L4 0M9 9h.01", [][2]float64{{4, 0}, {9.01, 9}}},
	} {
		lines, err := flatten(c.path)
		if err != nil || len(lines) != len(c.ends) {
			t.Fatalf("%s: %v, %v", c.path, lines, err)
		}
		for i, line := range lines {
			if end := line[len(line)-1]; math.Abs(end.X-c.ends[i][0])+math.Abs(end.Y-c.ends[i][1]) > 1e-9 {
				t.Errorf("%s ends at %v, want %v", c.path, end, c.ends[i])
			}
		}
	}
	lines, _ := flatten("M0 0q2 -4 4 0t4 0")
	if low := lines[0][steps+steps/2].Y; low != 2 { // the mirrored wave's top is half of its control point's
		t.Errorf("the second wave reaches %g, want 2", low)
	}
}
