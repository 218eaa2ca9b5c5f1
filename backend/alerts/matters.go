package alerts

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// Judgement.
const (
	// riskLead is how long before the depth of a damp side is likely dry its
	// alert comes: long enough to be home first.
	riskLead = 12 * time.Hour
	// riskUseful is how long after that it is still of use.
	riskUseful = 24 * time.Hour
	// riskAfter is how long after somebody was at a damp side nobody is told
	// of it: they know.
	riskAfter = 6 * time.Hour
	// grace is how long after quiet hours or a snooze an alert is still of
	// use whose window closed in them.
	grace = 4 * time.Hour
)

// A matter is something that may be told by an alert of its own: one standing
// of a chore, from at until it is of use no longer.
type matter struct {
	sort, instance string
	bin, of, food  string
	at, until      time.Time
}

// inStep returns what may be told by an instant, read while nothing came in: a
// look that is here already and that the chores do not know of yet would pass
// for one that left the food in.
func (a *Alerts) inStep(by time.Time) ([]matter, error) {
	for range 5 {
		known := a.forecast.Knows()
		all, err := a.matters(by)
		if err != nil {
			return nil, err
		}
		if last, err := a.store.Last(); err != nil || last <= known {
			return all, err
		}
		if err := a.forecast.Refresh(); err != nil {
			return nil, err
		}
	}
	return nil, nil // a phone sends a month's entries: the next tick is in a minute
}

// matters returns what may be told by an instant.
func (a *Alerts) matters(by time.Time) ([]matter, error) {
	chores, err := a.store.ChoresDue(by)
	if err != nil {
		return nil, err
	}
	var all []matter
	for _, chore := range chores {
		m, is, err := a.matterOf(chore, by)
		if err != nil {
			return nil, err
		}
		if is && !m.at.After(by) {
			all = append(all, m)
		}
	}
	return all, nil
}

// matterOf makes a matter of a chore; is is false for one that has no alert
// of its own, or surely not by then.
func (a *Alerts) matterOf(chore husbandry.Chore, by time.Time) (m matter, is bool, err error) {
	m = matter{bin: chore.Bin, of: chore.Of, food: chore.Food}
	switch chore.Chore {
	case husbandry.ChoreLeftovers:
		m.sort, m.at, m.until = husbandry.AlertLeftovers, chore.Due, chore.Closes
		if m.at.After(by) {
			return m, false, nil
		}
		looks, last, err := a.store.Looks(chore.Of)
		// A look that the chores do not know of yet: this one is of before it.
		if err != nil || last.After(m.at) {
			return m, false, err
		}
		m.instance = leftoversInstance(chore.Of, looks)
		return m, true, nil
	case husbandry.ChoreFeel:
		m.sort, m.at, m.until = husbandry.AlertDampness, later(chore.Due, chore.Closes.Add(-riskLead)), chore.Closes.Add(riskUseful)
		if m.at.After(by) {
			return m, false, nil
		}
		last, at, err := a.store.LastDamp(chore.Bin)
		if err != nil || last == "" { // of a bin that nobody has felt yet, only the physics is known
			return m, false, err
		}
		m.instance = dampnessInstance(chore.Bin, last)
		m.at = later(m.at, at.Add(riskAfter))
		m.until = later(m.until, m.at.Add(riskUseful))
		return m, true, nil
	}
	return m, false, nil
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// leftoversInstance names one standing of a look: a feeding that was looked at
// and left in stands anew.
func leftoversInstance(feeding string, looks int) string {
	return fmt.Sprintf("%s %s %d", husbandry.AlertLeftovers, feeding, looks)
}

// dampnessInstance names one drying of a damp side, from the entry on that
// said last how damp it was.
func dampnessInstance(bin, last string) string {
	return strings.Join([]string{husbandry.AlertDampness, bin, last}, " ")
}

// stands reports whether nobody has settled what a delivery tells since it was
// planned. It asks the records themselves, at the last moment: the chores may
// be a survey behind.
func (a *Alerts) stands(d store.Delivery) (bool, error) {
	if d.Sort == husbandry.AlertWrong { // it may be about no bin
		struck, err := a.store.IsStruck(d.Of)
		return !struck, err
	}
	bin, err := a.store.Bin(d.Bin)
	if errors.Is(err, store.ErrUnknown) || err == nil && bin.Deleted {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	switch d.Sort {
	case husbandry.AlertLeftovers:
		struck, err := a.store.IsStruck(d.Of)
		if err != nil || struck {
			return false, err
		}
		looks, _, err := a.store.Looks(d.Of)
		return leftoversInstance(d.Of, looks) == d.Instance, err
	case husbandry.AlertDampness:
		last, _, err := a.store.LastDamp(d.Bin)
		return dampnessInstance(d.Bin, last) == d.Instance, err
	}
	return false, nil
}
