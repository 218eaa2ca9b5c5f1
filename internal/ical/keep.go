package ical

import (
	"slices"
	"time"
)

// remembered is how long an event is kept after it ended: whoever asks for the
// calendar less often has to learn that it is gone in another way. Judgement.
const remembered = 30 * 24 * time.Hour

// Update brings what was published up to what is so now. What is the same
// stays the same to the last bit; what changed, came, or is gone gets a higher
// Sequence and a later Modified; what is gone is Cancelled, so that it leaves
// the calendars that have it. What has begun is left as it was published: plans
// speak of what is still to come. now need have no Sequence and no Modified.
func Update(before, now []Event, at time.Time) []Event {
	at = at.UTC().Truncate(time.Second)
	planned := map[string]Event{}
	for _, event := range now {
		planned[event.UID] = event
	}
	var after []Event
	for _, old := range before {
		event, isPlanned := planned[old.UID]
		delete(planned, old.UID)
		switch {
		case old.End.Add(remembered).Before(at):
			continue
		case !old.Cancelled && !old.Start.After(at):
			event = old
		case !isPlanned && old.Cancelled, isPlanned && same(old, event):
			event = old
		case !isPlanned:
			event = changed(old, old, at)
			event.Cancelled = true
		default:
			event = changed(old, event, at)
		}
		after = append(after, event)
	}
	for _, event := range now {
		if _, isNew := planned[event.UID]; isNew {
			delete(planned, event.UID)
			event.Sequence, event.Modified = 0, at
			after = append(after, event)
		}
	}
	return Sorted(after)
}

// changed is an event that takes the place of another.
func changed(old, event Event, at time.Time) Event {
	event.Sequence = old.Sequence + 1
	event.Modified = at
	if !at.After(old.Modified) { // a clock that was set back
		event.Modified = old.Modified.Add(time.Second)
	}
	return event
}

// same reports whether two events say the same.
func same(a, b Event) bool {
	alarms := a.Alarm == nil && b.Alarm == nil || a.Alarm != nil && b.Alarm != nil && *a.Alarm == *b.Alarm
	return alarms && a.Start.Equal(b.Start) && a.End.Equal(b.End) && a.Summary == b.Summary &&
		a.Description == b.Description && a.Location == b.Location && a.Cancelled == b.Cancelled
}

// Equal reports whether two lists of events are the same to the last bit.
func Equal(a, b []Event) bool {
	return slices.EqualFunc(a, b, func(a, b Event) bool {
		return a.UID == b.UID && a.Sequence == b.Sequence && a.Modified.Equal(b.Modified) && same(a, b)
	})
}
