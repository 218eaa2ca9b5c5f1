package engine

import (
	"encoding/json"
	"fmt"
	"time"

	"underlog/internal/chores"
	"underlog/internal/honesty"
	"underlog/internal/husbandry"
)

// Trip works out what a trip comes to at an instant, whether it is among the
// records or only thought of. Its days are of the time's zone. While the trip
// is on, the answer says what has changed since the last visit, or since leaving:
// the plan of then is worked out anew from what was known then.
func (e *Engine) Trip(trip husbandry.Trip, at time.Time) (Away, error) {
	return e.TripFor(trip, trip, at)
}

// TripFor is Trip for somebody who sees some bins of the trip: what has changed
// is told of the bins of seen, since one of those was last opened.
func (e *Engine) TripFor(trip, seen husbandry.Trip, at time.Time) (Away, error) {
	answer, err := e.planned(trip, at)
	if err != nil {
		return answer, err
	}
	if since, on := e.room.PlannedBefore(seen); on {
		before := e.plannedAt(trip, since)
		answer.Changed = e.room.Changed(seen, before, &answer, since)
	}
	return answer, nil
}

// planned is the plan of a trip as it is at an instant, and nothing of how it
// came to be so.
func (e *Engine) planned(trip husbandry.Trip, at time.Time) (Away, error) {
	e.settle(at)
	answer, ok := e.room.Away(trip)
	if !ok {
		return answer, unreadable(trip)
	}
	return answer, nil
}

// A pastPlan is what a trip came to at an instant that is past. It is kept
// until a record arrives, so that a page that asks each minute does not replay.
type pastPlan struct {
	trip    string
	at      time.Time
	records int
	answer  *Away
}

// plannedAt is the plan of a trip as it was at an instant before the one that
// the room is settled at.
func (e *Engine) plannedAt(trip husbandry.Trip, at time.Time) *Away {
	raw, _ := json.Marshal(trip)
	if kept := e.past; kept != nil && kept.trip == string(raw) && kept.at.Equal(at) && kept.records == e.arrived {
		return kept.answer
	}
	since := countsSince(at)
	var list []chores.Record
	for _, bin := range e.shared.bins {
		list = append(list, chores.Record{Bin: bin, Entries: e.records.of(bin.ID, since, at)})
	}
	answer, _ := e.room.AwayBefore(trip, list, e.records.of("", since, at), since, at) // trips that cannot be read are not on
	e.past = &pastPlan{string(raw), at, e.arrived, answer}
	return answer
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
	Dry     float64    `json:"dry"`    // the chance told on leaving that it would then be dry
	Called  bool       `json:"called"` // Dry was told of what was felt: no water came before
}

// TripReport tells how a trip went, as far as it is known at an instant. What is
// scored is, of each bin, the first feel after leaving, be it on a visit or after
// the return; not if water came before it, of which the forecast knew nothing.
func (e *Engine) TripReport(trip husbandry.Trip, at time.Time) (TripReport, error) {
	leaves, returns, ok := trip.Span(at.Location())
	if !ok {
		return TripReport{}, unreadable(trip)
	}
	left, back := leaves.Add(chores.LeftBy), returns.AddDate(0, 0, 1)
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
		days, watered := map[string]bool{}, false
		for _, entry := range e.records.of(bin.ID, left, at) {
			if entry.At.After(left) && told.Found == "" && entry.What == husbandry.Feel {
				told.Found, told.FoundAt = entry.Feel, &entry.At
				told.Dry, _, _ = e.room.Told(bin.ID, entry.At)
				if told.Called = !watered; told.Called {
					happened, _ := honesty.Outcome(husbandry.ChoreFeel, *entry)
					results = append(results, honesty.Result{Bin: bin.ID, Chore: husbandry.ChoreFeel, Entry: entry.ID,
						At: entry.At, Odds: told.Dry, Happened: happened, Place: honesty.InTime})
				}
			}
			watered = watered || entry.At.After(left) && (entry.What == husbandry.Water || entry.What == husbandry.Renew)
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
