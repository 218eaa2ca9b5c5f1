package engine

import (
	"encoding/json"
	"fmt"
	"time"

	"underlog/internal/husbandry"
)

// batch is how records come in as JSON.
type batch struct {
	Sheets  []json.RawMessage `json:"sheets"`
	Entries []json.RawMessage `json:"entries"`
}

// PutJSON is Put for {"sheets": [...], "entries": [...]}. A record that
// cannot be typed fails the call; nothing of the batch is taken in then.
func (e *Engine) PutJSON(raw []byte) error {
	var records struct {
		Sheets  []husbandry.Sheet `json:"sheets"`
		Entries []husbandry.Entry `json:"entries"`
	}
	if err := json.Unmarshal(raw, &records); err != nil {
		return fmt.Errorf("the records cannot be read: %w", err)
	}
	e.Put(records.Sheets, records.Entries)
	return nil
}

// CheckJSON checks records against every rule and returns the problems by id
// of record; a sound record has none.
func CheckJSON(raw []byte, now time.Time) (map[string]husbandry.Problems, error) {
	var records batch
	if err := json.Unmarshal(raw, &records); err != nil {
		return nil, fmt.Errorf("the records cannot be read: %w", err)
	}
	found := map[string]husbandry.Problems{}
	for _, sheet := range records.Sheets {
		if _, problems := husbandry.CheckSheet(sheet, now); problems != nil {
			found[idOf(sheet)] = problems
		}
	}
	for _, entry := range records.Entries {
		if _, problems := husbandry.CheckEntry(entry, now); problems != nil {
			found[idOf(entry)] = problems
		}
	}
	return found, nil
}

func idOf(raw json.RawMessage) string {
	var record struct {
		ID string `json:"id"`
	}
	_ = json.Unmarshal(raw, &record)
	return record.ID
}

// TripJSON is Trip for a trip in JSON. What it lacks is as usual.
func (e *Engine) TripJSON(raw []byte, at time.Time) (Away, error) {
	trip := husbandry.UsualTrip()
	if err := json.Unmarshal(raw, &trip); err != nil {
		return Away{}, fmt.Errorf("the trip cannot be read: %w", err)
	}
	return e.Trip(trip, at)
}

// FeedingJSON is Feeding for an order in JSON.
func (e *Engine) FeedingJSON(raw []byte, at time.Time) (Feeding, error) {
	var order FeedingOrder
	if err := json.Unmarshal(raw, &order); err != nil {
		return Feeding{}, fmt.Errorf("the feeding cannot be read: %w", err)
	}
	return e.Feeding(order, at), nil
}

// TripReportJSON is TripReport for a trip in JSON.
func (e *Engine) TripReportJSON(raw []byte, at time.Time) (TripReport, error) {
	trip := husbandry.UsualTrip()
	if err := json.Unmarshal(raw, &trip); err != nil {
		return TripReport{}, fmt.Errorf("the trip cannot be read: %w", err)
	}
	return e.TripReport(trip, at)
}
