package store

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/honesty"
	"underlog/internal/husbandry"
)

// Windows is the collection of frozen forecasts and what came of them.
const Windows = "windows"

func init() {
	core.AppMigrations.Register(func(app core.App) error { return app.Save(windowsCollection()) }, nil, "2_windows.go")
}

// windowsCollection has the window as it was frozen and, once a look has
// settled it, the look (entry empty until then).
func windowsCollection() *core.Collection {
	collection := base(Windows, members,
		&core.TextField{Name: "bin", Required: true},
		&core.SelectField{Name: "chore", Required: true, MaxSelect: 1, Values: husbandry.ChoreSorts},
		&core.TextField{Name: "of"}, &core.TextField{Name: "after"},
		&core.DateField{Name: "frozen_at", Required: true},
		&core.DateField{Name: "opens"}, &core.DateField{Name: "due"}, &core.DateField{Name: "closes"},
		&core.JSONField{Name: "forecast", MaxSize: 1 << 16},
		&core.TextField{Name: "entry"}, &core.DateField{Name: "entry_at"},
		&core.NumberField{Name: "odds"}, &core.BoolField{Name: "happened"}, &core.TextField{Name: "place"},
	)
	collection.AddIndex("idx_windows_bin", false, "bin, frozen_at", "")
	collection.AddIndex("idx_windows_entry", false, "entry", "entry != ''")
	return collection
}

type windowRow struct {
	ID       string         `db:"id"`
	Bin      string         `db:"bin"`
	Chore    string         `db:"chore"`
	Of       string         `db:"of"`
	After    string         `db:"after"`
	FrozenAt types.DateTime `db:"frozen_at"`
	Opens    types.DateTime `db:"opens"`
	Due      types.DateTime `db:"due"`
	Closes   types.DateTime `db:"closes"`
	Forecast []byte         `db:"forecast"`
	Entry    string         `db:"entry"`
	EntryAt  types.DateTime `db:"entry_at"`
	Odds     float64        `db:"odds"`
	Happened bool           `db:"happened"`
	Place    string         `db:"place"`
}

// A FrozenWindow is a window with its id and its result, nil until a look has
// settled it.
type FrozenWindow struct {
	honesty.Window
	ID     string
	Result *honesty.Result
}

// WindowID is the same for the same forecast whenever it is asked for: of one
// chore, from one entry, before the window opened or as it was open.
func WindowID(w honesty.Window) string {
	stage := "standing"
	if w.Open() {
		stage = "open"
	}
	return husbandry.RecordID(Windows, w.Chore+" "+w.Bin+" "+w.Of+" "+w.After+" "+stage)
}

// Freeze stores those of the windows that are not there yet and returns how
// many those were. What is there is never changed.
func (s *Store) Freeze(windows []honesty.Window) (int, error) {
	ids := make([]any, len(windows))
	for i, w := range windows {
		ids[i] = WindowID(w)
	}
	var known []string
	if err := s.App.ConcurrentDB().Select("id").From(Windows).Where(dbx.In("id", ids...)).Column(&known); err != nil {
		return 0, fmt.Errorf("store: the windows: %w", err)
	}
	var fresh []honesty.Window
	for i, w := range windows {
		if !slices.Contains(known, ids[i].(string)) {
			fresh = append(fresh, w)
		}
	}
	if len(fresh) == 0 {
		return 0, nil
	}
	return len(fresh), s.App.RunInTransaction(func(tx core.App) error {
		for _, w := range fresh {
			forecast, err := json.Marshal(w.Forecast)
			if err != nil {
				return err
			}
			if _, err := tx.NonconcurrentDB().Insert(Windows, dbx.Params{
				"id": WindowID(w), "bin": w.Bin, "chore": w.Chore, "of": w.Of, "after": w.After,
				"frozen_at": dateTime(w.FrozenAt), "opens": dateTime(w.Opens), "due": dateTime(w.Due), "closes": dateTime(w.Closes),
				"forecast": string(forecast), "entry": "", "entry_at": "", "odds": 0, "happened": false, "place": "",
			}).Execute(); err != nil {
				return err
			}
		}
		return nil
	})
}

