package paper

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Measures of the sheet, mm. Type is large: it is read by somebody who stands
// at a rack, perhaps without their glasses. Judgement.
const (
	margin    = 16.0
	footHigh  = 9.0
	bodyType  = 12 / 2.8346 // 12 points
	stopType  = 13 / 2.8346
	headType  = 18 / 2.8346
	titleType = 26 / 2.8346
	open      = 1.32 // leading of running text
	tickBox   = 7.0
	disc      = 8.2 // of a bin's number
	codeSide  = 42.0
	picture   = 68.0 // of a bin
)

// WriteVisits writes the sheet as a PDF. It fails with a sentence if the code
// does not fit.
func WriteVisits(w io.Writer, sheet VisitSheet, at time.Time) error {
	pages := set(sheet, at, 0).PageNo()
	return set(sheet, at, pages).Output(w)
}

// A press sets the sheet from top to bottom.
type press struct {
	*fpdf.Fpdf
	sheet      *VisitSheet
	wide, high float64 // of the page
	y          float64
	pages      int     // of the whole sheet, 0 until they are counted
	lowest     float64 // where the lowest words of any page end, its foot apart
}

// set lays the whole sheet out. How many pages it has is known once it has been
// laid out, so that is done twice.
func set(sheet VisitSheet, at time.Time, pages int) *press {
	size := papers[sheet.Paper]
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: size.wide, Ht: size.high}})
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCreationDate(at)
	pdf.SetModificationDate(at)
	pdf.SetTitle(sheet.Title, true)
	pdf.AddUTF8FontFromBytes(regular, "", goregular.TTF)
	pdf.AddUTF8FontFromBytes(bold, "", gobold.TTF)
	p := &press{Fpdf: pdf, sheet: &sheet, wide: size.wide, high: size.high, pages: pages}
	p.turn()
	p.head()
	p.call()
	for _, note := range sheet.Notes {
		p.note(note)
	}
	p.racks()
	p.visits()
	p.bins()
	p.foot()
	return p
}

func (p *press) width() float64  { return p.wide - 2*margin }
func (p *press) bottom() float64 { return p.high - margin - footHigh }

// turn begins a page.
func (p *press) turn() {
	if p.PageNo() > 0 {
		p.foot()
	}
	p.AddPage()
	p.y = margin
}

// fits refuses what is higher than a page: it would be cut.
func (p *press) fits(number int, high float64) {
	if margin+high > p.bottom() {
		p.SetError(fmt.Errorf("what is said of bin %d does not fit on one page: say it shorter", number))
	}
}

// need turns the page where less than so much of it is left.
func (p *press) need(high float64) {
	if p.y+high > p.bottom() && p.y > margin {
		p.turn()
	}
}

func (p *press) font(name string, size float64) { p.SetFont(name, "", p.UnitToPointConvert(size)) }

func (p *press) rule(y, thick float64) {
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(thick)
	p.Line(margin, y, p.wide-margin, y)
}

func (p *press) foot() {
	y := p.high - margin - 2
	p.rule(y-3, 0.2)
	p.font(regular, bodyType)
	number := strings.NewReplacer("{page}", strconv.Itoa(p.PageNo()), "{pages}", strconv.Itoa(p.pages)).Replace(p.sheet.Page)
	wide := p.GetStringWidth(number)
	line(p.Fpdf, shortened(p.Fpdf, p.sheet.Title, p.width()-wide-8), margin, y-1, bodyType)
	line(p.Fpdf, number, p.wide-margin-wide, y-1, bodyType)
}

// plain replaces spaces that the type has no sign for.
var plain = strings.NewReplacer("\u202f", "\u00a0", "\u2009", "\u00a0", "\u2060", "", "\u2011", "-")

// isSpace says where a line may be broken, which is not between a number and
// its unit.
func isSpace(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == '\r' }

