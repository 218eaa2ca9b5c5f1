package store

import (
	"database/sql"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

// A folder that any older version has left is brought up to now: what was
// written then is there, sound, and more can be written beside it.
func TestAFolderOfEveryOlderVersionIsBroughtUpToNow(t *testing.T) {
	all := core.AppMigrations.Items()
	for last := range all[:len(all)-1] {
		t.Run(all[last].File, func(t *testing.T) {
			now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
			app := core.NewBaseApp(core.BaseAppConfig{DataDir: t.TempDir(), DBConnect: Open})
			s := New(app, clockwork.NewFakeClockAt(now))
			must(t, app.Bootstrap())
			t.Cleanup(func() { must(t, app.ResetBootstrapState()) })
			older := core.MigrationsList{}
			older.Copy(core.SystemMigrations)
			for _, migration := range all[:last+1] {
				older.Add(migration)
			}
			_, err := core.NewMigrationsRunner(app, older).Up()
			must(t, err)
			bin := husbandry.CommonTub()
			bin.ID, bin.Name, bin.Rack, bin.Shelf, bin.Position, bin.Kind = strings.Repeat("b", 32), "Pied", "Window", 2, 3, "armadillidium-vulgare"
			water := husbandry.Entry{ID: strings.Repeat("e", 32), Bin: bin.ID, At: now, What: husbandry.Water, WaterML: 30, By: strings.Repeat("p", 15), Device: strings.Repeat("d", 32)}
			mustWriteAsBefore(t, s, bin, water)

			must(t, app.RunAllMigrations())

			must(t, s.Check())
			entries, err := s.Entries(now.Add(-time.Hour))
			must(t, err)
			if len(entries) != 1 || entries[0] != water {
				t.Errorf("%v is there, want %v", entries, water)
			}
			more := []husbandry.Entry{water, {ID: strings.Repeat("f", 32), Bin: bin.ID, At: now, What: husbandry.Feel, Feel: "damp"}}
			raws, err := Raws(more)
			must(t, err)
			receipt, err := s.Put(Author{}, nil, raws)
			must(t, err)
			if receipt.Verdicts[0].Verdict != Duplicate || receipt.Verdicts[1].Verdict != Stored {
				t.Errorf("%+v", receipt.Verdicts)
			}
			must(t, s.Check())
		})
	}
}

// mustWriteAsBefore writes a bin and an entry past the questions that need
// what only later versions have.
func mustWriteAsBefore(t *testing.T, s *Store, bin husbandry.Bin, entry husbandry.Entry) {
	t.Helper()
	sheet, err := husbandry.NewSheet("bins", bin, husbandry.SeedStamp)
	must(t, err)
	canonical, err := json.Marshal(entry)
	must(t, err)
	must(t, s.App.RunInTransaction(func(tx core.App) error {
		w := &writer{store: s, tx: tx, insertions: map[string]*sql.Stmt{}}
		defer w.close()
		if err := writeSheet(tx, sheet, true); err != nil {
			return err
		}
		if err := w.insert(entry, canonical); err != nil {
			return err
		}
		w.feed = []feedRow{{"bins", bin.ID}, {Logs, entry.ID}}
		return w.number()
	}))
}

func must(tb testing.TB, err error) {
	tb.Helper()
	if err != nil {
		tb.Fatal(err)
	}
}
