package engine

import (
	"time"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
	"underlog/internal/trouble"
)

type (
	// Troubled is a bin that may be going wrong, with what speaks for it.
	Troubled = chores.Troubled
	Finding  = trouble.Finding
)

// Trouble returns the bins that may be going wrong at an instant, in walking
// order; of one bin alone if it is named, "" asks for the whole room.
func (e *Engine) Trouble(bin string, at time.Time) []Troubled {
	e.settle(at)
	return e.room.Trouble(bin, func(bin string) []*husbandry.Entry { return e.records.of(bin, countsSince(at), at) })
}
