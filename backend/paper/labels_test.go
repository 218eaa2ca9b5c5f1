package paper

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"
)

var printed = time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)

// Plain A4 in three columns of seven, to be cut.
func plainA4() Stock {
	return Stock{PageWidth: 210, PageHeight: 297, LabelWidth: 63, LabelHeight: 38, Columns: 3, Rows: 7, Left: 8, Top: 12, GapX: 2.5, CutLines: true}
}

func someLabels(n int) []Label {
	labels := make([]Label, n)
	for i := range labels {
		labels[i] = Label{
			Place: fmt.Sprintf("W%d-%d", i/6+1, i%6+1), Name: "Pied pillbugs with a long name of their own",
			Lines: []string{"Substrate 2 Mar 2026", "Renew by 2 Sep 2026", "Line Ärmel, grey", "Started May 2024"},
			Code:  fmt.Sprintf("http://localhost:8090/#/b/019d%028x", i),
		}
	}
	return labels
}

func TestPlacesAreCountedThroughTheSheets(t *testing.T) {
	stock := plainA4()
	for _, c := range []struct {
		n, page int
		x, y    float64
	}{{0, 0, 8, 12}, {2, 0, 8 + 2*65.5, 12}, {3, 0, 8, 50}, {20, 0, 8 + 2*65.5, 12 + 6*38}, {21, 1, 8, 12}} {
		if page, x, y := stock.place(c.n); page != c.page || x != c.x || y != c.y {
			t.Errorf("label %d: page %d at %g, %g; want page %d at %g, %g", c.n, page, x, y, c.page, c.x, c.y)
		}
	}
}

func TestTheTypeIsInTheFileAndNothingIsAPicture(t *testing.T) {
	var out bytes.Buffer
	if err := WriteLabels(&out, plainA4(), someLabels(30), 5, printed); err != nil {
		t.Fatal(err)
	}
	pdf := out.String()
	if !strings.HasPrefix(pdf, "%PDF-") || strings.Count(pdf, "/FontFile2") < 2 {
		t.Errorf("not a PDF with two fonts in it: %q, %d fonts", pdf[:8], strings.Count(pdf, "/FontFile2"))
	}
	if strings.Contains(pdf, "/Subtype /Image") {
		t.Error("something was drawn as a picture")
	}
	if pages := strings.Count(pdf, "/Type /Page\n"); pages != 2 {
		t.Errorf("%d pages for 30 labels from the sixth place on, want 2", pages)
	}
}

func TestWrongStockGetsASentence(t *testing.T) {
	for _, c := range []struct {
		change func(*Stock)
		says   string
	}{
		{func(s *Stock) { s.LabelWidth = 10 }, "label_width_mm is 10: give 35 to 300."},
		{func(s *Stock) { s.Columns = 4 }, "4 columns reach to"},
		{func(s *Stock) { s.Rows = 9 }, "9 rows reach to"},
		{func(s *Stock) { s.Rows = 0 }, "rows is 0: give 1 to 40."},
		{func(*Stock) {}, ""},
	} {
		stock := plainA4()
		c.change(&stock)
		if got := stock.check(); !strings.HasPrefix(got, c.says) || (c.says == "") != (got == "") {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
}

func TestWrongLabelsGetASentence(t *testing.T) {
	good := wish{Stock: plainA4(), Labels: someLabels(2)}
	for _, c := range []struct {
		change func(*wish)
		says   string
	}{
		{func(w *wish) { w.Labels = nil }, "labels are 0: give 1 to 500."},
		{func(w *wish) { w.Skip = 21 }, "skip is 21: give 0 to 20."},
		{func(w *wish) { w.Labels[1].Name = strings.Repeat("ä", 121) }, "label 2 has a line of 121 characters"},
		{func(w *wish) { w.Labels[0].Code = "" }, "label 1 has a code of 0 characters"},
		{func(w *wish) { w.Labels[0].Lines = make([]string, 7) }, "label 1 has 7 lines"},
		{func(*wish) {}, ""},
	} {
		w := good
		w.Labels = someLabels(2)
		c.change(&w)
		if got := w.check(); !strings.HasPrefix(got, c.says) || (c.says == "") != (got == "") {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
}

// A code is refused rather than printed so small that no camera reads it.
func TestACodeKeepsItsModulesLarge(t *testing.T) {
	text := someLabels(1)[0].Code
	for _, side := range []float64{10.5, 14, 20, 30} {
		code, module, err := codeFor(text, side)
		if err != nil {
			t.Fatal(err)
		}
		if module < leastModule || module*float64(code.Size+2*quiet) > side+1e-9 {
			t.Errorf("a square of %g mm: %d modules of %.2f mm", side, code.Size, module)
		}
	}
	if _, _, err := codeFor(text, 8); err == nil {
		t.Error("a code of 8 mm is printed")
	}
}
