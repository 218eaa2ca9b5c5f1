package engine

import (
	"time"

	"underlog/internal/husbandry"
)

// Entries returns the entries of a bin that count at an instant, in the order
// in which they happened: what its forecasts asked for at that instant are
// made from.
func (e *Engine) Entries(bin string, at time.Time) []husbandry.Entry {
	counting := e.records.of(bin, countsSince(at), at)
	entries := make([]husbandry.Entry, len(counting))
	for i, entry := range counting {
		entries[i] = *entry
	}
	return entries
}
