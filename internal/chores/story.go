package chores

import (
	"slices"
	"time"

	"underlog/internal/gauge"
)

// A story is a filter together with the events that it has taken, so that it
// is replayed only from where its events change. What it comes to is the same
// as that of a new one.
type story struct {
	filter *gauge.Filter
	params gauge.Params
	touch  []gauge.Touch
	begun  bool // filter is ready and has taken what is in taken
	taken  []gauge.Event
	marks  []mark // by how many events had been taken
}

// A mark is how far a filter had come after so many events.
type mark struct {
	taken int
	at    gauge.Mark
}

// A story can be taken up again from where it had come to the events of the
// day, and from some strides before its end: an entry that comes late, or a
// reading of the air, changes the last weeks and hardly ever more.
const (
	markStride = 12
	mostMarks  = 3
)

// follow brings the story to the end of events, under its gauge's own belief
// about the rate and the given touches, and reports whether it had to do
// anything. The first settled events are those that will hardly change: the
// story can be taken up again from after them. other, which may be nil, is a
// story that has taken just these, and whose touches leave the words as they
// are here.
func (s *story) follow(params gauge.Params, touch []gauge.Touch, events []gauge.Event, settled int, other *story, tables *gauge.Tables) bool {
	if s.filter == nil {
		s.filter = tables.New()
	}
	known := s.begun && s.params == params && slices.Equal(s.touch, touch)
	same := 0
	for known && same < min(len(s.taken), len(events)) && s.taken[same] == events[same] {
		same++
	}
	goesOn := known && same == len(s.taken)
	if goesOn && same == len(events) {
		s.keepMark(settled, other)
		return false
	}
	s.begun, s.params, s.touch = true, params, slices.Clone(touch)
	switch {
	case goesOn:
	case other != nil:
		other.filter.CopyTo(s.filter)
		s.filter.Trust(s.touch)
		same, s.marks = settled, s.marks[:0]
	case known && s.backTo(same):
		same = s.marks[len(s.marks)-1].taken
	default:
		s.filter.Reset(params, params.Rate, s.touch)
		same, s.marks = 0, s.marks[:0]
	}
	s.taken = append(s.taken[:0], events[:same]...)
	for i := same; i < len(events); i++ {
		s.keepMark(settled, other)
		s.filter.Take(&events[i])
		s.taken = append(s.taken, events[i])
	}
	s.keepMark(settled, other)
	return true
}

// backTo takes the filter back to the last mark within the first same events.
func (s *story) backTo(same int) bool {
	for len(s.marks) > 0 && s.marks[len(s.marks)-1].taken > same {
		s.marks = s.marks[:len(s.marks)-1]
	}
	if len(s.marks) == 0 {
		return false
	}
	s.filter.BackTo(&s.marks[len(s.marks)-1].at)
	return true
}

// keepMark keeps how far the filter has come if that is after the settled
// events, unless another story has kept it, or at the end of a stride.
func (s *story) keepMark(settled int, other *story) {
	n := len(s.taken)
	if n == 0 || n%markStride != 0 && (n != settled || other != nil) {
		return
	}
	last := len(s.marks) - 1
	if last >= 0 && s.marks[last].taken >= n {
		return
	}
	if last+1 == mostMarks { // the oldest gives its memory to the newest
		oldest := s.marks[0]
		copy(s.marks, s.marks[1:])
		s.marks = append(s.marks[:last], oldest)
	} else {
		s.marks = append(s.marks, mark{})
		last++
	}
	s.marks[last].taken = n
	s.filter.Keep(&s.marks[last].at)
}

// settledBy counts the events before an instant.
func (tr *track) settledBy(t time.Time) int {
	hours := t.Sub(tr.from).Hours()
	n := 0
	for n < len(tr.events) && tr.events[n].Hours < hours {
		n++
	}
	return n
}

// unbiased says whether touches leave all of the events' words as they are.
func unbiased(touch []gauge.Touch, events []gauge.Event) bool {
	for i := range events {
		if e := &events[i]; e.Kind <= gauge.Fine && e.Person < len(touch) && touch[e.Person].Bias != 0 {
			return false
		}
	}
	return true
}

// adopt takes over what another track of the same bin has replayed.
func (tr *track) adopt(old *track) {
	tr.taught, tr.told, tr.filter, tr.prior, tr.touch = old.taught, old.told, old.filter, old.prior, old.touch
}

// replay brings a track that nothing is learnt about from other bins to its
// last event, and reports whether it had to do anything.
func (tr *track) replay() bool {
	changed := tr.told.follow(tr.params, nil, tr.events, 0, nil, tr.tables)
	tr.filter, tr.prior = tr.told.filter, tr.params.Rate
	return changed
}

// teach replays the events before an instant as if the bin were the only one
// and every finger the room's usual. What that teaches the room is filled in
// where it is not as before, and teach reports so.
func (tr *track) teach(until time.Time, lesson *gauge.Lesson) bool {
	tr.settled = tr.settledBy(until)
	changed := tr.taught.follow(tr.params, nil, tr.events[:tr.settled], 0, nil, tr.tables)
	if changed {
		tr.taught.filter.Lesson(lesson)
	}
	return changed
}

// believe brings the track to its last event under a belief about the rate and
// the touches, and reports whether it had to do anything. The belief about the
// rate is about the rate now, and is exchanged without a replay.
func (tr *track) believe(prior gauge.RatePrior, touch []gauge.Touch) bool {
	other := &tr.taught
	if !unbiased(touch, tr.events) {
		other = nil
	}
	changed := tr.told.follow(tr.params, touch, tr.events, tr.settled, other, tr.tables)
	if !changed && tr.filter != nil && tr.prior == prior {
		return false
	}
	tr.prior, tr.touch, tr.fans = prior, slices.Clone(touch), [2]fanAt{}
	tr.filter = tr.told.under(tr.filter, prior)
	return true
}

// under copies a story's filter, under another belief about the rate.
func (s *story) under(into *gauge.Filter, prior gauge.RatePrior) *gauge.Filter {
	if into == nil {
		into = new(gauge.Filter)
	}
	s.filter.CopyTo(into)
	into.Reweigh(prior)
	return into
}
