package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"

	"github.com/pocketbase/dbx"

	"underlog/internal/husbandry"
)

// Damage is the error of a database in which something is not as it was
// written: a bad disk, or a hand in the file.
type Damage struct{ What string }

func (d *Damage) Error() string {
	return "the database is damaged (" + d.What + "): put the last backup in its place; the phones then bring back what it lacks"
}

func damaged(what string, args ...any) error { return &Damage{fmt.Sprintf(what, args...)} }

// Check looks for damage. SQLite's own check finds a broken structure and an
// index that disagrees with its table, but has no sums over what is written
// in the cells. So every record is compared with itself besides: the whole
// record is stored beside the columns that are made from it.
func (s *Store) Check() error {
	db := s.App.ConcurrentDB()
	verdict, err := value[string](db, "PRAGMA integrity_check(1)", nil)
	if err != nil {
		return damaged("%v", err)
	}
	if verdict != "ok" {
		return damaged("%s", verdict)
	}
	for _, check := range []func(dbx.Builder) error{checkEntries, checkSheets, checkFeed, checkPeople} {
		if err := check(db); err != nil {
			return err
		}
	}
	return nil
}

func checkEntries(db dbx.Builder) error {
	return eachRow(db, Logs, func(row dbx.NullStringMap) error {
		var entry husbandry.Entry
		raw := []byte(row["raw"].String)
		if err := json.Unmarshal(raw, &entry); err != nil {
			return damaged("entry %s: %v", row["id"].String, err)
		}
		canonical, err := json.Marshal(entry)
		if err != nil || !bytes.Equal(canonical, raw) {
			return damaged("entry %s is not as it was written", row["id"].String)
		}
		return compare("entry", row, entryRow(entry, canonical))
	})
}

func checkSheets(db dbx.Builder) error {
	for _, sort := range husbandry.SheetSorts() {
		err := eachRow(db, sort, func(row dbx.NullStringMap) error {
			sheet, err := unpack(sort, row["id"].String, []byte(row[stampedColumn].String))
			if err != nil {
				return damaged("%v", err)
			}
			for name, field := range sheet.Fields {
				if !field.Stamp.Readable() {
					return damaged("%s of the %s record %s has the stamp %q", name, sort, sheet.ID, field.Stamp)
				}
			}
			return compare(sort, row, sheetRow(sheet))
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// checkFeed finds entries and sheets without a number: no phone would ever
// hear of them.
func checkFeed(db dbx.Builder) error {
	for _, table := range append(husbandry.SheetSorts(), Logs) {
		id, err := value[string](db, "SELECT id FROM {{"+table+"}} WHERE id NOT IN (SELECT record FROM feed WHERE sort = {:sort}) LIMIT 1",
			dbx.Params{"sort": table})
		if err != nil {
			return err
		}
		if id != "" {
			return damaged("the %s record %s has no number in the feed", table, id)
		}
	}
	return nil
}

func checkPeople(db dbx.Builder) error {
	return eachRow(db, People, func(row dbx.NullStringMap) error {
		name, role := row["name"].String, row["role"].String
		if Username(name) != row["username"].String || role != Owner && role != Helper {
			return damaged("the account of %q is not as it was written", name)
		}
		return nil
	})
}

func eachRow(db dbx.Builder, table string, look func(dbx.NullStringMap) error) error {
	rows, err := db.Select().From(table).Rows()
	if err != nil {
		return damaged("%s: %v", table, err)
	}
	defer rows.Close()
	for rows.Next() {
		row := dbx.NullStringMap{}
		if err := rows.ScanMap(row); err != nil {
			return damaged("%s: %v", table, err)
		}
		if err := look(row); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return damaged("%s: %v", table, err)
	}
	return nil
}

// compare says so where a column does not hold what it was made from.
func compare(table string, row dbx.NullStringMap, want dbx.Params) error {
	for name, value := range want {
		got := row[name]
		if !agree(got.String, text(value)) {
			return damaged("%s of the %s record %s is not as it was written", name, table, row["id"].String)
		}
	}
	return nil
}

func text(value any) string {
	switch value := value.(type) {
	case nil:
		return ""
	case bool:
		if value {
			return "1"
		}
		return "0"
	case float64:
		return strconv.FormatFloat(value, 'g', -1, 64)
	}
	return fmt.Sprint(value)
}

// agree bears the spellings that the database and its driver choose.
func agree(got, want string) bool {
	if got == want {
		return true
	}
	switch got {
	case "true":
		got = "1"
	case "false":
		got = "0"
	case "null":
		got = ""
	}
	if want == "null" {
		want = ""
	}
	if got == want {
		return true
	}
	a, errA := strconv.ParseFloat(got, 64)
	b, errB := strconv.ParseFloat(want, 64)
	if errA == nil && errB == nil {
		return a == b
	}
	var left, right any
	return json.Unmarshal([]byte(got), &left) == nil && json.Unmarshal([]byte(want), &right) == nil && reflect.DeepEqual(left, right)
}
