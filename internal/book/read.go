package book

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
	"time"

	"underlog/internal/husbandry"
)

// longestLine bounds one line of a book, in bytes.
const longestLine = 1 << 20

// sheetOfType maps the type of a line to the sort of sheet it holds.
var sheetOfType = map[string]string{"room": "rooms", "bin": "bins", "kind": "kinds", "food": "foods", "trip": "trips",
	"batch": "batches", "mix": "mixes", "stock": "stock", "supply": "supplies"}

// Read reads a book. now bounds the times in it. The error is only for what
// cannot be read at all (no header, a newer version, a failing reader); what
// is wrong with single lines is in Problems.
func Read(r io.Reader, now time.Time) (*Book, error) {
	reader := bookReader{book: &Book{}, now: now, seen: map[string]int{}}
	scanner := bufio.NewScanner(r)
	scanner.Buffer(make([]byte, 64<<10), longestLine)
	for scanner.Scan() {
		reader.line++
		line := bytes.TrimSpace(bytes.TrimPrefix(scanner.Bytes(), []byte("\ufeff")))
		if len(line) == 0 {
			continue
		}
		if err := reader.take(line); err != nil {
			return nil, err
		}
	}
	if errors.Is(scanner.Err(), bufio.ErrTooLong) {
		return nil, fmt.Errorf("line %d is longer than %d bytes: give one object a line", reader.line+1, longestLine)
	}
	if err := scanner.Err(); err != nil {
		return nil, fmt.Errorf("the book could not be read after line %d: %w", reader.line, err)
	}
	if !reader.headed {
		return nil, errors.New(`the book has no first line: give {"type":"book","version":1,"time_zone":"Europe/Berlin"}`)
	}
	reader.lookUpReferences()
	return reader.book, nil
}

type bookReader struct {
	book      *Book
	now       time.Time
	line      int
	headed    bool
	seen      map[string]int // id -> line, to name what stands twice
	lineOf    []int          // line of each entry of the book
	lineOfBin map[string]int
}

func (r *bookReader) take(line []byte) error {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(line, &fields); err != nil || fields == nil {
		r.problem("this is not one whole JSON object: " + short(line))
		return nil
	}
	var kind string
	_ = json.Unmarshal(fields["type"], &kind)
	switch {
	case kind == "book":
		return r.header(line)
	case kind == "entry":
		r.entry(fields)
	case sheetOfType[kind] != "":
		r.sheet(sheetOfType[kind], fields)
	default:
		r.problem(fmt.Sprintf("type is %s: give one of book, room, bin, kind, food, trip, batch, mix, stock, supply, entry.", short(fields["type"])))
	}
	return nil
}

func (r *bookReader) header(line []byte) error {
	var header struct {
		Version  int    `json:"version"`
		TimeZone string `json:"time_zone"`
		At       string `json:"at"`
	}
	if err := json.Unmarshal(line, &header); err != nil {
		return fmt.Errorf("line %d: the first line of the book is not right: %w", r.line, err)
	}
	if header.Version != Version {
		return fmt.Errorf("line %d: version is %d: this program reads version %d", r.line, header.Version, Version)
	}
	r.headed = true
	r.book.TimeZone = header.TimeZone
	if header.At != "" {
		at, err := time.Parse(time.RFC3339, header.At)
		if err != nil {
			return fmt.Errorf("line %d: at is %q: give a time such as 2026-06-01T08:00:00+02:00", r.line, header.At)
		}
		r.book.At = at
		if at.After(r.now) {
			r.now = at
		}
	}
	return nil
}

func (r *bookReader) entry(fields map[string]json.RawMessage) {
	var what string
	_ = json.Unmarshal(fields["what"], &what)
	if rules := husbandry.EntryFields(what); rules != nil {
		r.leaveOutUnknown(fields, rules, "what")
	}
	entry, problems := husbandry.CheckEntryFields(fields, r.now)
	if problems != nil {
		r.problem(problems.Error())
		return
	}
	if r.twice("entry "+entry.ID, "entry", entry.ID) {
		return
	}
	if entry.By == "" {
		entry.By = "owner"
	}
	r.book.Entries = append(r.book.Entries, entry)
	r.lineOf = append(r.lineOf, r.line)
}

