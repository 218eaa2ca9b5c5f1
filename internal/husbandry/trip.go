package husbandry

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
)

// A Trip is a time that the owner is away, and what is known of who comes by.
// Days are of the household's zone.
type Trip struct {
	ID       string   `json:"id"`
	Name     string   `json:"name"`
	Leaves   string   `json:"leaves"`         // the day of leaving
	Returns  string   `json:"returns"`        // the day of coming back
	Days     []string `json:"days,omitempty"` // on which the sitter can come
	FromHour int      `json:"from_hour"`      // from this full hour on
	ToHour   int      `json:"to_hour"`        // until this one
	Sitter   string   `json:"sitter,omitempty"`
	Call     string   `json:"call,omitempty"`   // whom to call if something is wrong
	Bins     []string `json:"bins,omitempty"`   // ids; empty is all
	Closed   []string `json:"closed,omitempty"` // ids of bins that no sitter should open
	Note     string   `json:"note,omitempty"`
	Deleted  bool     `json:"deleted,omitempty"`
}

// Bounds of a trip's lists.
const (
	LongestTrip  = 90 // days
	MostTripBins = 500
)

var tripFields = []Field{
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "leaves", Type: Date, Required: true},
	{Name: "returns", Type: Date, Required: true},
	{Name: "days", Type: List},
	{Name: "from_hour", Type: Whole, Min: 0, Max: 23, Unit: "o'clock"},
	{Name: "to_hour", Type: Whole, Min: 1, Max: 24, Unit: "o'clock"},
	{Name: "sitter", Type: Text, Max: 80},
	{Name: "call", Type: Text, Max: 200},
	{Name: "bins", Type: List},
	{Name: "closed", Type: List},
	{Name: "note", Type: Text, Max: 2000},
}

// UsualTrip returns what a new trip starts from: the sitter can come in the
// daytime (judgement).
func UsualTrip() Trip { return Trip{FromHour: 9, ToHour: 20} }

// AsTrip types a sheet of the sort "trips"; what it lacks keeps the usual.
func AsTrip(s Sheet) (Trip, error) {
	trip := UsualTrip()
	return trip, retype(s, &trip)
}

// checkTrip checks what a field's own rule cannot: the lists, and what belongs
// together, as far as both are given.
func checkTrip(flat map[string]json.RawMessage) Problems {
	problems := checkItems(flat, "days", LongestTrip, Field{Name: "days", Type: Date})
	for _, name := range []string{"bins", "closed"} {
		problems = append(problems, checkItems(flat, name, MostTripBins, Field{Name: name, Type: Ref})...)
	}
	leaves, left := dateOf(flat["leaves"])
	returns, back := dateOf(flat["returns"])
	if left && back && (returns.Before(leaves) || returns.After(leaves.AddDate(0, 0, LongestTrip))) {
		problems = append(problems, Problem{Field: "returns", Value: returns.Format(time.DateOnly),
			Accepted: fmt.Sprintf("give a day from %s on, at most %d days later", leaves.Format(time.DateOnly), LongestTrip)})
	}
	from, known := wholeOf(flat["from_hour"])
	to, toKnown := wholeOf(flat["to_hour"])
	if known && toKnown && to <= from {
		problems = append(problems, Problem{Field: "to_hour", Value: fmt.Sprint(to), Accepted: fmt.Sprintf("give a later hour than from_hour, %d", from)})
	}
	return problems
}

// checkItems checks every item of a list by the rule for one.
func checkItems(flat map[string]json.RawMessage, name string, most int, rule Field) Problems {
	var list []json.RawMessage
	if absent(flat[name]) || json.Unmarshal(flat[name], &list) != nil {
		return nil // the field's own rule has said so
	}
	if len(list) > most {
		return Problems{{Field: name, Value: fmt.Sprint(len(list), " items"), Accepted: fmt.Sprintf("give at most %d", most)}}
	}
	var problems Problems
	rule.Required = true
	for i, item := range list {
		if problem := rule.check(item, time.Time{}); problem != nil {
			problem.Field = fmt.Sprintf("%s %d", name, i+1)
			problems = append(problems, *problem)
		}
	}
	return problems
}

func dateOf(raw json.RawMessage) (day time.Time, ok bool) {
	var text string
	if json.Unmarshal(raw, &text) != nil {
		return day, false
	}
	day, err := time.Parse(time.DateOnly, text)
	return day, err == nil
}

func wholeOf(raw json.RawMessage) (n int, ok bool) {
	return n, !absent(raw) && json.Unmarshal(raw, &n) == nil
}

// Span returns the midnights that begin the day of leaving and the day of
// coming back. ok is false where the days cannot be read or are the wrong way
// round, which two devices can make of a sound trip.
func (t Trip) Span(zone *time.Location) (leaves, returns time.Time, ok bool) {
	leaves, err := time.ParseInLocation(time.DateOnly, t.Leaves, zone)
	returns, late := time.ParseInLocation(time.DateOnly, t.Returns, zone)
	ok = err == nil && late == nil && !returns.Before(leaves) && !returns.After(leaves.AddDate(0, 0, LongestTrip))
	return leaves, returns, ok
}

// Has reports whether a bin belongs to the trip.
func (t Trip) Has(bin string) bool { return len(t.Bins) == 0 || slices.Contains(t.Bins, bin) }

// SoonestTrip compares trips by when they begin. It suits slices.SortFunc.
func SoonestTrip(a, b Trip) int {
	return cmp.Or(strings.Compare(a.Leaves, b.Leaves), strings.Compare(a.ID, b.ID))
}
