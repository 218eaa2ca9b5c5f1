package paper

import (
	"fmt"
	"math"
	"strconv"

	"codeberg.org/go-pdf/fpdf"
)

// A Drawing is made of layers, the lower ones first, in units of its own. What
// it shows is the device's business, so that a bin looks on paper as it does
// on the screen.
type Drawing struct {
	Top    float64 `json:"top"` // the y at which the picture begins
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
	Layers []Layer `json:"layers"`
	Left   string  `json:"left"`  // what is said under its left end
	Right  string  `json:"right"` // and under its right end
}

// A Layer is one path as SVG writes them (SVG 1.1, 8.3), without arcs.
type Layer struct {
	Path   string   `json:"path"`
	Fill   *float64 `json:"fill,omitempty"` // grey from 0, black, to 1, white; none: not filled
	Line   float64  `json:"line,omitempty"` // width in units of the drawing; 0: not drawn
	Within []string `json:"within,omitempty"`
}

// Bounds of a drawing.
const (
	mostLayers  = 60
	mostPath    = 20_000 // characters
	mostMeasure = 10_000.0
)

func (d *Drawing) check() string {
	if len(d.Layers) == 0 {
		return ""
	}
	if !(math.Abs(d.Top) <= mostMeasure && d.Width > 0 && d.Width <= mostMeasure && d.Height > 0 && d.Height <= mostMeasure) {
		return fmt.Sprintf("a drawing is %g by %g: give measures above 0, at most %g.", d.Width, d.Height, mostMeasure)
	}
	if problem := tooMany(bound{"layers of a drawing", len(d.Layers), mostLayers}); problem != "" {
		return problem
	}
	for _, layer := range d.Layers {
		if problem := tooLong("a path", mostPath, append([]string{layer.Path}, layer.Within...)...); problem != "" {
			return problem
		}
		for _, path := range append([]string{layer.Path}, layer.Within...) {
			if _, err := flatten(path); err != nil {
				return err.Error() + "."
			}
		}
	}
	return ""
}

// draw puts the drawing with its top left corner at x, y, so many mm wide.
func (d *Drawing) draw(pdf *fpdf.Fpdf, x, y, wide float64) {
	scale := wide / d.Width
	place := func(path string) [][]fpdf.PointType {
		lines, _ := flatten(path) // checked before
		for _, line := range lines {
			for i := range line {
				line[i].X, line[i].Y = x+line[i].X*scale, y+(line[i].Y-d.Top)*scale
			}
		}
		return lines
	}
	pdf.SetLineJoinStyle("round")
	pdf.SetLineCapStyle("round")
	for _, layer := range d.Layers {
		clips := 0
		for _, path := range layer.Within {
			if lines := place(path); len(lines) > 0 {
				pdf.ClipPolygon(lines[0], false)
				clips++
			}
		}
		style := ""
		if layer.Fill != nil {
			grey := int(255 * clamp(*layer.Fill, 0, 1))
			pdf.SetFillColor(grey, grey, grey)
			style = "F"
		}
		if layer.Line > 0 {
			pdf.SetDrawColor(0, 0, 0)
			pdf.SetLineWidth(math.Max(0.15, layer.Line*scale))
			style += "D"
		}
		if style != "" {
			for _, line := range place(layer.Path) {
				pdf.MoveTo(line[0].X, line[0].Y)
				for _, point := range line[1:] {
					pdf.LineTo(point.X, point.Y)
				}
			}
			pdf.DrawPath(style)
		}
		for range clips {
			pdf.ClipEnd()
		}
	}
	pdf.SetLineCapStyle("butt")
	pdf.SetLineJoinStyle("miter")
	pdf.SetFillColor(0, 0, 0) // the end of a clip has set back what the library takes to be set
	pdf.SetTextColor(0, 0, 0)
}

// steps is how many straight pieces a curve becomes: at the size of paper
// nobody sees them.
const steps = 8

