package passes_test

import (
	"encoding/json"
	"testing"
	"time"

	"underlog/internal/engine"
	"underlog/internal/husbandry"
)

// What a sitter feels counts in the server's forecast, by a touch of the
// sitter's own: the same words of the owner's would come to something else.
func TestASittersTouchIsTheirOwn(t *testing.T) {
	h := mustBegin(t, nil)
	for range 6 {
		h.Clock.Advance(2 * days)
		h.MustStore(nil, h.Log(h.first.ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "damp" }))
		h.Clock.Advance(time.Hour)
		h.sitter.MustStore(h.sitter.Feel(h.first.ID, "dry")) // a drier hand
	}
	plan, glances, err := h.Forecast.Trip(h.trip, h.trip)
	if err != nil || len(plan.Bins) != 2 || len(glances) != 3 {
		t.Fatalf("%d bins, %d glances (%v)", len(plan.Bins), len(glances), err)
	}
	sheets, err := h.Store.Sheets()
	if err != nil {
		t.Fatal(err)
	}
	entries, err := h.Store.Entries(time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	zone, err := h.Store.Zone()
	if err != nil {
		t.Fatal(err)
	}
	glance := func(change func(*husbandry.Entry) bool) string {
		t.Helper()
		e := engine.New()
		var counting []husbandry.Entry
		for _, entry := range entries {
			if change(&entry) {
				counting = append(counting, entry)
			}
		}
		e.Put(sheets, counting)
		raw, err := json.Marshal(e.Glances(h.Clock.Now().In(zone)))
		if err != nil {
			t.Fatal(err)
		}
		return string(raw)
	}
	raw, err := json.Marshal(glances)
	if err != nil {
		t.Fatal(err)
	}
	if server := string(raw); server != glance(func(*husbandry.Entry) bool { return true }) {
		t.Error("the server's forecast is not that of its records")
	} else if server == glance(func(e *husbandry.Entry) bool { return e.By != h.sitter.Person }) {
		t.Error("what the sitter feels counts for nothing")
	} else if server == glance(func(e *husbandry.Entry) bool {
		if e.By == h.sitter.Person {
			e.By = h.Person.ID
		}
		return true
	}) {
		t.Error("the sitter's touch is taken for the owner's")
	}
}