// broken breaks words into lines of the type that is set.
func broken(pdf *fpdf.Fpdf, words string, width float64) []string {
	var lines []string
	now := ""
	for _, word := range strings.FieldsFunc(plain.Replace(words), isSpace) {
		longer := word
		if now != "" {
			longer = now + " " + word
		}
		if pdf.GetStringWidth(longer) <= width {
			now = longer
			continue
		}
		if now != "" {
			lines = append(lines, now)
		}
		// A word that is wider than a line is cut where the line ends.
		for now = word; pdf.GetStringWidth(now) > width; {
			runes := []rune(now)
			cut := len(runes) - 1
			for cut > 1 && pdf.GetStringWidth(string(runes[:cut])) > width {
				cut--
			}
			lines = append(lines, string(runes[:cut]))
			now = string(runes[cut:])
			if cut == 0 || now == "" {
				break
			}
		}
	}
	if now != "" {
		lines = append(lines, now)
	}
	return lines
}

// A text is lines of one sort of type.
type text struct {
	font  string
	size  float64
	lines []string
}

func (p *press) text(font string, size, width float64, words ...string) text {
	p.font(font, size)
	t := text{font: font, size: size}
	for _, one := range words {
		t.lines = append(t.lines, broken(p.Fpdf, one, width)...)
	}
	return t
}

func (t text) high() float64 { return float64(len(t.lines)) * t.size * open }

// write sets a text and returns where the next one begins.
func (p *press) write(t text, x, y float64) float64 {
	p.font(t.font, t.size)
	for _, one := range t.lines {
		line(p.Fpdf, one, x, y, t.size)
		y += t.size * open
	}
	p.lowest = math.Max(p.lowest, y)
	return y
}

// head is the title with the span of the trip, and the code beside them.
func (p *press) head() {
	top, width := p.y, p.width()
	if p.sheet.Code != "" {
		side := p.wide - margin - codeSide
		if err := drawCode(p.Fpdf, p.sheet.Code, side, top-3, codeSide); err != nil {
			p.SetError(err)
			return
		}
		scan := p.text(regular, bodyType, codeSide-4, p.sheet.Scan)
		p.write(scan, side+4, top-3+codeSide)
		width -= codeSide + 6
		top += codeSide - 3 + scan.high()
	}
	p.y = p.write(p.text(bold, titleType, width, p.sheet.Title), margin, p.y)
	p.y = p.write(p.text(regular, headType, width, p.sheet.Span), margin, p.y+1)
	p.y = math.Max(p.y, top) + 4
}

// call is a box that is found at once.
func (p *press) call() {
	const inset = 5.0
	title := p.text(bold, stopType, p.width()-2*inset, p.sheet.Call.Title)
	lines := p.text(bold, headType, p.width()-2*inset, p.sheet.Call.Lines...)
	high := title.high() + lines.high() + 2*inset
	if len(lines.lines) == 0 {
		high += 12 // to write it in by hand
	}
	p.need(high)
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.9)
	p.Rect(margin, p.y, p.width(), high, "D")
	p.write(lines, margin+inset, p.write(title, margin+inset, p.y+inset))
	if len(lines.lines) == 0 {
		p.writeOn(margin+inset, p.wide-margin-inset, p.y+high-inset)
	}
	p.y += high + 6
}

// writeOn is a line to write on.
func (p *press) writeOn(from, to, y float64) {
	p.SetLineWidth(0.25)
	p.Line(from, y, to, y)
}

// heading begins a part, and stays with so much of what follows.
func (p *press) heading(words string, follows float64) {
	if words == "" {
		return
	}
	title := p.text(bold, headType, p.width(), words)
	p.need(title.high() + 4 + follows)
	p.rule(p.y, 0.6)
	p.y = p.write(title, margin, p.y+3) + 1.5
}

