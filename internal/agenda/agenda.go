// Package agenda says what a household has to do as the events of a calendar:
// the visits of a sitter, and the rounds that the chores of the coming weeks
// come to.
package agenda

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
	"underlog/internal/ical"
	"underlog/internal/units"
)

// A Household is what words need to know of it.
type Household struct {
	Room  husbandry.Room
	Bins  []husbandry.Bin // in walking order
	Foods map[string]husbandry.Food
}

func (h *Household) bin(id string) (husbandry.Bin, bool) {
	i := slices.IndexFunc(h.Bins, func(bin husbandry.Bin) bool { return bin.ID == id })
	if i < 0 {
		return husbandry.Bin{}, false
	}
	return h.Bins[i], true
}

func (h *Household) food(slug string) string {
	if food, known := h.Foods[slug]; known {
		return strings.ToLower(food.Name)
	}
	return slug
}

func title(bin husbandry.Bin) string { return bin.Place() + " " + bin.Name }

// Visits makes an event of every visit of a trip's plan: its span is the hours
// in which the sitter can come, and what it says is all that they need. There
// is one a day at most, so the day tells it apart: hours and bins may change,
// and it is still the same visit.
func Visits(h *Household, trip husbandry.Trip, plan chores.Away) []ical.Event {
	var events []ical.Event
	for _, visit := range plan.Visits {
		rule := "Damp already? Then there is nothing to do."
		lines := make([]string, 0, len(visit.Stops)+3)
		for _, stop := range visit.Stops {
			if stop.DoseIfML["damp"] > 0 {
				rule = "Where it says nothing to do for what you feel, give no water."
			}
			if bin, known := h.bin(stop.Bin); known {
				lines = append(lines, title(bin)+": "+h.toDo(stop))
			}
		}
		lines = append(lines, "", rule+" All other lids stay shut.")
		if call := strings.TrimSpace(trip.Call); call != "" {
			lines = append(lines, "If something is wrong, call "+call+".")
		}
		says := "Visit to the bins"
		if sitter := strings.TrimSpace(trip.Sitter); sitter != "" {
			says += " (" + sitter + ")"
		}
		alarm := time.Duration(0)
		events = append(events, ical.Event{
			UID: husbandry.RecordID("calendar", "visit "+trip.ID+" "+visit.Date), Start: visit.From, End: visit.To,
			Summary:     fmt.Sprintf("%s: %s", says, count(len(visit.Stops), "lid", "lids")),
			Description: strings.Join(lines, "\n"), Location: h.Room.Name, Alarm: &alarm,
		})
	}
	return events
}

var ends = map[string]string{"left": "the left end", "right": "the right end", "front": "the front", "back": "the back"}

// feels are the words of the damp side as a stranger understands them.
var feels = map[string]string{"barely": "barely damp"}

// toDo is what the sitter does to one bin.
func (h *Household) toDo(stop chores.AwayStop) string {
	system := units.System(h.Room.Units)
	text := "feel " + ends[stop.End] + ". "
	var parts []string
	var together []string
	dose := ""
	flush := func() {
		if len(together) > 0 {
			parts = append(parts, strings.Join(together, " or ")+": "+dose)
		}
		together = nil
	}
	for _, feel := range husbandry.FeelWords {
		ml, told := stop.DoseIfML[feel]
		if !told {
			continue
		}
		says := "nothing to do"
		if ml > 0 {
			says = system.SayDose(ml)
		}
		if says != dose {
			flush()
			dose = says
		}
		word := feel
		if plainer, known := feels[feel]; known {
			word = plainer
		}
		together = append(together, word)
	}
	flush()
	if said := strings.Join(parts, "; "); said != "" {
		text += strings.ToUpper(said[:1]) + said[1:] + "."
	}
	if stop.Food != "" {
		text += " Put in one piece of " + h.food(stop.Food) + "."
	}
	if stop.Handfuls > 0 {
		handfuls := "handfuls"
		if stop.Handfuls == 1 {
			handfuls = "handful"
		}
		text += fmt.Sprintf(" Add %g %s of leaves.", stop.Handfuls, handfuls)
	}
	if stop.Closed {
		text += " Better left shut: only shortly."
	}
	return text
}

