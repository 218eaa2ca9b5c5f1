// Package engine is the one façade over the forecasting packages: records of
// a household go in, chores with their windows and the state of every bin
// come out. The server holds one Engine, the phone holds one (compiled to
// WebAssembly, package engine/wasm), and the command line makes one for each
// call; all three compute the same.
//
// An Engine is not safe for concurrent use. It reads no clock: every question
// carries its time, and the offset of that time is used to phrase days and
// hours in reasons.
package engine

import (
	"time"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
)

// The answers are made of these.
type (
	// Glance is the state of one bin now, as a drawing shows it.
	Glance = chores.Glance
	// Outlook is everything that the page of one bin shows.
	Outlook = chores.Outlook
)

// A Survey is the whole room at an instant.
type Survey struct {
	At      time.Time         `json:"at"`
	Chores  []husbandry.Chore `json:"chores"`  // by Due, then place
	Glances []Glance          `json:"glances"` // one for each bin in use, in walking order
}