func (p *press) note(n Note) {
	const hang = 5.0
	title := p.text(bold, stopType, p.width(), n.Title)
	for i, one := range n.Lines {
		body := p.text(regular, bodyType, p.width()-hang, one)
		if i == 0 {
			p.need(title.high() + body.high())
			p.y = p.write(title, margin, p.y)
		}
		p.need(body.high())
		p.SetFillColor(0, 0, 0)
		p.Circle(margin+1.6, p.y+0.5*bodyType, 0.8, "F")
		p.y = p.write(body, margin+hang, p.y)
	}
	p.y += 3
}

// number is a bin's number, white on black.
func (p *press) number(n int, x, y float64) {
	p.SetFillColor(0, 0, 0)
	p.Circle(x+disc/2, y+disc/2, disc/2, "F")
	words := strconv.Itoa(n)
	size := bodyType * 1.05
	if len(words) > 2 {
		size *= 0.8
	}
	p.font(bold, size)
	p.SetTextColor(255, 255, 255)
	line(p.Fpdf, words, x+(disc-p.GetStringWidth(words))/2, y+(disc-size)/2+0.1*size, size)
	p.SetTextColor(0, 0, 0)
}

// racks draws every shelf as the row of its bins. A shelf of more bins than
// have room goes on in a second row.
func (p *press) racks() {
	const high, gap, label = 11.0, 1.6, 34.0
	m := p.sheet.Map
	if len(m.Racks) == 0 {
		return
	}
	p.heading(m.Title, 30)
	says := p.text(regular, bodyType, p.width(), m.Says)
	p.need(says.high())
	p.y = p.write(says, margin, p.y) + 2
	room := p.width() - label
	fit := int(room / (high + gap))
	for _, rack := range m.Racks {
		name := p.text(bold, stopType, p.width(), rack.Name)
		p.need(name.high() + high + 3)
		p.y = p.write(name, margin, p.y) + 1
		for _, shelf := range rack.Shelves {
			words := p.text(regular, bodyType, label-3, shelf.Name)
			rows := max(1, (len(shelf.Bins)+fit-1)/fit)
			each := math.Min(22, room/float64(min(fit, max(1, len(shelf.Bins)))))
			tall := math.Max(words.high(), float64(rows)*(high+gap))
			p.need(tall + 3)
			p.write(words, margin, p.y+(high-bodyType*open)/2)
			for i, n := range shelf.Bins {
				x, y := margin+label+float64(i%fit)*each, p.y+float64(i/fit)*(high+gap)
				p.SetDrawColor(0, 0, 0)
				if n == 0 {
					p.SetDrawColor(150, 150, 150)
					p.SetLineWidth(0.25)
				} else {
					p.SetLineWidth(0.8)
				}
				p.Rect(x, y, each-gap, high, "D")
				if n > 0 {
					p.number(n, x+(each-gap-disc)/2, y+(high-disc)/2)
				}
			}
			p.y += tall
			p.SetDrawColor(0, 0, 0)
			p.SetLineWidth(0.5)
			p.Line(margin+label-1, p.y-gap/2+0.4, p.wide-margin, p.y-gap/2+0.4) // the board
			p.y += 1.6
		}
		p.y += 3
	}
	p.y += 2
}

func (p *press) visits() {
	v := p.sheet.Visits
	p.heading(v.Title, 34)
	if len(v.Days) == 0 {
		none := p.text(regular, bodyType, p.width(), v.None)
		p.need(none.high())
		p.y = p.write(none, margin, p.y) + 4
	}
	for _, visit := range v.Days {
		title := p.text(bold, stopType*1.12, p.width(), visit.Title)
		for i, stop := range visit.Stops {
			set := p.setStop(stop)
			p.fits(stop.Number, title.high()+2+set.high)
			if i == 0 {
				p.need(title.high() + 2 + set.high)
				p.y = p.write(title, margin, p.y+1) + 1
			} else if p.y+set.high > p.bottom() {
				p.turn()
				p.y = p.write(title, margin, p.y) + 1 // whose list goes on
			}
			p.stop(stop, set)
		}
		p.y += 4
	}
}

// A stopSet is a row of a visit, measured.
type stopSet struct {
	title, do text
	high      float64
}

