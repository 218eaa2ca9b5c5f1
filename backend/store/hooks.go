package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

// dashboardDevice is the device in the stamps of edits made in the dashboard.
const dashboardDevice = "dashboard"

// bindHooks makes edits in the dashboard travel like any other, and closes
// what must not be edited there. The hooks see PocketBase's records only: the
// writer's own statements pass beneath them.
func (s *Store) bindHooks() {
	sorts := husbandry.SheetSorts()
	s.App.OnRecordCreate(sorts...).BindFunc(s.editInTransaction)
	s.App.OnRecordUpdate(sorts...).BindFunc(s.editInTransaction)
	s.App.OnRecordCreateExecute(sorts...).BindFunc(s.stampEdit)
	s.App.OnRecordUpdateExecute(sorts...).BindFunc(s.stampEdit)
	s.App.OnRecordAfterCreateSuccess(sorts...).BindFunc(s.tellEdit)
	s.App.OnRecordAfterUpdateSuccess(sorts...).BindFunc(s.tellEdit)
	s.App.OnRecordDelete(sorts...).BindFunc(func(e *core.RecordEvent) error {
		return errors.New("a record that other devices hold cannot be taken away from here: set its deleted field instead")
	})
	refuse := func(*core.RecordEvent) error {
		return errors.New("entries are written by the exchange alone and never changed: strike one in the app instead")
	}
	s.App.OnRecordCreate(Logs).BindFunc(refuse)
	s.App.OnRecordUpdate(Logs).BindFunc(refuse)
	s.App.OnRecordDelete(Logs).BindFunc(refuse)
	s.App.OnRecordAuthWithPasswordRequest(People).BindFunc(s.findByNameAsTyped)
}

// editInTransaction wraps the saving of a sheet's record, so that the edit
// and its number in the feed are one.
func (s *Store) editInTransaction(e *core.RecordEvent) error {
	outer := e.App
	err := outer.RunInTransaction(func(tx core.App) error {
		e.App = tx
		return e.Next()
	})
	e.App = outer
	return err
}

// stampEdit stamps every column that was edited and numbers the edit.
func (s *Store) stampEdit(e *core.RecordEvent) error {
	sort := e.Record.Collection().Name
	now := s.Clock.Now()
	stored, err := s.sheet(e.App, sort, e.Record.Id)
	if err != nil {
		return err
	}
	sheet := husbandry.Sheet{Sheet: sort, ID: e.Record.Id, Fields: map[string]husbandry.Stamped{}}
	var latest husbandry.Stamp
	for name, field := range stored.Fields {
		sheet.Fields[name] = field
		latest = max(latest, field.Stamp)
	}
	stamp := husbandry.NextStamp(now, dashboardDevice, latest)
	changed := false
	for _, rule := range husbandry.SheetFields(sort) {
		edited, err := columnJSON(rule, e.Record)
		if err != nil {
			return err
		}
		if sameColumn(rule, edited, stored.Fields[rule.Name].Value) {
			continue
		}
		changed = true
		sheet.Fields[rule.Name] = husbandry.Stamped{Value: edited, Stamp: stamp}
	}
	if problems := husbandry.CheckWhole(sort, sheet.Flat(), now); problems != nil {
		return problems
	}
	if sort == "rooms" && e.Record.Id != husbandry.RoomID {
		return fmt.Errorf("a household has one room, with the id %s", husbandry.RoomID)
	}
	e.Record.Set(stampedColumn, sheet.Fields)
	if err := e.Next(); err != nil || !changed {
		return err
	}
	_, err = e.App.NonconcurrentDB().Insert("feed", dbx.Params{"sort": sort, "record": e.Record.Id}).Execute()
	return err
}

func (s *Store) tellEdit(e *core.RecordEvent) error {
	if err := e.Next(); err != nil {
		return err
	}
	sheet, err := s.sheet(e.App, e.Record.Collection().Name, e.Record.Id)
	if err != nil {
		return err
	}
	cursor, err := s.Last()
	if err != nil {
		return err
	}
	s.tell(Change{Cursor: cursor, Sheets: []husbandry.Sheet{sheet}})
	return nil
}

// columnJSON reads a column of a record as the value of its field.
func columnJSON(rule husbandry.Field, record *core.Record) (json.RawMessage, error) {
	switch rule.Type {
	case husbandry.Number, husbandry.Whole:
		return json.Marshal(record.GetFloat(rule.Name))
	case husbandry.Truth:
		return json.Marshal(record.GetBool(rule.Name))
	case husbandry.List:
		raw, err := json.Marshal(record.Get(rule.Name))
		if err != nil || len(bytes.TrimSpace(raw)) == 0 {
			return json.RawMessage("null"), err
		}
		return raw, nil
	default:
		return json.Marshal(record.GetString(rule.Name))
	}
}

// sameColumn reports whether two values of a field look the same in their
// column: an absent number is 0 there, an absent text is empty.
func sameColumn(rule husbandry.Field, a, b json.RawMessage) bool {
	return fmt.Sprint(columnValue(rule, a)) == fmt.Sprint(columnValue(rule, b))
}
