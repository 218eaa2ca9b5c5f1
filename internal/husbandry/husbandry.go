// Package husbandry holds the nouns of the trade and of this tool: bins,
// kinds, foods, entries, chores, and the rules that every one of their fields
// must meet.
//
// Two kinds of record carry a household. An Entry is something that happened:
// it is never changed and never deleted, but another entry may strike it. A
// Sheet is something that is: it is edited field by field, each field carries
// the stamp of its last edit, and the later stamp wins whoever arrives first.
//
// Names of fields are the same in the book (the room as a file), in the
// exchange between phone and server, in the database and here. Units are in
// the names: millimetres, millilitres, degrees Celsius, percent. Times are
// instants with an offset (RFC 3339), days are calendar dates (2006-01-02).
//
// The package imports nothing of ours, does no I/O and reads no clock: "now"
// comes in as a value.
package husbandry
