package books_test

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/books"
	"underlog/backend/store"
	"underlog/internal/book"
	"underlog/internal/example"
	"underlog/internal/husbandry"
)

var now = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// mustHousehold makes a household with an owner and the kinds and foods that
// ship with the tool.
func mustHousehold(tb testing.TB) (s *store.Store, owner string) {
	tb.Helper()
	app := core.NewBaseApp(core.BaseAppConfig{DataDir: tb.TempDir(), DBConnect: store.Open})
	s = store.New(app, clockwork.NewFakeClockAt(now))
	must(tb, app.Bootstrap())
	tb.Cleanup(func() { must(tb, app.ResetBootstrapState()) })
	must(tb, app.RunAllMigrations())
	person, err := s.AddPerson(app, "Wren", "a long password", store.Owner)
	must(tb, err)
	raws, err := store.Raws(husbandry.Seeds())
	must(tb, err)
	_, err = s.Put(store.Author{}, raws, nil)
	must(tb, err)
	return s, person.Id
}

func must(tb testing.TB, err error) {
	tb.Helper()
	if err != nil {
		tb.Fatal(err)
	}
}

func mustRead(tb testing.TB, text []byte) *book.Book {
	tb.Helper()
	b, err := book.Read(bytes.NewReader(text), now)
	must(tb, err)
	return b
}

func mustWrite(tb testing.TB, s *store.Store) []byte {
	tb.Helper()
	b, err := books.Write(s)
	must(tb, err)
	var out bytes.Buffer
	must(tb, book.Write(&out, b))
	return out.Bytes()
}

func TestADryRunAddsNothingAndTellsTheTruth(t *testing.T) {
	s, owner := mustHousehold(t)
	file, err := os.ReadFile("../../testdata/books/three-bins.jsonl")
	must(t, err)
	before, _ := s.Last()
	dry, err := books.Take(s, mustRead(t, file), owner, true, nil)
	must(t, err)
	if after, _ := s.Last(); after != before {
		t.Fatalf("a dry run moved the feed from %d to %d", before, after)
	}
	steps := 0
	wet, err := books.Take(s, mustRead(t, file), owner, false, func(done, all int) { steps++ })
	must(t, err)
	if dry.Bins != wet.Bins || dry.Entries != wet.Entries || wet.Bins != 3 || wet.Entries != 29 || steps == 0 {
		t.Errorf("would add %+v, added %+v in %d steps", dry, wet, steps)
	}
	again, err := books.Take(s, mustRead(t, file), owner, false, nil)
	must(t, err)
	if again.Bins+again.Entries != 0 || again.Already != 32 || len(again.Problems) != 0 {
		t.Errorf("the second time: %+v", again)
	}
}

// What export writes, import reads: a household taken over into an empty one
// and written again is the same book.
func TestARoomSurvivesTheFile(t *testing.T) {
	first, owner := mustHousehold(t)
	var invented bytes.Buffer
	must(t, book.Write(&invented, example.Book(now, "metric")))
	summary, err := books.Take(first, mustRead(t, invented.Bytes()), owner, false, nil)
	must(t, err)
	if len(summary.Problems) > 0 {
		t.Fatal(summary.Problems[0])
	}
	written := mustWrite(t, first)
	second, other := mustHousehold(t)
	_, err = books.Take(second, mustRead(t, written), other, false, nil)
	must(t, err)
	if again := mustWrite(t, second); !bytes.Equal(written, again) {
		t.Error("the book has changed on its way through another household")
	}
}

func TestWrongLinesAreToldAndTheRestIsTaken(t *testing.T) {
	s, owner := mustHousehold(t)
	text := `{"type":"book","version":1,"time_zone":"Europe/Berlin"}
{"type":"bin","id":"b1","name":"A","length_mm":340,"width_mm":200,"height_mm":120}
{"type":"entry","id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"water","water_ml":-3}
{"type":"entry","id":"e2","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"look"}`
	summary, err := books.Take(s, mustRead(t, []byte(text)), owner, false, nil)
	must(t, err)
	if summary.Entries != 1 || len(summary.Problems) != 1 || !strings.Contains(summary.Problems[0].String(), "line 3: water_ml is -3") {
		t.Errorf("%+v", summary)
	}
}
