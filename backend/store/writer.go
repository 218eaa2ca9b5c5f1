package store

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// A writer writes one batch inside a transaction. Entries go in by prepared
// statements: saving them as PocketBase's records would take many times as
// long, and nothing listens for single entries.
type writer struct {
	store  *Store
	tx     core.App
	author Author
	now    time.Time

	bins, people map[string]bool
	stored       map[string][]byte    // of the entries with the batch's ids, as they are stored
	taken        map[string]named     // those that were inserted, by id
	insertions   map[string]*sql.Stmt // by what the entry says

	feed    []feedRow
	receipt Receipt
}

type feedRow struct{ sort, record string }

func (w *writer) verdict(v Verdict) { w.receipt.Verdicts = append(w.receipt.Verdicts, v) }

// prepare reads what is here of the batch, and what it may name.
func (w *writer) prepare(batch []*candidate) error {
	db := w.tx.NonconcurrentDB()
	var err error
	if w.bins, err = idSet(db, "bins"); err != nil {
		return err
	}
	if w.people, err = idSet(db, People); err != nil {
		return err
	}
	var sitters []string
	if err := db.Select("person").From(Passes).Column(&sitters); err != nil {
		return err
	}
	for _, sitter := range sitters {
		w.people[sitter] = true
	}
	ids := make([]string, len(batch))
	for i, one := range batch {
		ids[i] = one.entry.ID
	}
	list, err := json.Marshal(ids)
	if err != nil {
		return err
	}
	var found []struct {
		ID  string `db:"id"`
		Raw []byte `db:"raw"`
	}
	err = db.NewQuery("SELECT id, raw FROM logs WHERE id IN (SELECT value FROM json_each({:ids}))").Bind(dbx.Params{"ids": string(list)}).All(&found)
	if err != nil {
		return err
	}
	w.stored, w.taken, w.insertions = map[string][]byte{}, map[string]named{}, map[string]*sql.Stmt{}
	for _, row := range found {
		w.stored[row.ID] = row.Raw
	}
	return nil
}

// take stores an entry.
func (w *writer) take(one *candidate) error {
	id := one.entry.ID
	if err := w.insert(one.entry, one.canonical); err != nil {
		return err
	}
	w.stored[id], w.taken[id] = one.canonical, named{one.entry.What, one.entry.Bin, one.entry.By}
	w.feed = append(w.feed, feedRow{Logs, id})
	w.receipt.Entries = append(w.receipt.Entries, one.entry)
	return nil
}

func (w *writer) close() {
	for _, statement := range w.insertions {
		_ = statement.Close() // what went wrong with it was told by Exec
	}
}

func idSet(db dbx.Builder, table string) (map[string]bool, error) {
	var ids []string
	if err := db.Select("id").From(table).Column(&ids); err != nil {
		return nil, err
	}
	set := make(map[string]bool, len(ids))
	for _, id := range ids {
		set[id] = true
	}
	return set, nil
}

// insert writes one entry. A statement names only the columns of what the
// entry says; the others are empty by themselves.
func (w *writer) insert(e husbandry.Entry, canonical []byte) error {
	columns := columnsOf[e.What]
	statement := w.insertions[e.What]
	if statement == nil {
		var err error
		query := fmt.Sprintf("INSERT INTO logs (`%s`) VALUES (?%s)", strings.Join(columns, "`, `"), strings.Repeat(", ?", len(columns)-1))
		if statement, err = executor(w.tx).Prepare(query); err != nil {
			return err
		}
		w.insertions[e.What] = statement
	}
	values := make([]any, len(columns))
	for i, column := range columns {
		if column == "raw" {
			values[i] = string(canonical)
		} else {
			values[i] = entryValues[column](&e)
		}
	}
	_, err := statement.Exec(values...)
	return err
}

