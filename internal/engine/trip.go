package engine

import (
	"fmt"
	"time"

	"underlog/internal/honesty"
	"underlog/internal/husbandry"
)

// Trip works out what a trip comes to at an instant, whether it is among the
// records or only thought of. Its days are of the time's zone.
func (e *Engine) Trip(trip husbandry.Trip, at time.Time) (Away, error) {
	e.settle(at)
	answer, ok := e.room.Away(trip)
	if !ok {
		return answer, unreadable(trip)
	}
	return answer, nil
}

func unreadable(trip husbandry.Trip) error {
	return fmt.Errorf("the trip from %q to %q cannot be worked out: give two days in order, at most %d apart",
		trip.Leaves, trip.Returns, husbandry.LongestTrip)
}

// A TripReport is what happened on a trip, bin by bin, and how the forecasts
// that were made on leaving did.
type TripReport struct {
	Bins  []TripBin     `json:"bins"` // in walking order
	Score honesty.Tally `json:"score"`
}

// A TripBin is what happened to one bin.
type TripBin struct {
	Bin     string     `json:"bin"`
	Opened  int        `json:"opened"`   // days from leaving to coming back on which it was
	WaterML float64    `json:"water_ml"` // given on those
	Found   string     `json:"found"`    // the first word felt since leaving; empty before there is one
	FoundAt *time.Time `json:"found_at,omitempty"`
	Dry     float64    `json:"dry"` // the chance told on leaving that it would then be dry
}

// leftBy is the hour on the day of leaving at which the forecasts are taken.
const leftBy = 12 * time.Hour

// TripReport tells how a trip went, as far as it is known at an instant. What is
// scored is, of each bin, the first feel after leaving.
func (e *Engine) TripReport(trip husbandry.Trip, at time.Time) (TripReport, error) {
	leaves, returns, ok := trip.Span(at.Location())
	if !ok {
		return TripReport{}, unreadable(trip)
	}
	left, back := leaves.Add(leftBy), returns.AddDate(0, 0, 1)
	if at.Before(left) {
		left = at
	}
	e.settle(left)
	report := TripReport{Bins: []TripBin{}}
	var results []honesty.Result
	for _, bin := range e.shared.bins {
		if !trip.Has(bin.ID) {
			continue
		}
		told := TripBin{Bin: bin.ID}
		days := map[string]bool{}
		for _, entry := range e.records.of(bin.ID, left, at) {
			if entry.At.After(left) && told.Found == "" && entry.What == husbandry.Feel {
				told.Found, told.FoundAt = entry.Feel, &entry.At
				told.Dry, _, _ = e.room.Told(bin.ID, entry.At)
				happened, _ := honesty.Outcome(husbandry.ChoreFeel, *entry)
				results = append(results, honesty.Result{Bin: bin.ID, Chore: husbandry.ChoreFeel, Entry: entry.ID,
					At: entry.At, Odds: told.Dry, Happened: happened, Place: honesty.InTime})
			}
			if !entry.At.Before(back) {
				continue
			}
			switch entry.What {
			case husbandry.Feel, husbandry.Water, husbandry.Look, husbandry.Feed, husbandry.Leftovers, husbandry.Leaves, husbandry.AddLeaves:
				days[entry.At.In(at.Location()).Format(time.DateOnly)] = true
				told.WaterML += entry.WaterML
			}
		}
		told.Opened = len(days)
		report.Bins = append(report.Bins, told)
	}
	report.Score = honesty.NewReport(results).Dry
	e.settle(at)
	return report, nil
}
