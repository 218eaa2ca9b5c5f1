package alerts

import (
	"time"

	"underlog/internal/husbandry"
)

// A Quiet is the part of every day in which nothing rings, from and to in
// minutes after midnight of the wall clock; it may span midnight. Equal ends
// are no quiet at all.
type Quiet struct{ From, To int }

// quietOf reads the quiet hours of settings that were checked.
func quietOf(settings husbandry.AlertSettings) Quiet {
	from, _ := husbandry.ClockMinute(settings.QuietFrom)
	to, _ := husbandry.ClockMinute(settings.QuietTo)
	return Quiet{from, to}
}

// Holds reports whether it is quiet at an instant.
func (q Quiet) Holds(at time.Time, zone *time.Location) bool { return q.After(at, zone).After(at) }

// Before returns at if it may ring then, and otherwise the last minute before
// the quiet around it began.
func (q Quiet) Before(at time.Time, zone *time.Location) time.Time {
	if !q.Holds(at, zone) {
		return at
	}
	local := at.In(zone)
	year, month, day := local.Date()
	if q.From > q.To && local.Hour()*60+local.Minute() < q.From {
		day-- // it began yesterday evening
	}
	return civil(year, month, day, q.From, zone).Add(-time.Minute)
}

// After returns due if it may ring then, and otherwise the instant at which
// the quiet around it ends in zone.
func (q Quiet) After(due time.Time, zone *time.Location) time.Time {
	local := due.In(zone)
	minute := local.Hour()*60 + local.Minute()
	if !q.contains(minute) {
		return due
	}
	year, month, day := local.Date()
	if q.From > q.To && minute >= q.From {
		day++ // the quiet of this evening ends tomorrow
	}
	end := civil(year, month, day, q.To, zone)
	// In an hour that comes twice the quiet has ended once already.
	if end.Before(due) {
		return due
	}
	return end
}

func (q Quiet) contains(minute int) bool {
	switch {
	case q.From == q.To:
		return false
	case q.From < q.To:
		return minute >= q.From && minute < q.To
	default:
		return minute >= q.From || minute < q.To
	}
}

// civil returns the instant of a wall clock's time on a day: where the clock
// is put forward over it the first instant after the gap, where it comes
// twice the first of the two.
func civil(year int, month time.Month, day, minute int, zone *time.Location) time.Time {
	// The zone's offset changes at most once around a day; between a day
	// before and a day after lies the change, if there is one.
	noon := time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Add(time.Duration(minute) * time.Minute)
	_, before := noon.Add(-26 * time.Hour).In(zone).Zone()
	_, after := noon.Add(26 * time.Hour).In(zone).Zone()
	early, late := noon.Add(-time.Duration(before)*time.Second), noon.Add(-time.Duration(after)*time.Second)
	matches := func(t time.Time) bool {
		local := t.In(zone)
		_, offset := local.Zone()
		return t.Add(time.Duration(offset) * time.Second).Equal(noon)
	}
	switch {
	case matches(early):
		return early
	case matches(late):
		return late
	}
	return gapEnd(late, early, zone)
}

// gapEnd finds the change of offset between two instants to the second.
func gapEnd(from, to time.Time, zone *time.Location) time.Time {
	_, before := from.In(zone).Zone()
	low, high := from.Unix(), to.Unix()
	for high-low > 1 {
		middle := (low + high) / 2
		if _, offset := time.Unix(middle, 0).In(zone).Zone(); offset == before {
			low = middle
		} else {
			high = middle
		}
	}
	return time.Unix(high, 0).In(zone)
}