// flatten turns a path into lines. It knows M, L, H, V, Q, T and Z, absolute
// and relative.
func flatten(path string) ([][]fpdf.PointType, error) {
	var lines [][]fpdf.PointType
	var at, start, control fpdf.PointType
	curved := false // the last command was a curve
	p := pen{text: path}
	for command := byte(0); ; {
		next, more := p.command(command)
		if p.err != nil {
			return nil, p.err
		}
		if !more {
			return lines, nil
		}
		command = next
		from := fpdf.PointType{}
		if command >= 'a' {
			from = at
		}
		if len(lines) == 0 && command != 'M' && command != 'm' {
			return nil, fmt.Errorf("the path %.20q does not begin with M", path)
		}
		add := func(to fpdf.PointType) {
			lines[len(lines)-1] = append(lines[len(lines)-1], to)
			at = to
		}
		bend := func(by, to fpdf.PointType) {
			begin := at
			for i := 1; i <= steps; i++ {
				t := float64(i) / steps
				add(fpdf.PointType{X: (1-t)*(1-t)*begin.X + 2*t*(1-t)*by.X + t*t*to.X, Y: (1-t)*(1-t)*begin.Y + 2*t*(1-t)*by.Y + t*t*to.Y})
			}
			control = by
		}
		isCurve := false
		switch command {
		case 'M', 'm':
			at = p.point(from)
			start = at
			lines = append(lines, []fpdf.PointType{at})
			command-- // to L: further pairs are lines
		case 'L', 'l':
			add(p.point(from))
		case 'H', 'h':
			add(fpdf.PointType{X: from.X + p.number(), Y: at.Y})
		case 'V', 'v':
			add(fpdf.PointType{X: at.X, Y: from.Y + p.number()})
		case 'Q', 'q':
			by := p.point(from)
			bend(by, p.point(from))
			isCurve = true
		case 'T', 't':
			by := at
			if curved {
				by = fpdf.PointType{X: 2*at.X - control.X, Y: 2*at.Y - control.Y}
			}
			bend(by, p.point(from))
			isCurve = true
		case 'Z', 'z':
			add(start)
		default:
			return nil, fmt.Errorf("the path %.20q has %q: give M, L, H, V, Q, T and Z", path, command)
		}
		curved = isCurve
		if p.err != nil {
			return nil, p.err
		}
	}
}

// A pen reads a path.
type pen struct {
	text string
	at   int
	err  error
}

func (p *pen) skip() {
	for p.at < len(p.text) && (p.text[p.at] == ' ' || p.text[p.at] == ',' || p.text[p.at] == '\n') {
		p.at++
	}
}

// command reads the next command; where there is a number, the last one goes on.
func (p *pen) command(last byte) (command byte, more bool) {
	p.skip()
	if p.at == len(p.text) {
		return 0, false
	}
	c := p.text[p.at]
	if c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' {
		p.at++
		return c, true
	}
	if last == 0 || last == 'Z' || last == 'z' {
		p.err = fmt.Errorf("the path %.20q has no command at character %d", p.text, p.at+1)
	}
	return last, true
}

func (p *pen) number() float64 {
	p.skip()
	from := p.at
	point := false
	for ; p.at < len(p.text); p.at++ {
		c := p.text[p.at]
		if c == '-' && p.at == from || c >= '0' && c <= '9' {
			continue
		}
		if c == '.' && !point {
			point = true
			continue
		}
		break
	}
	x, err := strconv.ParseFloat(p.text[from:p.at], 64)
	if err != nil || math.Abs(x) > mostMeasure {
		if p.err == nil {
			p.err = fmt.Errorf("the path %.20q has no number at character %d", p.text, from+1)
		}
		return 0
	}
	return x
}

func (p *pen) point(from fpdf.PointType) fpdf.PointType {
	x := p.number()
	return fpdf.PointType{X: from.X + x, Y: from.Y + p.number()}
}
