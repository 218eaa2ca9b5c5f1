// Package ical writes calendars as RFC 5545 and RFC 7986 have them: published
// events with stable identities, in the zone of the household.
//
// It is our own because it runs on the phone too, where the domain stands on
// the standard library alone.
package ical

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// A Calendar is what one address or one file holds.
type Calendar struct {
	Name    string
	Zone    *time.Location // of the events; one without a name counts as UTC
	Made    time.Time      // for which the zone's rules are written if there are no events
	Refresh time.Duration  // how often it is worth asking again, in whole minutes; 0 says nothing
	Events  []Event
}

// An Event takes place once. Texts may have several lines.
type Event struct {
	UID         string    `json:"uid"`      // the same ever after
	Sequence    int       `json:"sequence"` // rises with every change
	Modified    time.Time `json:"modified"` // so does this
	Start       time.Time `json:"start"`
	End         time.Time `json:"end"` // later than Start
	Summary     string    `json:"summary"`
	Description string    `json:"description,omitempty"`
	Location    string    `json:"location,omitempty"`
	Cancelled   bool      `json:"cancelled,omitempty"`
	// Alarm is how long before the start one is reminded; nil is never.
	Alarm *time.Duration `json:"alarm,omitempty"`
}

// Product names who wrote a calendar.
const Product = "-//Underlog//Underlog//EN"

// Bytes writes the calendar.
func (c Calendar) Bytes() []byte {
	var w writer
	w.line("BEGIN", "VCALENDAR")
	w.line("VERSION", "2.0")
	w.line("PRODID", Product)
	w.line("CALSCALE", "GREGORIAN")
	w.line("METHOD", "PUBLISH")
	if c.Name != "" {
		w.text("NAME", c.Name)
		w.text("X-WR-CALNAME", c.Name) // what came before RFC 7986, and is still read more often
	}
	if c.Refresh > 0 {
		w.line("REFRESH-INTERVAL;VALUE=DURATION", duration(c.Refresh))
		w.line("X-PUBLISHED-TTL", duration(c.Refresh))
	}
	zone := named(c.Zone)
	if zone != time.UTC || len(c.Events) == 0 { // a calendar has at least one component
		w.zone(zone, c.span())
	}
	for i := range c.Events {
		w.event(&c.Events[i], zone)
	}
	w.line("END", "VCALENDAR")
	return []byte(w.out.String())
}

// named is a zone that can be told by its name, or else UTC.
func named(zone *time.Location) *time.Location {
	if zone == nil || !strings.Contains(zone.String(), "/") {
		return time.UTC
	}
	return zone
}

// span returns the first and the last instant that the calendar speaks of.
func (c Calendar) span() [2]time.Time {
	span := [2]time.Time{c.Made, c.Made}
	for i, event := range c.Events {
		if i == 0 || event.Start.Before(span[0]) {
			span[0] = event.Start
		}
		if i == 0 || event.End.After(span[1]) {
			span[1] = event.End
		}
	}
	return span
}

const (
	utcForm   = "20060102T150405Z"
	localForm = "20060102T150405"
)

type writer struct{ out strings.Builder }

func (w *writer) event(e *Event, zone *time.Location) {
	modified := e.Modified.UTC().Format(utcForm)
	w.line("BEGIN", "VEVENT")
	w.line("UID", e.UID)
	w.line("DTSTAMP", modified) // and not the time of asking, so that what is the same has the same bytes
	w.line("LAST-MODIFIED", modified)
	w.line("SEQUENCE", fmt.Sprint(e.Sequence))
	w.moment("DTSTART", e.Start, zone)
	w.moment("DTEND", e.End, zone)
	w.text("SUMMARY", e.Summary)
	if e.Description != "" {
		w.text("DESCRIPTION", e.Description)
	}
	if e.Location != "" {
		w.text("LOCATION", e.Location)
	}
	status := "CONFIRMED"
	if e.Cancelled {
		status = "CANCELLED"
	}
	w.line("STATUS", status)
	w.line("TRANSP", "TRANSPARENT") // it may be done at any time of its span
	if e.Alarm != nil && !e.Cancelled {
		w.line("BEGIN", "VALARM")
		w.line("ACTION", "DISPLAY")
		w.text("DESCRIPTION", e.Summary)
		w.line("TRIGGER", duration(-*e.Alarm))
		w.line("END", "VALARM")
	}
	w.line("END", "VEVENT")
}