func (r *bookReader) sheet(kind string, fields map[string]json.RawMessage) {
	r.leaveOutUnknown(fields, husbandry.SheetFields(kind), "id")
	delete(fields, "type")
	if kind == "bins" {
		fillIn(fields, husbandry.CommonTub())
	}
	if problems := husbandry.CheckWhole(kind, fields, r.now); problems != nil {
		r.problem(problems.Error())
		return
	}
	sheet := husbandry.Sheet{Sheet: kind, Fields: make(map[string]husbandry.Stamped, len(fields))}
	_ = json.Unmarshal(fields["id"], &sheet.ID)
	if r.twice(kind+" "+sheet.ID, typeOfSheet[kind], sheet.ID) {
		return
	}
	for name, value := range fields {
		if name != "id" {
			sheet.Fields[name] = husbandry.Stamped{Value: value, Stamp: husbandry.SeedStamp}
		}
	}
	if kind == "bins" {
		if r.lineOfBin == nil {
			r.lineOfBin = map[string]int{}
		}
		r.lineOfBin[sheet.ID] = r.line
	}
	r.book.Sheets = append(r.book.Sheets, sheet)
}

// fillIn gives a bin that does not say its place, its damp share or its wall
// the usual ones: a book made by hand need not know them. Vents and sizes are
// never guessed.
func fillIn(fields map[string]json.RawMessage, tub husbandry.Bin) {
	usual := map[string]any{
		"rack": "Rack", "shelf": 1, "position": 1, "kind": "unknown",
		"damp_end": tub.DampEnd, "damp_share": tub.DampShare, "wall_mm": tub.WallMM, "lid_gap_mm": tub.LidGapMM,
		"substrate_depth_mm": tub.SubstrateDepthMM, "springtails": false, "openings": []husbandry.Opening{},
	}
	for name, value := range usual {
		if _, given := fields[name]; !given {
			raw, _ := json.Marshal(value)
			fields[name] = raw
		}
	}
}

func (r *bookReader) leaveOutUnknown(fields map[string]json.RawMessage, rules []husbandry.Field, also string) {
	var unknown []string
	for name := range fields {
		if name != "type" && name != also && !slices.ContainsFunc(rules, func(rule husbandry.Field) bool { return rule.Name == name }) {
			unknown = append(unknown, name)
			delete(fields, name)
		}
	}
	if len(unknown) > 0 {
		sort.Strings(unknown)
		r.warn("left out what nobody here knows: " + strings.Join(unknown, ", ") + ".")
	}
}

func (r *bookReader) twice(key, noun, id string) bool {
	first, again := r.seen[key]
	if again {
		r.problem(fmt.Sprintf("%s %s stands already on line %d: give each its own id.", noun, id, first))
		return true
	}
	r.seen[key] = r.line
	return false
}

// lookUpReferences leaves out entries that name a bin, a feeding or an entry
// that is not in the book. It comes last, since the order of lines does not
// matter. A missing bin is a problem; a missing feeding or entry only a
// warning, since a book may begin in the middle of things.
func (r *bookReader) lookUpReferences() {
	byID := make(map[string]string, len(r.book.Entries)) // id -> what
	for _, entry := range r.book.Entries {
		byID[entry.ID] = entry.What
	}
	kept := r.book.Entries[:0]
	for i, entry := range r.book.Entries {
		sentence, list := "", &r.book.Warnings
		_, binThere := r.lineOfBin[entry.Bin]
		switch {
		case entry.Bin != "" && !binThere:
			list = &r.book.Problems
			sentence = fmt.Sprintf("bin is %s: give the id of a bin in this book.", entry.Bin)
		case entry.What == husbandry.Leftovers && byID[entry.Of] != husbandry.Feed:
			sentence = fmt.Sprintf("left out: of is %s, and no feeding of this book is.", entry.Of)
		case entry.What == husbandry.Strike && byID[entry.Struck] == husbandry.Strike:
			list = &r.book.Problems
			sentence = fmt.Sprintf("struck is %s: that is a strike itself, and a strike cannot be struck.", entry.Struck)
		case entry.What == husbandry.Strike && byID[entry.Struck] == "":
			sentence = fmt.Sprintf("left out: struck is %s, which is not in this book.", entry.Struck)
		}
		if sentence != "" {
			*list = append(*list, Finding{r.lineOf[i], sentence})
			continue
		}
		kept = append(kept, entry)
	}
	r.book.Entries = kept
	for _, list := range [][]Finding{r.book.Problems, r.book.Warnings} {
		sort.SliceStable(list, func(i, j int) bool { return list[i].Line < list[j].Line })
	}
}

func (r *bookReader) problem(sentence string) {
	r.book.Problems = append(r.book.Problems, Finding{r.line, sentence})
}

func (r *bookReader) warn(sentence string) {
	r.book.Warnings = append(r.book.Warnings, Finding{r.line, sentence})
}

func short(raw []byte) string {
	const most = 60
	if len(raw) == 0 {
		return "missing"
	}
	if len(raw) > most {
		return string(bytes.ToValidUTF8(raw[:most], nil)) + "…"
	}
	return string(raw)
}
