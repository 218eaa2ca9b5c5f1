package paper

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"rsc.io/qr"
)

// A Label says what stands on the label of one bin. Lines that are empty are
// left out, and where a label is small, the last ones.
type Label struct {
	Place string   `json:"place"` // W2-3
	Name  string   `json:"name"`
	Lines []string `json:"lines"` // the more important first
	Code  string   `json:"code"`  // what the QR code says
}

// Sizes of type, mm (1 mm is 2.83 points). Judgement: what is read at arm's
// length on a wet label.
const (
	leastType = 2.1
	mostType  = 4.2
	mostPlace = 9.0
	nameSize  = 1.12 // of a bin's name, in sizes of the lines
	leading   = 1.22
)

// quiet is the clear space around a QR code, in modules (ISO/IEC 18004, 4).
const quiet = 4

// Of module sizes, mm: a code is made as robust against dirt as it can be while
// its modules stay goodModule; below leastModule a label is refused. Judgement.
const (
	goodModule  = 0.40
	leastModule = 0.25
)

const (
	regular = "regular"
	bold    = "bold"
)

// WriteLabels writes a PDF with the labels on the stock, after skip places that
// were used before. Everything in it is drawn as vectors, and the type is in the
// file. It fails with a sentence if a code does not fit its label.
func WriteLabels(w io.Writer, stock Stock, labels []Label, skip int, at time.Time) error {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: stock.PageWidth, Ht: stock.PageHeight}})
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCreationDate(at)
	pdf.SetModificationDate(at)
	pdf.SetTitle("Labels", true)
	pdf.AddUTF8FontFromBytes(regular, "", goregular.TTF)
	pdf.AddUTF8FontFromBytes(bold, "", gobold.TTF)
	last := -1
	for i, label := range labels {
		page, x, y := stock.place(skip + i)
		if page != last {
			pdf.AddPage()
			last = page
		}
		if err := draw(pdf, stock, label, x, y); err != nil {
			return fmt.Errorf("%s %s: %w", label.Place, label.Name, err)
		}
		if stock.CutLines {
			pdf.SetDrawColor(150, 150, 150)
			pdf.SetLineWidth(0.1)
			pdf.Rect(x, y, stock.LabelWidth, stock.LabelHeight, "D")
		}
	}
	return pdf.Output(w)
}

// draw puts the code to the left and the words to the right of it.
func draw(pdf *fpdf.Fpdf, stock Stock, label Label, x, y float64) error {
	inset := stock.inset()
	side := math.Min(stock.LabelHeight-2, 0.42*stock.LabelWidth)
	if err := drawCode(pdf, label.Code, x+1, y+(stock.LabelHeight-side)/2, side); err != nil {
		return err
	}
	left := x + 1 + side
	width := stock.LabelWidth - side - 1 - inset
	high := stock.LabelHeight - 2*inset

	place := fitted(pdf, bold, clamp(0.26*high, leastType*1.3, mostPlace), width, label.Place)
	pdf.SetTextColor(0, 0, 0)
	line(pdf, label.Place, left, y+inset, place)
	at := y + inset + place*leading

	size := fitted(pdf, regular, clamp(high/9, leastType, mostType), width, label.Lines...)
	name := size * nameSize
	words, whole := wrapped(pdf, label.Name, name, width)
	for ; !whole && name*0.96 > leastType; words, whole = wrapped(pdf, label.Name, name, width) {
		name *= 0.96
	}
	for _, one := range words {
		line(pdf, one, left, at, name)
		at += name * leading
	}
	pdf.SetFont(regular, "", pdf.UnitToPointConvert(size))
	for _, words := range label.Lines {
		if words == "" {
			continue
		}
		if at+size > y+inset+high {
			break
		}
		line(pdf, shortened(pdf, words, width), left, at, size)
		at += size * leading
	}
	return nil
}

// line writes words with the top of its type at y.
func line(pdf *fpdf.Fpdf, words string, x, y, size float64) {
	const ascent = 0.8 // of the size of type
	pdf.Text(x, y+ascent*size, words)
}

// fitted chooses and sets the type of some lines: as large as asked for, smaller
// where the widest of them needs it.
func fitted(pdf *fpdf.Fpdf, font string, size, width float64, lines ...string) float64 {
	for ; ; size *= 0.96 {
		pdf.SetFont(font, "", pdf.UnitToPointConvert(size))
		widest := 0.0
		for _, words := range lines {
			widest = math.Max(widest, pdf.GetStringWidth(words))
		}
		if widest <= width || size*0.96 < leastType {
			return size
		}
	}
}

// wrapped sets bold type and breaks words into two lines at most; whole says
// whether all of them have room.
func wrapped(pdf *fpdf.Fpdf, words string, size, width float64) (lines []string, whole bool) {
	pdf.SetFont(bold, "", pdf.UnitToPointConvert(size))
	if pdf.GetStringWidth(words) <= width {
		return []string{words}, true
	}
	first := ""
	for _, word := range strings.Fields(words) {
		longer := strings.TrimSpace(first + " " + word)
		if pdf.GetStringWidth(longer) > width {
			break
		}
		first = longer
	}
	if first == "" {
		return []string{shortened(pdf, words, width)}, false
	}
	rest := strings.TrimSpace(strings.TrimPrefix(words, first))
	return []string{first, shortened(pdf, rest, width)}, pdf.GetStringWidth(rest) <= width
}

// shortened cuts words that are still too wide in the type that is set.
func shortened(pdf *fpdf.Fpdf, words string, width float64) string {
	runes := []rune(words)
	for cut := len(runes); pdf.GetStringWidth(words) > width && cut > 1; cut-- {
		words = string(runes[:cut-1]) + "…"
	}
	return words
}

// drawCode draws a QR code in a square of the given side, quiet zone included.
func drawCode(pdf *fpdf.Fpdf, text string, x, y, side float64) error {
	code, module, err := codeFor(text, side)
	if err != nil {
		return err
	}
	pdf.SetFillColor(0, 0, 0)
	for row := range code.Size {
		for column := 0; column < code.Size; column++ {
			if !code.Black(column, row) {
				continue
			}
			from := column
			for column+1 < code.Size && code.Black(column+1, row) {
				column++
			}
			// A run is one shape: between two there would be hairlines.
			pdf.Rect(x+(quiet+float64(from))*module, y+(quiet+float64(row))*module, float64(column-from+1)*module, module*1.01, "F")
		}
	}
	return nil
}

// codeFor makes the code that bears most dirt while its modules are large
// enough to be read.
func codeFor(text string, side float64) (*qr.Code, float64, error) {
	for _, level := range []qr.Level{qr.Q, qr.M, qr.L} {
		code, err := qr.Encode(text, level)
		if err != nil {
			return nil, 0, err
		}
		module := side / float64(code.Size+2*quiet)
		if module >= goodModule || level == qr.L && module >= leastModule {
			return code, module, nil
		}
	}
	return nil, 0, fmt.Errorf("the label is too small for its code: give a higher or wider one")
}

func clamp(x, low, high float64) float64 { return math.Min(math.Max(x, low), high) }
