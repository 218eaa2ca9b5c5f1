package husbandry

import (
	"encoding/json"
	"slices"
	"time"
)

// A PassWish is what an owner asks for: a way in for one person and one trip.
type PassWish struct {
	Trip   string   `json:"trip"`
	Sitter string   `json:"sitter"` // the name
	Bins   []string `json:"bins"`   // ids; empty is the trip's
	Photos bool     `json:"photos"` // each bin may be shown with a photo
}

// PassFields are the rules of a PassWish.
func PassFields() []Field {
	return []Field{
		{Name: "trip", Type: Ref, Required: true},
		{Name: "sitter", Type: Text, Max: 80, Required: true},
		{Name: "bins", Type: List},
		{Name: "photos", Type: Truth},
	}
}

// CheckPassWish checks what an owner asks for. Names in also are let through.
func CheckPassWish(raw []byte, also ...string) (wish PassWish, problems Problems) {
	given, problem := object(raw)
	if problem != nil {
		return wish, Problems{*problem}
	}
	problems = checkFields(given, PassFields(), also, time.Time{}, "leave it out: a pass has no such field")
	problems = append(problems, checkItems(given, "bins", MostTripBins, Field{Name: "bins", Type: Ref})...)
	if len(problems) > 0 {
		return wish, problems
	}
	if err := json.Unmarshal(raw, &wish); err != nil {
		return wish, Problems{{Field: "record", Value: err.Error(), Accepted: "give one whole JSON object"}}
	}
	return wish, nil
}

// PassWhats is what an entry of a sitter may say. A note says that something
// is wrong; a strike takes back an entry of the sitter's own.
var PassWhats = []string{Feel, Water, Feed, Leftovers, Leaves, AddLeaves, Look, Photo, Note, Strike}

// How long a pass goes on after the trip; judgement.
const (
	// PassGraceDays is how many days after that of coming back what happens on
	// them is still taken: trains are late.
	PassGraceDays = 1
	// PassLate is how long after that entries of before are still taken: a phone
	// that had no signal must not lose its visit. Nothing is shown any more.
	PassLate = 30 * 24 * time.Hour
)

// PassSpan returns the instants between which a sitter's entries may lie: from
// the midnight that begins the day of leaving to before until. ok is false
// where the trip's days cannot be read.
func (t Trip) PassSpan(zone *time.Location) (from, until time.Time, ok bool) {
	from, returns, ok := t.Span(zone)
	return from, returns.AddDate(0, 0, 1+PassGraceDays), ok
}

// InPass reports whether a bin belongs to a pass for the trip that names bins
// of its own, or with none the trip's.
func (t Trip) InPass(bins []string, bin string) bool {
	return t.Has(bin) && (len(bins) == 0 || slices.Contains(bins, bin))
}

// SitterID is the id of a sitter in entries, made from their name as names are
// told apart: whoever comes a second time is known by the touch of the first.
func SitterID(username string) string { return RecordID("sitters", "sitter "+username) }
