package book

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"
)

var now = time.Date(2026, 6, 2, 0, 0, 0, 0, time.UTC)

func mustRead(tb testing.TB, text string) *Book {
	tb.Helper()
	b, err := Read(strings.NewReader(text), now)
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

func TestWhatWriteWritesReadReads(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/books/three-bins.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	first := mustRead(t, string(raw))
	if len(first.Problems)+len(first.Warnings) > 0 {
		t.Fatalf("problems %v, warnings %v", first.Problems, first.Warnings)
	}
	if len(first.Sheets) != 3 || len(first.Entries) != 29 {
		t.Fatalf("%d sheets, %d entries", len(first.Sheets), len(first.Entries))
	}
	var once, twice bytes.Buffer
	if err := Write(&once, first); err != nil {
		t.Fatal(err)
	}
	if err := Write(&twice, mustRead(t, once.String())); err != nil {
		t.Fatal(err)
	}
	if once.String() != twice.String() {
		t.Error("a book written, read and written again has changed")
	}
}

const header = `{"type":"book","version":1,"time_zone":"Europe/Berlin"}` + "\n"

func TestTheOrderOfLinesDoesNotMatter(t *testing.T) {
	raw, _ := os.ReadFile("../../testdata/books/three-bins.jsonl")
	lines := strings.Split(strings.TrimSpace(string(raw)), "\n")
	var backwards []string
	for i := len(lines) - 1; i >= 0; i-- {
		backwards = append(backwards, lines[i])
	}
	var a, b bytes.Buffer
	if err := Write(&a, mustRead(t, string(raw))); err != nil {
		t.Fatal(err)
	}
	if err := Write(&b, mustRead(t, strings.Join(backwards, "\n"))); err != nil {
		t.Fatal(err)
	}
	if a.String() != b.String() {
		t.Error("the book read backwards differs")
	}
}

func TestWrongLinesAreNamedAndTheRestIsRead(t *testing.T) {
	const bin = `{"type":"bin","id":"b1","name":"A","length_mm":340,"width_mm":200,"height_mm":120}` + "\n"
	tests := []struct{ name, lines, want string }{
		{"dose below", `{"type":"entry","id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"water","water_ml":-3}`, "line 3: water_ml is -3: give a number from 1 to 2000 mL."},
		{"no such bin", `{"type":"entry","id":"e1","bin":"b9","at":"2026-05-28T19:05:00+02:00","what":"look"}`, "line 3: bin is b9: give the id of a bin in this book."},
		{"cut off", `{"type":"entry","id":"e1","bin`, "line 3: this is not one whole JSON object"},
		{"unknown type", `{"type":"fish"}`, `line 3: type is "fish"`},
		{"twice", `{"type":"bin","id":"b1","name":"B","length_mm":340,"width_mm":200,"height_mm":120}`, "line 3: bin b1 stands already on line 2"},
		{"too long a bin", `{"type":"bin","id":"b2","name":"B","length_mm":4000000,"width_mm":200,"height_mm":120}`, "line 3: length_mm is 4000000"},
		{"strike of a strike", `{"type":"entry","id":"s1","at":"2026-05-28T19:05:00+02:00","what":"strike","struck":"s1"}`, "line 3: struck is s1"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			b := mustRead(t, header+bin+test.lines+"\n")
			if len(b.Problems) != 1 || !strings.HasPrefix(b.Problems[0].String(), test.want) {
				t.Errorf("got %v, want %q", b.Problems, test.want)
			}
			if len(b.Sheets) != 1 {
				t.Error("the bin was not read")
			}
		})
	}
}

func TestUnknownFieldsAreNamed(t *testing.T) {
	b := mustRead(t, header+`{"type":"bin","id":"b1","name":"A","length_mm":340,"width_mm":200,"height_mm":120,"sticker":"blue"}`)
	if len(b.Problems) != 0 || len(b.Warnings) != 1 || !strings.Contains(b.Warnings[0].Sentence, "sticker") {
		t.Errorf("problems %v, warnings %v", b.Problems, b.Warnings)
	}
}

// A book may begin in the middle of things: a look at a feeding from before is
// left out with a warning, and is no problem.
func TestABookMayBeginInTheMiddle(t *testing.T) {
	b := mustRead(t, header+`{"type":"bin","id":"b1","name":"A","length_mm":340,"width_mm":200,"height_mm":120}
{"type":"entry","id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"leftovers","of":"e7","left":"all gone"}
{"type":"entry","id":"e2","at":"2026-05-28T19:05:00+02:00","what":"strike","struck":"e8"}`)
	if len(b.Problems) != 0 || len(b.Warnings) != 2 || len(b.Entries) != 0 || !strings.Contains(b.Warnings[0].String(), "line 3: left out: of is e7") {
		t.Errorf("problems %v, warnings %v", b.Problems, b.Warnings)
	}
}

func TestWhatIsNoBook(t *testing.T) {
	for name, text := range map[string]string{
		"empty": "", "no header": `{"type":"bin","id":"b1"}`, "later version": `{"type":"book","version":2}`,
		"bad time": `{"type":"book","version":1,"at":"yesterday"}`,
		"endless":  header + strings.Repeat("x", longestLine+1),
	} {
		if _, err := Read(strings.NewReader(text), now); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func FuzzRead(f *testing.F) {
	raw, err := os.ReadFile("../../testdata/books/three-bins.jsonl")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(raw)
	f.Add([]byte(header + `{"type":"bin","id":"b1","openings":[{}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		b, err := Read(bytes.NewReader(text), now)
		if err != nil {
			return
		}
		var out bytes.Buffer
		if err := Write(&out, b); err != nil {
			t.Fatal(err)
		}
		again, err := Read(&out, now.AddDate(100, 0, 0))
		if err != nil || len(again.Problems) > 0 {
			t.Fatalf("what was written cannot be read: %v %v", err, again.Problems)
		}
	})
}

// What was seen, wood, ways out, and a kind with its sources come back as they
// were.
func TestSightingsAndKindsComeBack(t *testing.T) {
	b := mustRead(t, header+`{"type":"bin","id":"b1","name":"A","length_mm":340,"width_mm":200,"height_mm":120}
{"type":"kind","id":"k1","slug":"attic-ghosts","name":"Attic ghosts","moisture":"humid","air":"little","temperature_min_c":18,"temperature_max_c":26,"brood_min":5,"brood_max":9,"brood_source":"my count","climbs":true,"guards":false}
{"type":"entry","id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"seen","seen":"escaped","count":3,"place":"on the floor"}
{"type":"entry","id":"e2","bin":"b1","at":"2026-05-28T19:06:00+02:00","what":"add wood"}
{"type":"entry","id":"e3","bin":"b1","at":"2026-05-28T19:07:00+02:00","what":"escape","rim":"ramp","mesh":"whole","lid":"shut"}`)
	if len(b.Problems)+len(b.Warnings) > 0 {
		t.Fatalf("problems %v, warnings %v", b.Problems, b.Warnings)
	}
	var out bytes.Buffer
	if err := Write(&out, b); err != nil {
		t.Fatal(err)
	}
	again := mustRead(t, out.String())
	if len(again.Entries) != 3 || again.Entries[0].Count != 3 || again.Entries[0].Place != "on the floor" || !again.Entries[2].FoundAWay() {
		t.Errorf("came back as %+v", again.Entries)
	}
	for _, part := range []string{`"brood_source":"my count"`, `"air":"little"`, `"climbs":true`} {
		if !strings.Contains(out.String(), part) {
			t.Errorf("%s is lost in %s", part, out.String())
		}
	}
}
