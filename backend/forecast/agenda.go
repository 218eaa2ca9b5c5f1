package forecast

import (
	"time"

	"underlog/internal/engine"
	"underlog/internal/husbandry"
	"underlog/internal/ical"
)

// TripEvents are the visits of a trip as they are planned now.
func (f *Forecast) TripEvents(trip husbandry.Trip) (events []ical.Event, err error) {
	err = f.ask(func(e *engine.Engine, at time.Time) error {
		events, err = e.TripEvents(trip, at)
		return err
	})
	return events, err
}

// RoundEvents are the rounds of the coming weeks as they are foreseen now.
func (f *Forecast) RoundEvents() (events []ical.Event, err error) {
	err = f.ask(func(e *engine.Engine, at time.Time) error {
		events = e.RoundEvents(at)
		return nil
	})
	return events, err
}

// ask asks the engine something once it knows all that was told.
func (f *Forecast) ask(question func(e *engine.Engine, at time.Time) error) error {
	if err := f.Refresh(); err != nil {
		return err
	}
	zone, err := f.store.Zone()
	if err != nil {
		return err
	}
	f.work.Lock()
	defer f.work.Unlock()
	return question(f.engine, f.store.Clock.Now().In(zone))
}
