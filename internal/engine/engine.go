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

// An Engine holds the records of one household and what they come to.
type Engine struct {
	records records
	room    *chores.Room
	touched map[string]bool // bins whose records changed since room was made
	all     bool            // so did something that all bins share
	day     time.Time       // UTC day for which room counts entries
	counted int             // entries not later than the time asked for
	at      time.Time
}

// New returns an Engine without records.
func New() *Engine { return &Engine{records: newRecords(), touched: map[string]bool{}, all: true} }

// Reset forgets every record.
func (e *Engine) Reset() { *e = *New() }

// Put takes in records: sheets are merged, entries are kept once, and the
// order of arrival does not matter.
func (e *Engine) Put(sheets []husbandry.Sheet, entries []husbandry.Entry) {
	for _, sheet := range sheets {
		if !e.records.merge(sheet) {
			continue
		}
		if sheet.Sheet == "bins" {
			e.touched[sheet.ID] = true
		} else {
			e.all = true
		}
	}
	for _, entry := range entries {
		for _, bin := range e.records.add(entry) {
			e.touched[bin] = true
		}
	}
	e.all = e.all || e.touched[""] // the room's air
}

// Survey computes every chore and the state of every bin at an instant.
func (e *Engine) Survey(at time.Time) Survey { return e.survey(at, false) }

// SurveyWithForecasts is Survey with the odds of the coming days in each
// chore.
func (e *Engine) SurveyWithForecasts(at time.Time) Survey { return e.survey(at, true) }

func (e *Engine) survey(at time.Time, withForecasts bool) Survey {
	e.settle(at)
	survey := Survey{At: at, Chores: e.room.Chores(withForecasts), Glances: e.room.Glances()}
	if survey.Chores == nil {
		survey.Chores = []husbandry.Chore{}
	}
	return survey
}

// Outlook computes what the page of one bin shows; for a bin that is not
// there it is empty.
func (e *Engine) Outlook(bin string, at time.Time) Outlook {
	e.settle(at)
	outlook, _ := e.room.Outlook(bin)
	return outlook
}

// settle brings the room up to the time asked for: replayed anew where a
// record changed, or where another day or entry has come to count.
func (e *Engine) settle(at time.Time) {
	day := at.UTC().Truncate(24 * time.Hour)
	counted := e.records.countUntil(at)
	waiting := len(e.records.entries) != counted // entries dated later than asked for
	sameDay := e.room != nil && !e.all && day.Equal(e.day) && !at.Before(e.at)
	if sameDay && len(e.touched) == 0 && (!waiting || counted == e.counted) {
		e.room.At(at)
		return
	}
	var unchanged func(string) bool
	if sameDay && !waiting {
		unchanged = func(bin string) bool { return !e.touched[bin] }
	}
	var list []chores.Record
	for _, bin := range e.records.bins() {
		record := chores.Record{Bin: bin}
		if unchanged == nil || !unchanged(bin.ID) {
			record.Entries = e.records.of(bin.ID, at)
		}
		list = append(list, record)
	}
	settings := chores.Settings{Room: e.records.room(), Kinds: e.records.kinds(), Foods: e.records.foods()}
	e.room = chores.NewRoom(settings, list, e.records.of("", at), day.Add(-history), at, e.room, unchanged)
	e.touched, e.all, e.day, e.counted, e.at = map[string]bool{}, false, day, counted, at
}
