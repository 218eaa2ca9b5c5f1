package engine

import (
	"time"

	"underlog/internal/husbandry"
)

// An Engine holds the records of one household.
type Engine struct{}

// New returns an Engine without records.
func New() *Engine { return &Engine{} }

// Reset forgets every record.
func (e *Engine) Reset() { *e = *New() }

// Put takes in records: sheets are merged, entries are kept once.
func (e *Engine) Put(sheets []husbandry.Sheet, entries []husbandry.Entry) {}

// Survey computes every chore and the state of every bin at an instant.
func (e *Engine) Survey(at time.Time) Survey { return Survey{At: at} }

// Outlook computes what the page of one bin shows.
func (e *Engine) Outlook(bin string, at time.Time) Outlook { return Outlook{} }
