package chores

import (
	"time"

	"underlog/internal/away"
)

// Stages of a trip at the time asked for.
const (
	StageBefore = "before"
	StageAway   = "away"
	StageBack   = "back"
)

// An Away is what a trip comes to: verdicts, what to set up, whom to send when.
// Lists by day run from the day of leaving to that of coming back.
type Away struct {
	Stage   string              `json:"stage"`
	SetUpAt time.Time           `json:"set_up_at"` // when bins are got ready; zero if that is past
	Days    []time.Time         `json:"days"`      // the end of the sitter's hours on each day; last: back home
	Bins    []AwayBin           `json:"bins"`      // in walking order
	Visits  []AwayVisit         `json:"visits"`
	Nobody  away.Trade          `json:"nobody"` // what it comes to if nobody comes
	Plan    away.Trade          `json:"plan"`
	Trades  []away.Trade        `json:"trades"`            // what fewer and more visits come to
	Cases   []AwayCase          `json:"cases"`             // what if the air is not the season's
	Foods   map[string]AwayFood `json:"foods"`             // that may be left lying: "springtails" and "none"
	UseUp   []AwayUseUp         `json:"use_up"`            // food in the larder that would not last, the first day first
	Done    []AwayDone          `json:"done"`              // visits that have been, the first first
	Odd     []AwayOdd           `json:"odd"`               // what was found that was unlikely, the first first
	Changed *AwayChange         `json:"changed,omitempty"` // while the trip is on: what the last visit made of the plan
}

// An AwayFood is what may lie until the return, and the chance that it turns mouldy.
// Slug is empty where nothing may.
type AwayFood struct {
	Slug   string  `json:"slug"`
	Mouldy float64 `json:"mouldy"`
}

// An AwayBin is one bin of a trip.
type AwayBin struct {
	Bin       string     `json:"bin"`
	Verdict   string     `json:"verdict"`
	Visits    int        `json:"visits"` // that it would need if somebody could come on any day
	Late      bool       `json:"late"`   // nobody can come in time
	Closed    bool       `json:"closed"`
	Untouched []float64  `json:"untouched"`       // odds of harm by the end of each day if nobody does anything
	Ready     []float64  `json:"ready,omitempty"` // and if it is only set up, where that changes something
	Planned   []float64  `json:"planned"`         // and with the set-up and the visits
	Served    []int      `json:"served"`          // days, from 0, on which the sitter opens it
	SetUp     *AwaySetUp `json:"set_up,omitempty"`
	Cases     []float64  `json:"cases"` // odds of harm by the return in each case
}

// An AwaySetUp is what to do to a bin the day before leaving.
type AwaySetUp struct {
	DoseML   float64            `json:"dose_ml,omitempty"` // if it is found as expected
	DoseIfML map[string]float64 `json:"dose_if_ml,omitempty"`
	Handfuls float64            `json:"handfuls,omitempty"`
	TakeOut  []Lying            `json:"take_out,omitempty"` // food that would turn mouldy
	Renew    *AwayRenewal       `json:"renew,omitempty"`    // out of the way of the trip
}

// An AwayRenewal is a renewal that would fall into a trip, and the week in which
// the levelling has it instead.
type AwayRenewal struct {
	Was    string `json:"was"`    // the day on which it is planned, or wanted
	Week   string `json:"week"`   // the Monday of the week instead
	Before bool   `json:"before"` // that is before leaving; else after coming back
}

// An AwayVisit is one day on which the sitter comes.
type AwayVisit struct {
	Day   int        `json:"day"`
	Date  string     `json:"date"`
	From  time.Time  `json:"from"`
	To    time.Time  `json:"to"`
	Stops []AwayStop `json:"stops"` // in walking order
}

// An AwayStop is what the sitter does to one bin.
type AwayStop struct {
	Bin      string             `json:"bin"`
	End      string             `json:"end"` // which end to feel and to water
	DoseML   float64            `json:"dose_ml"`
	DoseIfML map[string]float64 `json:"dose_if_ml"`         // by what is felt; 0: nothing to do
	Food     string             `json:"food"`               // to put in, or empty
	Handfuls float64            `json:"handfuls,omitempty"` // of leaves to add
	Closed   bool               `json:"closed"`
	Harm     float64            `json:"harm"` // odds of harm by then if the visits before are made
}

// An AwayCase is a trip in other air.
type AwayCase struct {
	Name    string  `json:"name"`
	Celsius float64 `json:"celsius"` // of the room
	Harmed  float64 `json:"harmed"`  // bins expected to come to harm under the plan
	// Unfit are the bins whose kind does not bear that temperature.
	Unfit []string `json:"unfit"`
}
