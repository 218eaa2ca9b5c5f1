package passes_test

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"underlog/backend/passes"
	"underlog/internal/husbandry"
)

// toVisit moves the clock into the hours of a visit.
func (h *house) toVisit(visit passes.Visit) {
	h.Helper()
	from, err := time.Parse(time.RFC3339, visit.From)
	if err != nil {
		h.Fatal(err)
	}
	h.Clock.Advance(from.Sub(h.Clock.Now()) + time.Hour)
}

// dates are the days of a view's visits from one on.
func dates(view passes.View, from string) (list []string) {
	for _, visit := range view.Visits {
		if visit.Date >= from {
			list = append(list, visit.Date)
		}
	}
	return list
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

// The sitter finds every bin of a visit wetter than expected: they are told
// which days are others now, and why.
func TestTheSitterIsToldWhatTheirVisitChanged(t *testing.T) {
	h := mustBegin(t, nil)
	if view := h.mustView(); view.Changed != nil {
		t.Errorf("before anybody has left the plan has changed: %+v", view.Changed)
	}
	h.toVisit(h.mustView().Visits[0])
	before := h.mustView()
	var entries []husbandry.Entry
	for _, stop := range before.Visits[0].Stops {
		entries = append(entries, h.sitter.Feel(stop.Bin, "damp"))
	}
	h.sitter.MustStore(entries...)
	h.Clock.Advance(time.Hour)
	view := h.mustView()
	c := view.Changed
	if c == nil {
		t.Fatal("damp bins change nothing")
	}
	tomorrow := h.Clock.Now().Add(days).Format(time.DateOnly)
	was, now := dates(before, tomorrow), dates(view, tomorrow)
	if !c.Yours || c.Was != first(was) || c.Next != first(now) || len(c.New)+len(c.Gone) == 0 {
		t.Errorf("from %v to %v it is %+v", was, now, c)
	}
	for _, date := range c.New {
		if slices.Contains(was, date) || !slices.Contains(now, date) {
			t.Errorf("%s is called new from %v to %v", date, was, now)
		}
	}
	for _, date := range c.Gone {
		if !slices.Contains(was, date) || slices.Contains(now, date) {
			t.Errorf("%s is called gone from %v to %v", date, was, now)
		}
	}
	if i := slices.IndexFunc(c.Why, func(one passes.Reason) bool { return one.Why == "found" && one.Feel == "damp" }); i < 0 || len(c.Why[i].Bins) == 0 {
		t.Errorf("it is because of %+v", c.Why)
	}
}

func TestAMissedVisitIsTold(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(days + time.Hour) // the owner has left
	visit := h.mustView().Visits[0]
	h.toVisit(visit)
	h.Clock.Advance(days)
	c := h.mustView().Changed
	if c == nil || c.Yours || !slices.ContainsFunc(c.Why, func(one passes.Reason) bool { return one.Why == "missed" && len(one.Bins) > 0 }) {
		t.Errorf("nobody came on %s: %+v", visit.Date, c)
	}
}

// A pass of one bin is told of that one: neither which day another bin wants,
// nor when that was opened, nor what was found there.
func TestAChangeOfOtherBinsIsNotTold(t *testing.T) {
	h := mustBegin(t, nil)
	all := h.sitter
	h.toVisit(h.mustView().Visits[0])
	h.sitter = h.MustMakePass(h.trip.ID, "Pat", map[string]any{"bins": []string{h.second.ID}})
	h.sitter.MustStore(h.sitter.Feel(h.second.ID, "damp"))
	h.Clock.Advance(time.Hour)
	if c := h.mustView().Changed; c == nil || !c.Yours || len(c.Why) == 0 {
		t.Fatalf("the second bin was found damp, and its sitter is told %+v", c)
	}
	own := h.MustMakePass(h.trip.ID, "Kim", map[string]any{"bins": []string{h.first.ID}})
	_, raw, _ := h.Call("GET", "/api/underlog/pass/view", own.Token(), nil)
	h.sitter = own
	view := h.mustView()
	if bytes.Contains(raw, []byte(h.second.ID)) {
		t.Errorf("a pass of the first bin is told of the second: %s", raw)
	}
	if c := view.Changed; c != nil {
		for _, date := range append(slices.Clone(c.New), c.Next) {
			if date != "" && !slices.Contains(dates(view, ""), date) {
				t.Errorf("%s is no day of the first bin: %+v", date, c)
			}
		}
		if c.Yours || slices.ContainsFunc(c.Why, func(one passes.Reason) bool { return one.Why == "found" }) {
			t.Errorf("nobody was at the first bin, yet %+v", c)
		}
	}
	// Whoever sees both is told of the second.
	h.sitter = all
	if c := h.mustView().Changed; c == nil || !slices.ContainsFunc(c.Why, func(one passes.Reason) bool { return slices.Contains(one.Bins, h.second.ID) }) {
		t.Errorf("of both bins is told %+v", c)
	}
}