const beside = tickBox + 4 + disc + 4 // the words of a row begin there

func (p *press) setStop(stop Stop) stopSet {
	width := p.width() - beside
	s := stopSet{title: p.text(bold, stopType, width, stop.Title), do: p.text(regular, bodyType, width, stop.Do)}
	s.high = s.title.high() + s.do.high() + 4
	if len(stop.Found) > 0 {
		s.high += bodyType*open + 0.5
	}
	s.high = math.Max(s.high, disc+4)
	return s
}

func (p *press) stop(stop Stop, set stopSet) {
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.5)
	p.Rect(margin, p.y+1, tickBox, tickBox, "D")
	p.number(stop.Number, margin+tickBox+4, p.y+0.4)
	x := margin + beside
	y := p.write(set.do, x, p.write(set.title, x, p.y+1.4))
	if len(stop.Found) > 0 {
		p.font(regular, bodyType)
		y += 0.5
		for i, word := range stop.Found {
			if i > 0 { // the first one says what is to be ticked
				p.SetLineWidth(0.35)
				p.Rect(x, y+0.2, 3.6, 3.6, "D")
				x += 5.2
			}
			line(p.Fpdf, plain.Replace(word), x, y, bodyType)
			x += p.GetStringWidth(word) + 5
		}
	}
	p.y += set.high
	p.SetDrawColor(170, 170, 170)
	p.SetLineWidth(0.2)
	p.Line(margin, p.y-0.8, p.wide-margin, p.y-0.8)
}

// A binSet is a bin's part of the page, measured.
type binSet struct {
	title, where, do, not, dont text
	picture, high               float64
}

func (p *press) setBin(bin *BinOnPage) binSet {
	width := p.width() - picture - 7
	s := binSet{
		title: p.text(bold, stopType*1.12, p.width()-disc-4, bin.Title),
		where: p.text(regular, bodyType, width, bin.Where),
		do:    p.text(regular, bodyType, width, bin.Do...),
	}
	if len(bin.Dont) > 0 {
		s.not, s.dont = p.text(bold, bodyType, width, p.sheet.Bins.Dont), p.text(regular, bodyType, width, bin.Dont...)
	}
	if len(bin.Drawing.Layers) > 0 {
		s.picture = picture*bin.Drawing.Height/bin.Drawing.Width + bodyType*open
	}
	words := s.where.high() + s.do.high() + s.not.high() + s.dont.high() + 3
	s.high = math.Max(s.title.high(), disc) + 2 + math.Max(words, s.picture) + 8
	return s
}

func (p *press) bins() {
	b := p.sheet.Bins
	if len(b.Each) == 0 {
		return
	}
	first := p.setBin(&b.Each[0])
	p.heading(b.Title, first.high)
	for i := range b.Each {
		bin := &b.Each[i]
		set := p.setBin(bin)
		p.fits(bin.Number, set.high-8)
		p.need(set.high - 8) // never over two pages
		p.number(bin.Number, margin, p.y)
		y := math.Max(p.write(set.title, margin+disc+4, p.y+1.4), p.y+disc) + 2
		if set.picture > 0 {
			bin.Drawing.draw(p.Fpdf, margin, y, picture)
			p.ends(&bin.Drawing, y+set.picture-bodyType*open)
		}
		x := margin + picture + 7
		y = p.write(set.do, x, p.write(set.where, x, y))
		p.write(set.dont, x, p.write(set.not, x, y+1.5))
		p.y += set.high
		if i+1 < len(b.Each) {
			p.SetDrawColor(120, 120, 120)
			p.SetLineWidth(0.2)
			p.Line(margin, p.y-4, p.wide-margin, p.y-4)
		}
	}
}

// ends says under a drawing which end is which.
func (p *press) ends(d *Drawing, y float64) {
	p.font(bold, bodyType)
	line(p.Fpdf, d.Left, margin, y, bodyType)
	line(p.Fpdf, d.Right, margin+picture-p.GetStringWidth(d.Right), y, bodyType)
}
