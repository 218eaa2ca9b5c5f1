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
// statements: saving them as PocketBase's records would take four times as
// long, and nothing listens for single entries.
type writer struct {
	store  *Store
	tx     core.App
	author Author
	now    time.Time

	bins, people            map[string]bool
	find, kindOf, insertion *dbx.Query

	feed    []feedRow
	receipt Receipt
}

type feedRow struct{ sort, record string }

func (w *writer) verdict(v Verdict) { w.receipt.Verdicts = append(w.receipt.Verdicts, v) }

func (w *writer) prepare() error {
	db := w.tx.NonconcurrentDB()
	var err error
	if w.bins, err = idSet(db, "bins"); err != nil {
		return err
	}
	if w.people, err = idSet(db, People); err != nil {
		return err
	}
	w.find = db.NewQuery("SELECT raw FROM logs WHERE id = {:id}").Prepare()
	w.kindOf = db.NewQuery("SELECT what FROM logs WHERE id = {:id}").Prepare()
	w.insertion = db.NewQuery(insertEntry).Prepare()
	return errors.Join(w.find.LastError, w.kindOf.LastError, w.insertion.LastError)
}

func (w *writer) close() {
	for _, query := range []*dbx.Query{w.find, w.kindOf, w.insertion} {
		if query != nil {
			query.Close()
		}
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

// insertEntry names its columns in the order of entryColumns.
var insertEntry = func() string {
	columns := append(append([]string{"id", "at", "what"}, entryColumns...), "raw")
	places := make([]string, len(columns))
	for i, name := range columns {
		columns[i], places[i] = "[["+name+"]]", "{:"+name+"}"
	}
	return fmt.Sprintf("INSERT INTO logs (%s) VALUES (%s)", strings.Join(columns, ", "), strings.Join(places, ", "))
}()

func (w *writer) insert(e husbandry.Entry, canonical []byte) error {
	_, err := w.insertion.Bind(entryRow(e, canonical)).Execute()
	return err
}

// entryRow is an entry as its table holds it.
func entryRow(e husbandry.Entry, canonical []byte) dbx.Params {
	return dbx.Params{
		"id": e.ID, "at": dateTime(e.At), "what": e.What, "bin": e.Bin, "by": e.By, "device": e.Device,
		"feel": e.Feel, "water_ml": e.WaterML, "food": e.Food, "pieces": e.Pieces, "side": e.Side, "cooked": e.Cooked,
		"of": e.Of, "left": e.Left, "mould": e.Mould, "removed": e.Removed, "leaves": e.Leaves, "handfuls": e.Handfuls,
		"batch": e.Batch, "substrate": e.Substrate, "mix": e.Mix,
		"temperature_c": maybe(e.TemperatureC), "humidity_pct": maybe(e.HumidityPct),
		"struck": e.Struck, "photo": e.Photo, "note": e.Note, "raw": string(canonical),
	}
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

// raw returns the entry with an id as it is stored, nil where there is none.
func (w *writer) raw(id string) ([]byte, error) {
	var raw []byte
	err := w.find.Bind(dbx.Params{"id": id}).Row(&raw)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return raw, err
}

// what returns what the entry with an id says, empty where there is none.
func (w *writer) what(id string) (string, error) {
	var what string
	err := w.kindOf.Bind(dbx.Params{"id": id}).Row(&what)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return what, err
}

// number gives everything that was written its number in the feed. It runs
// last in the transaction, many rows a statement.
func (w *writer) number() error {
	w.receipt.First = 1
	const most = 200
	for start := 0; start < len(w.feed); start += most {
		rows := w.feed[start:min(start+most, len(w.feed))]
		var query strings.Builder
		query.WriteString("INSERT INTO feed (sort, record) VALUES ")
		params := make(dbx.Params, 2*len(rows))
		for i, row := range rows {
			if i > 0 {
				query.WriteString(", ")
			}
			fmt.Fprintf(&query, "({:s%d}, {:r%d})", i, i)
			params[fmt.Sprint("s", i)], params[fmt.Sprint("r", i)] = row.sort, row.record
		}
		result, err := w.tx.NonconcurrentDB().NewQuery(query.String()).Bind(params).Execute()
		if err != nil {
			return err
		}
		if w.receipt.Last, err = result.LastInsertId(); err != nil {
			return err
		}
		w.receipt.First = w.receipt.Last - int64(start+len(rows)) + 1
	}
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
