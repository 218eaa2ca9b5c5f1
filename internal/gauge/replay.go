package gauge

// An EventKind says what happened to a gauge.
type EventKind uint8

// What can happen.
const (
	Word    EventKind = iota // a reading: Event.Word by Event.Person
	Fine                     // looked in, seemed fine
	Dose                     // topped up by Event.Amount
	Renew                    // started afresh at Event.Amount (share of full), spread Event.Spread
	Nothing                  // time passes
)

// An Event is one entry as the gauge sees it.
type Event struct {
	Clock  float64 // cumulative clock, in the units of Params.FullClock
	Hours  float64 // since the same moment as Clock
	Kind   EventKind
	Word   int     // of a Word, 0 is the lowest
	Person int     // whose finger, an index into the touches
	Amount float64 // of a Dose or Renew
	Spread float64 // of a Renew
}

// Replay takes in events, which must be in the order in which they happened.
func (f *Filter) Replay(events []Event) {
	for i := range events {
		f.Take(&events[i])
	}
}

// Take takes in one event.
func (f *Filter) Take(e *Event) {
	f.Advance(e.Clock, e.Hours)
	switch e.Kind {
	case Word:
		f.Read(e.Word, e.Person)
	case Fine:
		f.LookedFine(e.Person)
	case Dose:
		f.Dose(e.Amount)
	case Renew:
		f.Renew(e.Amount, e.Spread)
	}
}