// WindowsOf returns the windows of a bin that were frozen from an instant on,
// by when they were.
func (s *Store) WindowsOf(bin string, from time.Time) ([]FrozenWindow, error) {
	var rows []windowRow
	err := s.App.ConcurrentDB().Select().From(Windows).
		Where(dbx.NewExp("bin = {:bin} AND frozen_at >= {:from}", dbx.Params{"bin": bin, "from": dateTime(from)})).
		OrderBy("frozen_at", "id").All(&rows)
	if err != nil {
		return nil, fmt.Errorf("store: the windows of %s: %w", bin, err)
	}
	windows := make([]FrozenWindow, len(rows))
	for i, row := range rows {
		windows[i] = FrozenWindow{ID: row.ID, Result: row.result(), Window: honesty.Window{
			Bin: row.Bin, Chore: row.Chore, Of: row.Of, After: row.After, FrozenAt: row.FrozenAt.Time(),
			Opens: row.Opens.Time(), Due: row.Due.Time(), Closes: row.Closes.Time(),
		}}
		if err := json.Unmarshal(row.Forecast, &windows[i].Forecast); err != nil {
			return nil, fmt.Errorf("store: the forecast of window %s: %w", row.ID, err)
		}
	}
	return windows, nil
}

func (row windowRow) result() *honesty.Result {
	if row.Entry == "" {
		return nil
	}
	return &honesty.Result{Bin: row.Bin, Chore: row.Chore, Entry: row.Entry, At: row.EntryAt.Time(),
		Odds: row.Odds, Happened: row.Happened, Place: honesty.Place(row.Place)}
}

// Results returns the results of all windows that are settled, by the time of
// their looks.
func (s *Store) Results() ([]honesty.Result, error) {
	var rows []windowRow
	err := s.App.ConcurrentDB().Select("bin", "chore", "entry", "entry_at", "odds", "happened", "place").From(Windows).
		Where(dbx.NewExp("entry != ''")).OrderBy("entry_at", "id").All(&rows)
	if err != nil {
		return nil, fmt.Errorf("store: the results: %w", err)
	}
	results := make([]honesty.Result, len(rows))
	for i, row := range rows {
		results[i] = *row.result()
	}
	return results, nil
}

// SetResult writes what a look made of a window; nil makes it unsettled.
func (s *Store) SetResult(id string, result *honesty.Result) error {
	columns := dbx.Params{"entry": "", "entry_at": "", "odds": 0, "happened": false, "place": ""}
	if result != nil {
		columns = dbx.Params{"entry": result.Entry, "entry_at": dateTime(result.At), "odds": result.Odds,
			"happened": result.Happened, "place": string(result.Place)}
	}
	_, err := s.App.NonconcurrentDB().Update(Windows, columns, dbx.HashExp{"id": id}).Execute()
	return err
}

// UnsettleStruck makes the windows unsettled whose looks are struck.
func (s *Store) UnsettleStruck() error {
	_, err := s.App.NonconcurrentDB().NewQuery(`UPDATE windows SET entry = '', entry_at = '', odds = 0, happened = FALSE, place = ''
		WHERE entry != '' AND EXISTS (SELECT 1 FROM logs WHERE struck != '' AND struck = windows.entry)`).Execute()
	return err
}

// TidyWindows removes windows frozen before an instant that no look has
// settled, those of bins that are not there, and the forecasts of old windows
// that are settled: their results stay.
func (s *Store) TidyWindows(before time.Time) error {
	db := s.App.NonconcurrentDB()
	params := dbx.Params{"before": dateTime(before)}
	_, err := db.NewQuery(`DELETE FROM windows WHERE (entry = '' AND frozen_at < {:before})
		OR bin NOT IN (SELECT id FROM bins)`).Bind(params).Execute()
	if err != nil {
		return err
	}
	_, err = db.NewQuery(`UPDATE windows SET forecast = '[]' WHERE frozen_at < {:before} AND forecast != '[]'`).Bind(params).Execute()
	return err
}

// EntriesOf returns the entries of a bin from an instant on that are not
// struck, by time.
func (s *Store) EntriesOf(bin string, from time.Time) ([]husbandry.Entry, error) {
	var raws [][]byte
	err := s.App.ConcurrentDB().NewQuery(`SELECT raw FROM logs WHERE bin = {:bin} AND at >= {:from} AND what != 'strike'
		AND NOT EXISTS (SELECT 1 FROM logs AS strikes WHERE strikes.struck != '' AND strikes.struck = logs.id) ORDER BY at, id`).
		Bind(dbx.Params{"bin": bin, "from": dateTime(from)}).Column(&raws)
	if err != nil {
		return nil, fmt.Errorf("store: the entries of %s: %w", bin, err)
	}
	entries := make([]husbandry.Entry, len(raws))
	for i, raw := range raws {
		if err := json.Unmarshal(raw, &entries[i]); err != nil {
			return nil, fmt.Errorf("store: a stored entry: %w", err)
		}
	}
	return entries, nil
}

// BinOf returns the bin of the entry with an id, empty where there is none.
func (s *Store) BinOf(entry string) (string, error) {
	return value[string](s.App.ConcurrentDB(), "SELECT bin FROM logs WHERE id = {:id}", dbx.Params{"id": entry})
}
