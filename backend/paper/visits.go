package paper

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"unicode/utf8"

	"github.com/pocketbase/pocketbase/core"
)

// A VisitSheet is all that somebody needs who comes by while the owner is away,
// if every phone fails. Its sentences come from the device that asks, in the
// language of its reader.
type VisitSheet struct {
	Paper  string   `json:"paper"` // a4 or letter
	Title  string   `json:"title"`
	Span   string   `json:"span"`   // from when to when, and for whom
	Page   string   `json:"page"`   // "Page {page} of {pages}"
	Call   Note     `json:"call"`   // whom to call; without lines there is room to write
	Notes  []Note   `json:"notes"`  // what to know before the first visit
	Map    Map      `json:"map"`    // of the racks
	Visits Calendar `json:"visits"` // by date
	Bins   Catalog  `json:"bins"`   // that are opened, in walking order
	Code   string   `json:"code"`   // a QR code beside the title; empty is none
	Scan   string   `json:"scan"`   // what the code is for
}

// A Note is a few sentences under a heading.
type Note struct {
	Title string   `json:"title"`
	Lines []string `json:"lines"`
}

// A Map shows where bins stand.
type Map struct {
	Title string `json:"title"`
	Says  string `json:"says"`
	Racks []Rack `json:"racks"`
}

// A Rack is shelves, the top one first.
type Rack struct {
	Name    string  `json:"name"`
	Shelves []Shelf `json:"shelves"`
}

// A Shelf is its bins from left to right, by the numbers that they have on the
// sheet; 0 is a bin that nobody opens.
type Shelf struct {
	Name string `json:"name"`
	Bins []int  `json:"bins"`
}

// A Calendar is the visits.
type Calendar struct {
	Title string  `json:"title"`
	None  string  `json:"none"` // said where there are none
	Days  []Visit `json:"days"`
}

// A Visit is one day, with a box to tick for each bin.
type Visit struct {
	Title string `json:"title"`
	Stops []Stop `json:"stops"`
}

// A Stop is what to do to one bin on one visit.
type Stop struct {
	Number int      `json:"number"`
	Title  string   `json:"title"` // place and name
	Do     string   `json:"do"`
	Found  []string `json:"found"` // words to tick for what was felt
}

// A Catalog is the bins.
type Catalog struct {
	Title string      `json:"title"`
	Dont  string      `json:"dont"` // the heading of what not to do
	Each  []BinOnPage `json:"each"`
}

// A BinOnPage is one bin: what it looks like from the side, what to do, and
// what not.
type BinOnPage struct {
	Number  int      `json:"number"`
	Title   string   `json:"title"`
	Where   string   `json:"where"`
	Drawing Drawing  `json:"drawing"`
	Do      []string `json:"do"`
	Dont    []string `json:"dont"`
}

// Bounds of a sheet of visits.
const (
	mostVisits   = 91
	mostStops    = 500 // on one visit, and bins on a sheet
	mostRacks    = 60
	mostSheet    = 8 << 20
	mostSentence = 300 // characters
	mostDo       = 6
	mostDont     = 3
	mostNotes    = 5
)

var papers = map[string]struct{ wide, high float64 }{"a4": {210, 297}, "letter": {215.9, 279.4}}

func (r *Routes) visits(e *core.RequestEvent) error {
	var sheet VisitSheet
	if err := e.BindBody(&sheet); err != nil {
		return sentence(e, "The request is not one whole JSON object: give paper, title, visits and bins.")
	}
	if problem := sheet.check(); problem != "" {
		return sentence(e, problem)
	}
	var out bytes.Buffer
	if err := WriteVisits(&out, sheet, r.Store.Clock.Now()); err != nil {
		return sentence(e, err.Error()+".")
	}
	e.Response.Header().Set("Content-Disposition", `inline; filename="visits.pdf"`)
	return e.Blob(http.StatusOK, "application/pdf", out.Bytes())
}

// A bound is a list and how long it may be.
type bound struct {
	name    string
	n, most int
}

func tooMany(bounds ...bound) string {
	for _, b := range bounds {
		if b.n > b.most {
			return fmt.Sprintf("%s are %d: give at most %d.", b.name, b.n, b.most)
		}
	}
	return ""
}

func tooLong(name string, most int, texts ...string) string {
	for _, text := range texts {
		if n := utf8.RuneCountInString(text); n > most {
			return fmt.Sprintf("%s has %d characters: give at most %d.", name, n, most)
		}
	}
	return ""
}

func (s *VisitSheet) check() string {
	if _, known := papers[s.Paper]; !known {
		return fmt.Sprintf("paper is %q: give a4 or letter.", s.Paper)
	}
	if s.Title == "" {
		return "title is missing: give the name of the trip."
	}
	problems := []string{
		tooLong("title", mostWords, s.Title), tooLong("span", mostSentence, s.Span), tooLong("page", mostWords, s.Page),
		tooLong("code", mostCode, s.Code), tooLong("scan", mostSentence, s.Scan), tooLong("map", mostSentence, s.Map.Title, s.Map.Says),
		tooLong("visits", mostSentence, s.Visits.Title, s.Visits.None), tooLong("bins", mostWords, s.Bins.Title, s.Bins.Dont),
		tooMany(bound{"notes", len(s.Notes), mostNotes}, bound{"visits", len(s.Visits.Days), mostVisits},
			bound{"bins", len(s.Bins.Each), mostStops}, bound{"racks", len(s.Map.Racks), mostRacks}),
	}
	for _, note := range append(slices.Clone(s.Notes), s.Call) {
		problems = append(problems, tooLong("a note", mostSentence, append(slices.Clone(note.Lines), note.Title)...), tooMany(bound{"lines of a note", len(note.Lines), 12}))
	}
	for _, rack := range s.Map.Racks {
		problems = append(problems, tooLong("a rack", mostWords, rack.Name), tooMany(bound{"shelves", len(rack.Shelves), mostRacks}))
		for _, shelf := range rack.Shelves {
			problems = append(problems, tooLong("a shelf", mostWords, shelf.Name), tooMany(bound{"bins of a shelf", len(shelf.Bins), 200}))
		}
	}
	for _, visit := range s.Visits.Days {
		problems = append(problems, tooLong("a visit", mostWords, visit.Title), tooMany(bound{"stops of a visit", len(visit.Stops), mostStops}))
		for _, stop := range visit.Stops {
			problems = append(problems, tooLong("a stop", mostWords, append(slices.Clone(stop.Found), stop.Title)...), tooLong("a stop", mostSentence, stop.Do),
				tooMany(bound{"words of a stop", len(stop.Found), mostDo}))
		}
	}
	for i := range s.Bins.Each {
		problems = append(problems, s.Bins.Each[i].check())
	}
	for _, problem := range problems {
		if problem != "" {
			return problem
		}
	}
	return ""
}

func (b *BinOnPage) check() string {
	for _, problem := range []string{
		tooLong("a bin", mostWords, b.Title, b.Where), tooLong("a bin", mostSentence, append(slices.Clone(b.Do), b.Dont...)...),
		tooMany(bound{"lines of what to do", len(b.Do), mostDo}, bound{"lines of what not to do", len(b.Dont), mostDont}),
		b.Drawing.check(),
	} {
		if problem != "" {
			return problem
		}
	}
	return ""
}
