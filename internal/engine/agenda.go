package engine

import (
	"encoding/json"
	"fmt"
	"time"

	"underlog/internal/agenda"
	"underlog/internal/husbandry"
	"underlog/internal/ical"
)

func (e *Engine) agenda() *agenda.Household {
	return &agenda.Household{Room: e.shared.settings.Room, Bins: e.shared.bins, Foods: e.shared.settings.Foods}
}

// TripEvents are the visits of a trip as they are planned at an instant, as
// events that were never published.
func (e *Engine) TripEvents(trip husbandry.Trip, at time.Time) ([]ical.Event, error) {
	plan, err := e.planned(trip, at)
	if err != nil {
		return nil, err
	}
	return agenda.Visits(e.agenda(), trip, plan), nil
}

// RoundEvents are the rounds that the chores of the coming weeks come to, as
// events that were never published.
func (e *Engine) RoundEvents(at time.Time) []ical.Event {
	return agenda.Rounds(e.agenda(), e.Survey(at).Chores, at)
}

// filesSince is where the sequences of files begin to count.
var filesSince = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

// TripCalendar is the calendar of a trip as a file. Nobody keeps what was in
// the file before, so its sequences are the minutes that have gone by: a later
// file takes the place of an earlier one.
func (e *Engine) TripCalendar(trip husbandry.Trip, at time.Time) ([]byte, error) {
	events, err := e.TripEvents(trip, at)
	if err != nil {
		return nil, err
	}
	for i := range events {
		events[i].Sequence = int(at.Sub(filesSince).Minutes())
		events[i].Modified = at
	}
	return ical.Calendar{Name: trip.Name, Zone: at.Location(), Made: at, Events: events}.Bytes(), nil
}

// TripCalendarJSON is TripCalendar for a trip in JSON.
func (e *Engine) TripCalendarJSON(raw []byte, at time.Time) (string, error) {
	trip := husbandry.UsualTrip()
	if err := json.Unmarshal(raw, &trip); err != nil {
		return "", fmt.Errorf("the trip cannot be read: %w", err)
	}
	text, err := e.TripCalendar(trip, at)
	return string(text), err
}