// Of the rounds; judgement.
const (
	weeks     = 3                // of chores that are told
	eachBin   = 2 * time.Minute  // that a bin takes
	renewing  = 15 * time.Minute // and that it takes more if its substrate is renewed
	shortest  = 15 * time.Minute // of a round in a calendar
	usualHour = 18               // of a round whose chores were all due before its day
)

// Rounds makes an event of every day on which a round is wanted in the coming
// weeks: the fewest days such that every chore has one in its window. A chore
// that is overdue is of today. Each alone would flood a calendar.
func Rounds(h *Household, all []husbandry.Chore, at time.Time) []ical.Event {
	today := midnight(at)
	horizon := today.AddDate(0, 0, 7*weeks)
	var open []husbandry.Chore
	for _, chore := range all {
		if chore.Due.Before(horizon) {
			open = append(open, chore)
		}
	}
	slices.SortStableFunc(open, func(a, b husbandry.Chore) int { return a.Due.Compare(b.Due) })
	var events []ical.Event
	// Whatever is due first needs a round by then, and none is better than the
	// latest: what else is open on that day is done with it.
	for len(open) > 0 {
		day := later(midnight(open[0].Due.In(at.Location())), today)
		var now, rest []husbandry.Chore
		for _, chore := range open {
			if midnight(chore.Opens.In(at.Location())).After(day) {
				rest = append(rest, chore)
			} else {
				now = append(now, chore)
			}
		}
		if event, wanted := h.round(day, now); wanted {
			events = append(events, event)
		}
		open = rest
	}
	return events
}

// round is the round of one day; wanted is false where the bins of all chores
// are gone.
func (h *Household) round(day time.Time, list []husbandry.Chore) (event ical.Event, wanted bool) {
	start := hourOf(day, usualHour)
	for _, chore := range list {
		if due := chore.Due.In(day.Location()); midnight(due).Equal(day) {
			start = hourOf(day, due.Hour())
			break // they are by what is due first
		}
	}
	byBin := map[string][]string{}
	takes := time.Duration(0)
	for _, chore := range list {
		byBin[chore.Bin] = append(byBin[chore.Bin], h.what(chore))
		if chore.Chore == husbandry.ChoreRenew {
			takes += renewing
		}
	}
	var lines []string
	for _, bin := range h.Bins {
		if wants := byBin[bin.ID]; len(wants) > 0 {
			slices.Sort(wants)
			lines = append(lines, title(bin)+": "+strings.Join(slices.Compact(wants), ", "))
		}
	}
	takes += time.Duration(len(lines)) * eachBin
	takes = max(shortest, takes.Round(shortest))
	alarm := time.Duration(0)
	return ical.Event{
		UID: husbandry.RecordID("calendar", "round "+day.Format(time.DateOnly)), Start: start, End: start.Add(takes),
		Summary:     "Round: " + count(len(lines), "bin", "bins"),
		Description: strings.Join(lines, "\n"), Location: h.Room.Name, Alarm: &alarm,
	}, len(lines) > 0
}

// what is what a chore asks for.
func (h *Household) what(chore husbandry.Chore) string {
	switch chore.Chore {
	case husbandry.ChoreFeel:
		return "feel the damp side"
	case husbandry.ChoreLeftovers:
		return "look at the " + h.food(chore.Food)
	case husbandry.ChoreFeed:
		return "feed"
	case husbandry.ChoreLeaves:
		return "add leaves"
	case husbandry.ChoreRenew:
		return "renew the substrate"
	case husbandry.ChoreSetUp:
		return "get it ready for the trip"
	case husbandry.ChoreEscape:
		return "look for ways out"
	}
	return "look in"
}

func midnight(t time.Time) time.Time {
	year, month, day := t.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, t.Location())
}

func hourOf(day time.Time, hour int) time.Time {
	year, month, date := day.Date()
	return time.Date(year, month, date, hour, 0, 0, 0, day.Location())
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
