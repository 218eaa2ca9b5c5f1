package passes

import (
	"maps"
	"slices"

	"underlog/backend/store"
	"underlog/internal/engine"
)

// A Change is what has become of the visits of a pass since somebody was at its
// bins, or since the owner left. It is made of the bins of the pass alone: a day
// that only other bins want is none of it. Days are those still to come.
type Change struct {
	Yours bool     `json:"yours"` // it is since a visit of the sitter's own
	Was   string   `json:"was"`   // the next visit under the plan before; empty: none
	Next  string   `json:"next"`  // and now
	New   []string `json:"new"`   // days of visits that were not planned before
	Gone  []string `json:"gone"`  // and of those that are no longer needed
	Why   []Reason `json:"why"`
}

// A Reason is why, with the bins that it is about.
type Reason struct {
	Why  string   `json:"why"` // as in engine.AwayBinChange
	Feel string   `json:"feel,omitempty"`
	Bins []string `json:"bins"` // in walking order, of those in the view
}

// change says what has changed of the visits that the view has; nil if nothing.
func (v *View) change(plan *engine.Away, person string, reach store.Reach, opened map[string]bool) *Change {
	if plan.Changed == nil {
		return nil
	}
	c := &Change{New: []string{}, Gone: []string{}, Why: []Reason{}}
	was, now := map[string]bool{}, map[string]bool{}
	moved := map[string]bool{}
	for _, bin := range plan.Changed.Bins {
		if !reach.Bins[bin.Bin] {
			continue
		}
		moved[bin.Bin] = true
		for _, date := range bin.Was {
			was[date] = true
		}
		c.because(bin, opened)
	}
	if len(moved) == 0 {
		return nil
	}
	for _, visit := range v.Visits {
		if visit.Date < plan.Changed.From {
			continue
		}
		now[visit.Date] = true
		if slices.ContainsFunc(visit.Stops, func(stop Stop) bool { return !moved[stop.Bin] }) {
			was[visit.Date] = true
		}
	}
	c.Was, c.Gone = compare(was, now)
	c.Next, c.New = compare(now, was)
	for _, day := range slices.Backward(plan.Done) {
		if slices.ContainsFunc(day.Bins, func(bin string) bool { return reach.Bins[bin] }) {
			c.Yours = slices.Contains(day.By, person)
			break
		}
	}
	return c
}

// because adds why a bin's visits are others.
func (c *Change) because(bin engine.AwayBinChange, opened map[string]bool) {
	i := slices.IndexFunc(c.Why, func(one Reason) bool { return one.Why == bin.Why && one.Feel == bin.Feel })
	if i < 0 {
		i = len(c.Why)
		c.Why = append(c.Why, Reason{bin.Why, bin.Feel, []string{}})
	}
	if opened[bin.Bin] {
		c.Why[i].Bins = append(c.Why[i].Bins, bin.Bin)
	}
}

// compare returns the first of some days, and those that are not among others.
func compare(days, others map[string]bool) (first string, only []string) {
	only = []string{}
	for _, day := range slices.Sorted(maps.Keys(days)) {
		if first == "" {
			first = day
		}
		if !others[day] {
			only = append(only, day)
		}
	}
	return first, only
}
