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
	"underlog/internal/renewal"
)

// The answers are made of these.
type (
	// Glance is the state of one bin now, as a drawing shows it.
	Glance = chores.Glance
	// Outlook is everything that the page of one bin shows.
	Outlook = chores.Outlook
	// Level is one gauge's, and Lying food that was put in, in a Glance.
	Level = chores.Level
	Lying = chores.Lying
	// Away is what a trip comes to.
	Away      = chores.Away
	AwayBin   = chores.AwayBin
	AwayVisit = chores.AwayVisit
	// AwayBinChange is a bin that is to be opened on other days than before.
	AwayBinChange = chores.AwayBinChange
	// FeedingOrder is a feeding as a keeper wants it, Feeding the plan for it.
	FeedingOrder = chores.FeedingOrder
	Feeding      = chores.Feeding
	// FoodPace is how fast a food moulds.
	FoodPace = chores.FoodPace
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
	shared  *shared // of records; nil where a sheet changed
	room    *chores.Room
	touched map[string]bool // bins whose records changed since room was made; "" for the room's air
	all     bool            // so did something that all bins share
	since   time.Time       // entries of room count from then
	at      time.Time       // to then
	arrived int             // records that have come, so far
	past    *pastPlan       // of the trip that was asked for last; nil before one
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
		e.shared = nil
		e.arrived++
		switch sheet.Sheet {
		case "bins":
			e.touched[sheet.ID] = true
		case "trips", "batches", "mixes", "stock", "supplies": // nothing is replayed for them
		default:
			e.all = true
		}
	}
	for _, entry := range entries {
		for _, bin := range e.records.add(entry) {
			e.touched[bin] = true
			e.arrived++
		}
	}
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

// Glances computes the state of every bin in use, in walking order.
func (e *Engine) Glances(at time.Time) []Glance {
	e.settle(at)
	return e.room.Glances()
}

// Outlook computes what the page of one bin shows; for a bin that is not
// there it is empty.
func (e *Engine) Outlook(bin string, at time.Time) Outlook {
	e.settle(at)
	outlook, _ := e.room.Outlook(bin)
	return outlook
}

// Renewals lays out the renewals of the coming year. steady leaves what the
// keeper knows where it is rather than bring every renewal near its goal.
func (e *Engine) Renewals(at time.Time, steady bool) (renewal.Calendar, error) {
	e.settle(at)
	order := renewal.Punctual
	if steady {
		order = renewal.Steady
	}
	return e.room.Renewals(order)
}

// Feeding plans a feeding of several bins.
func (e *Engine) Feeding(order FeedingOrder, at time.Time) Feeding {
	e.settle(at)
	return e.room.Feeding(order, e.piecesLeft(at))
}

// FoodPaces tells how fast each food moulds, as believed of any room and as this
// room has taught.
func (e *Engine) FoodPaces(at time.Time) []FoodPace {
	e.settle(at)
	return e.room.FoodPaces()
}

// settle brings the room up to the time asked for. What hangs on records and
// times that are as they were is taken over.
func (e *Engine) settle(at time.Time) {
	if e.shared == nil {
		e.shared = e.records.shared()
	}
	if e.room != nil {
		for _, bin := range e.records.between(e.at, at) {
			e.touched[bin] = true
		}
	}
	since := countsSince(at)
	var unchanged func(string) bool
	if e.room != nil && !e.all && since.Equal(e.since) {
		if len(e.touched) == 0 && e.room.Lasts(at) {
			e.room.At(at)
			e.room.Trips(e.shared.settings.Trips)
			e.room.Stock(e.shared.settings.Stock)
			e.at = at
			return
		}
		unchanged = func(bin string) bool { return !e.touched[bin] }
	}
	var list []chores.Record
	for _, bin := range e.shared.bins {
		record := chores.Record{Bin: bin}
		if unchanged == nil || !unchanged(bin.ID) {
			record.Entries = e.records.of(bin.ID, since, at)
		}
		list = append(list, record)
	}
	e.room = chores.NewRoom(e.shared.settings, list, e.records.of("", since, at), since, at, e.room, unchanged)
	e.touched, e.all, e.since, e.at = map[string]bool{}, false, since, at
}
