package chores

import (
	"time"

	"underlog/internal/husbandry"
)

// A Level is a gauge's level with its 90 % span. Damp: 1 is freshly watered.
// Leaves: 1 is plenty. Fresh: 1 is new substrate.
type Level struct {
	Mean float64 `json:"mean"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// A Lying is one feeding that has not been settled, with the odds that it is
// gone, and that it is mouldy and not gone, by now.
type Lying struct {
	Of     string    `json:"of"`
	Food   string    `json:"food"`
	Since  time.Time `json:"since"`
	Pieces int       `json:"pieces"`
	Gone   float64   `json:"gone"`
	Mouldy float64   `json:"mouldy"`
}

// A Glance is the state of one bin at an instant.
type Glance struct {
	Bin         string     `json:"bin"`
	Damp        Level      `json:"damp"`
	Leaves      Level      `json:"leaves"`
	Fresh       Level      `json:"fresh"`
	Dry         float64    `json:"dry"`  // chance that the damp side feels dry
	Risk        float64    `json:"risk"` // chance that it is dry in depth too
	Food        []Lying    `json:"food"`
	LastWatered *time.Time `json:"last_watered"`
	LastWaterML float64    `json:"last_water_ml"`
	LastOpened  *time.Time `json:"last_opened"`
	Renewed     string     `json:"renewed"` // a day, or empty where nobody knows
}

// A FanPoint is the distribution of the dampness level at an instant.
type FanPoint struct {
	At   time.Time `json:"at"`
	P05  float64   `json:"p05"`
	P25  float64   `json:"p25"`
	P50  float64   `json:"p50"`
	P75  float64   `json:"p75"`
	P95  float64   `json:"p95"`
	Dry  float64   `json:"dry"`
	Risk float64   `json:"risk"`
}

// A Mark is a reading or a dose to be drawn on the fan.
type Mark struct {
	At     time.Time `json:"at"`
	What   string    `json:"what"`
	Word   string    `json:"word"`
	Amount float64   `json:"amount"`
	By     string    `json:"by"`
}

// An Outlook is what the page of one bin shows.
type Outlook struct {
	Glance Glance            `json:"glance"`
	Chores []husbandry.Chore `json:"chores"`
	Fan    []FanPoint        `json:"fan"`
	Marks  []Mark            `json:"marks"`
}
