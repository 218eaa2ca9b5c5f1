package store_test

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// BenchmarkSynchronous is what durability costs: transactions of one entry
// and of a whole page, with synchronous=FULL, which survives a power cut, and
// with NORMAL, which may lose the last transactions in one.
func BenchmarkSynchronous(b *testing.B) {
	for _, rows := range []int{1, 500} {
		for _, mode := range []string{"FULL", "NORMAL"} {
			b.Run(fmt.Sprintf("%d/%s", rows, mode), func(b *testing.B) {
				db, err := store.Open(filepath.Join(b.TempDir(), "data.db"))
				if err != nil {
					b.Fatal(err)
				}
				defer db.Close()
				db.DB().SetMaxOpenConns(1)
				for _, statement := range []string{"PRAGMA synchronous=" + mode, "CREATE TABLE logs (id TEXT PRIMARY KEY, raw TEXT)"} {
					if _, err := db.DB().Exec(statement); err != nil {
						b.Fatal(err)
					}
				}
				raw, n := strings.Repeat("x", 250), 0
				for b.Loop() {
					tx, err := db.DB().Begin()
					if err != nil {
						b.Fatal(err)
					}
					for range rows {
						n++
						if _, err := tx.Exec("INSERT INTO logs VALUES (?, ?)", fmt.Sprintf("%032x", n), raw); err != nil {
							b.Fatal(err)
						}
					}
					if err := tx.Commit(); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// A place comes over the line: whatever it is, it is read or refused, and what
// is read is written as it was.
func FuzzParsePlace(f *testing.F) {
	at := time.Date(2026, 5, 28, 10, 0, 0, 0, time.UTC)
	for _, seed := range []string{"", store.Place{At: at}.String(), store.Place{At: at, ID: strings.Repeat("a", 32)}.String(),
		"2026-05-28|", "|", "2026-02-31 10:00:00.000Z|", "2026-05-28 10:00:00.000Z|' OR 1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		place, err := store.ParsePlace(text)
		if err != nil {
			return
		}
		if place.ID != "" && !husbandry.IsRecordID(place.ID) {
			t.Errorf("%q is read as %+v", text, place)
		}
		if again, err := store.ParsePlace(place.String()); err != nil || again != place {
			t.Errorf("%q is read as %+v, and that as %+v (%v)", text, place, again, err)
		}
	})
}