// executor is a transaction's own connection: binding many rows by dbx's
// names takes as long as the database does with them.
func executor(tx core.App) dbx.Executor {
	return tx.NonconcurrentDB().(*dbx.Tx).Builder.(interface{ Executor() dbx.Executor }).Executor()
}

// columnsOf are the columns that an entry fills, by what it says.
var columnsOf = func() map[string][]string {
	all := map[string][]string{}
	for _, what := range husbandry.Whats() {
		columns := []string{"what", "raw"}
		for _, rule := range husbandry.EntryFields(what) {
			columns = append(columns, rule.Name)
		}
		all[what] = columns
	}
	return all
}()

// entryValues are an entry's values as its table's columns hold them.
var entryValues = map[string]func(e *husbandry.Entry) any{
	"id":            func(e *husbandry.Entry) any { return e.ID },
	"at":            func(e *husbandry.Entry) any { return dateTime(e.At) },
	"what":          func(e *husbandry.Entry) any { return e.What },
	"bin":           func(e *husbandry.Entry) any { return e.Bin },
	"by":            func(e *husbandry.Entry) any { return e.By },
	"device":        func(e *husbandry.Entry) any { return e.Device },
	"feel":          func(e *husbandry.Entry) any { return e.Feel },
	"water_ml":      func(e *husbandry.Entry) any { return e.WaterML },
	"food":          func(e *husbandry.Entry) any { return e.Food },
	"pieces":        func(e *husbandry.Entry) any { return e.Pieces },
	"side":          func(e *husbandry.Entry) any { return e.Side },
	"cooked":        func(e *husbandry.Entry) any { return e.Cooked },
	"of":            func(e *husbandry.Entry) any { return e.Of },
	"left":          func(e *husbandry.Entry) any { return e.Left },
	"mould":         func(e *husbandry.Entry) any { return e.Mould },
	"removed":       func(e *husbandry.Entry) any { return e.Removed },
	"leaves":        func(e *husbandry.Entry) any { return e.Leaves },
	"handfuls":      func(e *husbandry.Entry) any { return e.Handfuls },
	"batch":         func(e *husbandry.Entry) any { return e.Batch },
	"substrate":     func(e *husbandry.Entry) any { return e.Substrate },
	"mix":           func(e *husbandry.Entry) any { return e.Mix },
	"item":          func(e *husbandry.Entry) any { return e.Item },
	"found":         func(e *husbandry.Entry) any { return e.Found },
	"used":          func(e *husbandry.Entry) any { return e.Used },
	"added":         func(e *husbandry.Entry) any { return e.Added },
	"temperature_c": func(e *husbandry.Entry) any { return maybe(e.TemperatureC) },
	"humidity_pct":  func(e *husbandry.Entry) any { return maybe(e.HumidityPct) },
	"struck":        func(e *husbandry.Entry) any { return e.Struck },
	"photo":         func(e *husbandry.Entry) any { return e.Photo },
	"note":          func(e *husbandry.Entry) any { return e.Note },
	"seen":          func(e *husbandry.Entry) any { return e.Seen },
	"count":         func(e *husbandry.Entry) any { return e.Count },
	"place":         func(e *husbandry.Entry) any { return e.Place },
	"rim":           func(e *husbandry.Entry) any { return e.Rim },
	"mesh":          func(e *husbandry.Entry) any { return e.Mesh },
	"lid":           func(e *husbandry.Entry) any { return e.Lid },
}

// entryRow is an entry as its table holds it.
func entryRow(e husbandry.Entry, canonical []byte) dbx.Params {
	row := dbx.Params{"raw": string(canonical)}
	for column, value := range entryValues {
		row[column] = value(&e)
	}
	return row
}

func maybe(x *float64) any {
	if x == nil {
		return nil
	}
	return *x
}

// dateTime is the form of PocketBase's date columns, whose order as text is
// the order in time.
func dateTime(t time.Time) string { return t.UTC().Format(types.DefaultDateLayout) }

