package paper

import (
	"fmt"
	"math"
)

// A Stock is a sheet of label paper, or of plain paper that is cut. All
// measures are in mm, from the top left corner.
type Stock struct {
	PageWidth   float64 `json:"page_width_mm"`
	PageHeight  float64 `json:"page_height_mm"`
	LabelWidth  float64 `json:"label_width_mm"`
	LabelHeight float64 `json:"label_height_mm"`
	Columns     int     `json:"columns"`
	Rows        int     `json:"rows"`
	Left        float64 `json:"left_mm"` // of the first label
	Top         float64 `json:"top_mm"`
	GapX        float64 `json:"gap_x_mm"` // between two labels
	GapY        float64 `json:"gap_y_mm"`
	CutLines    bool    `json:"cut_lines"`
}

// slack is how far labels may reach over the page: makers round their measures.
const slack = 0.5 // mm

// check returns what is wrong with a stock in a sentence, or nothing.
func (s Stock) check() string {
	for _, measure := range []struct {
		name             string
		value, low, high float64
	}{
		{"page_width_mm", s.PageWidth, 50, 500}, {"page_height_mm", s.PageHeight, 50, 700},
		{"label_width_mm", s.LabelWidth, 35, 300}, {"label_height_mm", s.LabelHeight, 15, 200},
		{"columns", float64(s.Columns), 1, 20}, {"rows", float64(s.Rows), 1, 40},
		{"left_mm", s.Left, 0, 300}, {"top_mm", s.Top, 0, 300}, {"gap_x_mm", s.GapX, 0, 100}, {"gap_y_mm", s.GapY, 0, 100},
	} {
		if !(measure.value >= measure.low && measure.value <= measure.high) {
			return fmt.Sprintf("%s is %g: give %g to %g.", measure.name, measure.value, measure.low, measure.high)
		}
	}
	if reach := s.Left + span(s.Columns, s.LabelWidth, s.GapX); reach > s.PageWidth+slack {
		return fmt.Sprintf("%d columns reach to %.1f mm on a page %.1f mm wide: give fewer columns or smaller labels.", s.Columns, reach, s.PageWidth)
	}
	if reach := s.Top + span(s.Rows, s.LabelHeight, s.GapY); reach > s.PageHeight+slack {
		return fmt.Sprintf("%d rows reach to %.1f mm on a page %.1f mm high: give fewer rows or smaller labels.", s.Rows, reach, s.PageHeight)
	}
	return ""
}

func span(count int, size, gap float64) float64 {
	return float64(count)*size + float64(count-1)*gap
}

// place returns the page of the nth label, from 0, and its top left corner.
func (s Stock) place(n int) (page int, x, y float64) {
	each := s.Columns * s.Rows
	at := n % each
	column, row := at%s.Columns, at/s.Columns
	return n / each, s.Left + float64(column)*(s.LabelWidth+s.GapX), s.Top + float64(row)*(s.LabelHeight+s.GapY)
}

// inset keeps ink off the edge of a label: printers and hands are not exact.
func (s Stock) inset() float64 { return math.Max(1.5, 0.06*s.LabelHeight) }