// moment writes an instant as local time of the zone. One that comes twice, when
// clocks are set back, is written in UTC: it would mean the first of them (RFC
// 5545, 3.3.5), but some readers take the second.
func (w *writer) moment(name string, at time.Time, zone *time.Location) {
	at = at.In(zone)
	if zone == time.UTC || isTwice(at) {
		w.line(name, at.UTC().Format(utcForm))
		return
	}
	w.line(name+";TZID="+zone.String(), at.Format(localForm))
}

// isTwice reports whether an instant's local time comes twice.
func isTwice(at time.Time) bool {
	began, ends := at.ZoneBounds()
	if !began.IsZero() && at.Sub(began) < setBack(began) {
		return true
	}
	return !ends.IsZero() && ends.Sub(at) <= setBack(ends)
}

// setBack is how far clocks are set back at an instant.
func setBack(change time.Time) time.Duration {
	_, before := change.Add(-time.Second).Zone()
	_, after := change.Zone()
	return time.Duration(before-after) * time.Second
}

// zone writes the rules of a zone for a span of time: every change of its
// clocks by its day, since what changes by which rule is not ours to guess.
func (w *writer) zone(zone *time.Location, span [2]time.Time) {
	w.line("BEGIN", "VTIMEZONE")
	w.line("TZID", zone.String())
	for at := span[0].In(zone); ; {
		began, ends := at.ZoneBounds()
		name, offset := at.Zone()
		before := offset
		onset := time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC) // it was never otherwise
		if !began.IsZero() {
			_, before = began.Add(-time.Second).Zone()
			onset = began.UTC().Add(time.Duration(before) * time.Second)
		}
		sort := "STANDARD"
		if at.IsDST() {
			sort = "DAYLIGHT"
		}
		w.line("BEGIN", sort)
		w.line("DTSTART", onset.Format(localForm))
		w.line("TZOFFSETFROM", offsetOf(before))
		w.line("TZOFFSETTO", offsetOf(offset))
		w.text("TZNAME", name)
		w.line("END", sort)
		if ends.IsZero() || ends.After(span[1]) {
			break
		}
		at = ends
	}
	w.line("END", "VTIMEZONE")
}

func offsetOf(seconds int) string {
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	text := fmt.Sprintf("%c%02d%02d", sign, seconds/3600, seconds/60%60)
	if seconds%60 != 0 {
		text += fmt.Sprintf("%02d", seconds%60)
	}
	return text
}

// duration writes whole minutes (RFC 5545, 3.3.6).
func duration(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -d
	}
	minutes := int(d.Minutes())
	switch {
	case minutes == 0:
		return "PT0S"
	case minutes%(24*60) == 0:
		return fmt.Sprintf("%sP%dD", sign, minutes/(24*60))
	case minutes%60 == 0:
		return fmt.Sprintf("%sPT%dH", sign, minutes/60)
	}
	return fmt.Sprintf("%sPT%dM", sign, minutes)
}

// text writes a property whose value is text (RFC 5545, 3.3.11).
func (w *writer) text(name, value string) { w.line(name, Escape(value)) }

var escapes = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`)

// Escape makes a text fit to be a value. Signs that steer machines rather than
// being read are left out.
func Escape(text string) string {
	text = escapes.Replace(strings.ToValidUTF8(text, "\uFFFD"))
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' || r == 0x7F {
			return -1
		}
		return r
	}, text)
}

// longest is how many octets a line has at most, its end apart (RFC 5545, 3.1).
const longest = 75

// line writes a property, folded where it is long, and never within a sign.
func (w *writer) line(name, value string) {
	rest := name + ":" + value
	for most := longest; len(rest) > most; most = longest - 1 {
		cut := most
		for !utf8.RuneStart(rest[cut]) {
			cut--
		}
		w.out.WriteString(rest[:cut] + "\r\n ")
		rest = rest[cut:]
	}
	w.out.WriteString(rest + "\r\n")
}

// Soonest compares events by when they begin. It suits slices.SortFunc.
func Soonest(a, b Event) int {
	if c := a.Start.Compare(b.Start); c != 0 {
		return c
	}
	return strings.Compare(a.UID, b.UID)
}

// Sorted returns the events in order.
func Sorted(events []Event) []Event {
	sorted := slices.Clone(events)
	slices.SortFunc(sorted, Soonest)
	return sorted
}
