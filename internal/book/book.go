// Package book reads and writes the room as a file: JSON Lines, UTF-8, one
// object a line, in the field names of package husbandry. What Write writes,
// Read reads; a spreadsheet or a script can make one.
//
// The order of lines does not matter. A field that nobody knows is named in a
// warning and left out; a wrong one is a problem with its line number, and
// the rest of the book is still read.
package book

import (
	"fmt"
	"time"

	"underlog/internal/husbandry"
)

// Version is the version of the format that this package writes.
const Version = 1

// A Book is a household's records in one file.
type Book struct {
	TimeZone string
	At       time.Time // when it was written; zero where it does not say
	Sheets   []husbandry.Sheet
	Entries  []husbandry.Entry
	Warnings []Finding
	Problems []Finding
}

// A Finding is something to be told about one line of a book.
type Finding struct {
	Line     int    `json:"line"`
	Sentence string `json:"sentence"`
}

// String gives the finding as a person reads it.
func (f Finding) String() string { return fmt.Sprintf("line %d: %s", f.Line, f.Sentence) }
