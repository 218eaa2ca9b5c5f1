// Package forecast keeps the household's chores up to date: it holds the
// records in one engine, takes in what every exchange brings, and writes the
// chores that changed. The chores are derived: computed anew from the stored
// records they come to the same.
//
// The work is done after the commit and outside of it. Changes that arrive
// while it goes on are taken in together afterwards.
package forecast

import (
	"log/slog"
	"sync"
	"time"

	"underlog/backend/store"
	"underlog/internal/engine"
	"underlog/internal/husbandry"
)

const (
	history = 200 * 24 * time.Hour // the engine looks no further back
	stale   = time.Hour            // odds move with time even if nothing happens
)

// A Forecast computes the chores of one household.
type Forecast struct {
	store *store.Store
	log   *slog.Logger

	wake    chan struct{}
	stop    chan struct{}
	stopped chan struct{}

	queue struct { // what has come and is not taken in yet
		sync.Mutex
		changes []store.Change
	}

	work   sync.Mutex // guards what follows
	engine *engine.Engine
	at     time.Time // of the last survey
	knows  int64     // the feed's number of the latest change that is taken in

	listeners []Listener
}

// A Listener is told every survey, with the odds of the coming days, and may
// ask which entries of a bin it was made from, in the order in which they
// happened. It is called within the refresh, one at a time.
type Listener func(survey engine.Survey, entries func(bin string) []husbandry.Entry)

// Start loads the records and begins to follow their changes.
func Start(s *store.Store, log *slog.Logger, listeners ...Listener) (*Forecast, error) {
	f := &Forecast{
		store: s, log: log, engine: engine.New(), listeners: listeners,
		wake: make(chan struct{}, 1), stop: make(chan struct{}), stopped: make(chan struct{}),
	}
	s.OnChange(f.enqueue) // first, so that nothing falls between
	var err error
	if f.knows, err = s.Last(); err != nil {
		return nil, err
	}
	sheets, err := s.Sheets()
	if err != nil {
		return nil, err
	}
	entries, err := s.Entries(s.Clock.Now().Add(-history))
	if err != nil {
		return nil, err
	}
	f.engine.Put(sheets, entries)
	go f.follow()
	f.rouse()
	return f, nil
}

// Close waits for the work at hand and ends the following.
func (f *Forecast) Close() {
	close(f.stop)
	<-f.stopped
}

func (f *Forecast) enqueue(change store.Change) {
	f.queue.Lock()
	f.queue.changes = append(f.queue.changes, change)
	f.queue.Unlock()
	f.rouse()
}

func (f *Forecast) rouse() {
	select {
	case f.wake <- struct{}{}:
	default: // it is awake
	}
}

func (f *Forecast) follow() {
	defer close(f.stopped)
	for {
		select {
		case <-f.stop:
			return
		case <-f.wake:
			f.letPass()
			if err := f.Refresh(); err != nil {
				f.log.Error("the chores could not be computed", "error", err)
			}
		}
	}
}

// letPass waits until changes come no longer one upon the other: a phone that
// sends a month's entries shall have the machine to itself, and one survey
// after it is enough. It waits by the machine's own clock, whatever the
// household's may be.
func (f *Forecast) letPass() {
	const quiet, most = 300 * time.Millisecond, 10 * time.Second
	deadline := time.After(most)
	for {
		select {
		case <-f.wake:
		case <-time.After(quiet):
			return
		case <-deadline:
			return
		case <-f.stop:
			return
		}
	}
}

// Refresh returns when the stored chores agree with every change that was
// told before the call, at the clock's time.
func (f *Forecast) Refresh() error {
	f.work.Lock()
	defer f.work.Unlock()
	now := f.store.Clock.Now()
	if !f.takeIn() && now.Sub(f.at) < stale && !now.Before(f.at) {
		return nil
	}
	f.at = time.Time{} // until done, the chores count as never computed
	zone, err := f.store.Zone()
	if err != nil {
		return err
	}
	empty, err := f.store.Empty(f.store.App)
	if err != nil {
		return err
	}
	survey := engine.Survey{At: now.In(zone), Chores: []husbandry.Chore{}}
	if !empty {
		survey = f.engine.SurveyWithForecasts(survey.At)
	}
	if _, err := f.store.WriteChores(survey.Chores); err != nil {
		return err
	}
	for _, listen := range f.listeners {
		listen(survey, func(bin string) []husbandry.Entry { return f.engine.Entries(bin, survey.At) })
	}
	f.at = now
	return nil
}

// Trip works a trip out at the clock's time, with the state of every bin. What
// has changed is told of the bins of seen alone, which are of the trip.
func (f *Forecast) Trip(trip, seen husbandry.Trip) (engine.Away, []engine.Glance, error) {
	if err := f.Refresh(); err != nil {
		return engine.Away{}, nil, err
	}
	zone, err := f.store.Zone()
	if err != nil {
		return engine.Away{}, nil, err
	}
	f.work.Lock()
	defer f.work.Unlock()
	at := f.store.Clock.Now().In(zone)
	answer, err := f.engine.TripFor(trip, seen, at)
	return answer, f.engine.Glances(at), err
}

// Knows returns the feed's number up to which the stored chores know the
// records. What is read beside them may be newer.
func (f *Forecast) Knows() int64 {
	f.work.Lock()
	defer f.work.Unlock()
	return f.knows
}

// takeIn gives the engine what has come and reports whether anything had.
func (f *Forecast) takeIn() bool {
	f.queue.Lock()
	changes := f.queue.changes
	f.queue.changes = nil
	f.queue.Unlock()
	for _, change := range changes {
		f.knows = max(f.knows, change.Cursor)
		if change.Wiped {
			f.engine.Reset()
			continue
		}
		f.engine.Put(change.Sheets, change.Entries)
	}
	return len(changes) > 0
}