// A named is what matters of an entry to one that names it; the zero value
// where there is none.
type named struct{ what, bin, by string }

// named returns the entry with an id.
func (w *writer) named(id string) (found named, err error) {
	if found, taken := w.taken[id]; taken {
		return found, nil
	}
	err = w.tx.NonconcurrentDB().NewQuery("SELECT what, bin, [[by]] FROM logs WHERE id = {:id}").
		Bind(dbx.Params{"id": id}).Row(&found.what, &found.bin, &found.by)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return found, err
}

// number gives everything that was written its number in the feed. It runs
// last in the transaction, many rows a statement.
func (w *writer) number() error {
	w.receipt.First = 1
	if len(w.feed) == 0 {
		return nil
	}
	rows := make([][2]string, len(w.feed))
	for i, row := range w.feed {
		rows[i] = [2]string{row.sort, row.record}
	}
	list, err := json.Marshal(rows)
	if err != nil {
		return err
	}
	result, err := w.tx.NonconcurrentDB().NewQuery(`INSERT INTO feed (sort, record)
		SELECT value ->> 0, value ->> 1 FROM json_each({:rows}) ORDER BY key`).Bind(dbx.Params{"rows": string(list)}).Execute()
	if err != nil {
		return err
	}
	if w.receipt.Last, err = result.LastInsertId(); err != nil {
		return err
	}
	w.receipt.First = w.receipt.Last - int64(len(w.feed)) + 1
	return nil
}

// sheet reads one sheet; one with an empty id where there is none.
func (s *Store) sheet(app core.App, sort, id string) (husbandry.Sheet, error) {
	raw, err := value[[]byte](app.ConcurrentDB(), "SELECT [["+stampedColumn+"]] FROM {{"+sort+"}} WHERE id = {:id}", dbx.Params{"id": id})
	if err != nil || raw == nil {
		return husbandry.Sheet{}, err
	}
	return unpack(sort, id, raw)
}

func unpack(sort, id string, raw []byte) (husbandry.Sheet, error) {
	sheet := husbandry.Sheet{Sheet: sort, ID: id}
	if err := json.Unmarshal(raw, &sheet.Fields); err != nil {
		return husbandry.Sheet{}, fmt.Errorf("store: the %s record %s: %w", sort, id, err)
	}
	return sheet, nil
}

// writeSheet writes a sheet, its columns made from its fields.
func writeSheet(tx core.App, sheet husbandry.Sheet, isNew bool) error {
	row := sheetRow(sheet)
	stamped, err := json.Marshal(sheet.Fields)
	if err != nil {
		return err
	}
	row[stampedColumn] = string(stamped)
	db := tx.NonconcurrentDB()
	if isNew {
		_, err = db.Insert(sheet.Sheet, row).Execute()
	} else {
		_, err = db.Update(sheet.Sheet, row, dbx.HashExp{"id": sheet.ID}).Execute()
	}
	return err
}

// sheetRow is a sheet's values as its table holds them.
func sheetRow(sheet husbandry.Sheet) dbx.Params {
	row := dbx.Params{"id": sheet.ID}
	for _, rule := range husbandry.SheetFields(sheet.Sheet) {
		row[rule.Name] = columnValue(rule, sheet.Fields[rule.Name].Value)
	}
	return row
}

// columnValue turns a field's JSON into what its column holds; what is absent
// becomes the column's empty value.
func columnValue(rule husbandry.Field, raw json.RawMessage) any {
	switch rule.Type {
	case husbandry.Number, husbandry.Whole:
		var x float64
		_ = json.Unmarshal(raw, &x)
		return x
	case husbandry.Truth:
		var b bool
		_ = json.Unmarshal(raw, &b)
		return b
	case husbandry.List:
		if len(raw) == 0 {
			return "null"
		}
		return string(raw)
	default:
		var text string
		_ = json.Unmarshal(raw, &text)
		return text
	}
}
