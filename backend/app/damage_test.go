package app_test

import (
	"encoding/json"
	"errors"
	"flag"
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"testing/fstest"
	"time"

	"underlog/backend/alerts"
	"underlog/backend/app"
	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

var flipSeed = flag.Uint64("flip.seed", 0, "which bytes are flipped; 0 for others at every run")

// One byte of the database is flipped, at a random place. The server finds it
// when it starts and says so, or what everybody reads is what it was before.
func TestAFlippedByteIsFoundOrHarmless(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	owner.MustAddHelper("Kim")
	for range 8 {
		bin := owner.Bin("Pied pillbugs")
		var entries []husbandry.Entry
		for i := range 60 {
			feeding := owner.Feed(bin.ID)
			note := owner.Log(bin.ID, husbandry.Note, func(e *husbandry.Entry) { e.Note = "Counted forty of them under the bark." })
			strike := owner.Log(bin.ID, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = note.ID })
			entries = append(entries, feeding, note)
			if i%10 == 0 {
				entries = append(entries, owner.AllGone(feeding), strike)
			}
		}
		owner.MustStore([]husbandry.Sheet{bin}, entries...)
	}
	before := mustRead(t, server.Store)
	server.MustRestart() // a sound one starts
	server.MustClose()

	seed := *flipSeed
	if seed == 0 {
		seed = rand.Uint64()
	}
	t.Logf("-flip.seed=%d", seed)
	random := rand.New(rand.NewPCG(seed, 0))
	found, harmless := 0, 0
	for range flips {
		folder := filepath.Join(t.TempDir(), "flipped")
		if err := os.CopyFS(folder, os.DirFS(server.Dir)); err != nil {
			t.Fatal(err)
		}
		at, bit := mustFlip(t, filepath.Join(folder, "data.db"), random)
		main, err := app.Start(app.Config{DataDir: folder, Addr: "127.0.0.1:0", Clock: server.Clock, Files: fstest.MapFS{},
			Log: slog.New(slog.DiscardHandler), Push: alerts.Outbound{AnyEndpoint: true}})
		if err != nil {
			found++
			continue
		}
		harmless++
		if after := mustRead(t, main.Store); after != before {
			t.Errorf("byte %d, bit %d: the server starts and what it tells has changed", at, bit)
		}
		if err := main.Close(); err != nil {
			t.Error(err)
		}
	}
	t.Logf("%d of %d flipped bytes were found at the start, %d were harmless", found, flips, harmless)
}

func mustFlip(t *testing.T, path string, random *rand.Rand) (at int64, bit int) {
	t.Helper()
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	size, err := file.Seek(0, io.SeekEnd)
	if err != nil {
		t.Fatal(err)
	}
	at, bit = random.Int64N(size), random.IntN(8)
	one := make([]byte, 1)
	if _, err := file.ReadAt(one, at); err != nil {
		t.Fatal(err)
	}
	one[0] ^= 1 << bit
	if _, err := file.WriteAt(one, at); err != nil {
		t.Fatal(err)
	}
	return at, bit
}

// mustRead is everything that phones read, as text: entries whole, sheets by
// their values, people.
func mustRead(t *testing.T, s *store.Store) string {
	t.Helper()
	entries, err := s.Entries(time.Time{})
	if err != nil {
		return err.Error() // a failure that everybody sees
	}
	slices.SortFunc(entries, func(a, b husbandry.Entry) int { return slices.Compare([]byte(a.ID), []byte(b.ID)) })
	sheets, err := s.Sheets()
	if err != nil {
		return err.Error()
	}
	flat := make([]map[string]json.RawMessage, len(sheets))
	for i, sheet := range sheets {
		flat[i] = sheet.Flat()
	}
	people, err := s.People()
	if err != nil {
		return err.Error()
	}
	text, err := json.Marshal([]any{entries, flat, people})
	if err != nil {
		t.Fatal(errors.Join(err))
	}
	return string(text)
}
