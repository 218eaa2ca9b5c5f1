package engine

import (
	"time"

	"underlog/internal/chores"
	"underlog/internal/husbandry"
)

// Troubled is a bin that may be going wrong, with what speaks for it.
type Troubled = chores.Troubled

// Trouble returns the bins that may be going wrong at an instant, in walking
// order; of one bin alone if it is named, "" asks for the whole room.
func (e *Engine) Trouble(bin string, at time.Time) []Troubled {
	e.settle(at)
	return e.room.Trouble(bin, func(bin string) []*husbandry.Entry { return e.records.of(bin, countsSince(at), at) })
}
