// Package books writes a household out as a book, the room as a file, and
// takes a book in.
//
// Taking in adds and never changes: a bin, a kind or a food that is here
// already stays as it is, and so do the room's settings. Ids that cannot be
// stored are replaced by ones made from them, the same every time, so taking
// the same book in twice adds nothing the second time.
package books

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/book"
	"underlog/internal/husbandry"
)

// A Summary says what taking in a book added, or would add.
type Summary struct {
	Bins     int            `json:"bins"`
	Kinds    int            `json:"kinds"`
	Foods    int            `json:"foods"`
	Trips    int            `json:"trips"`
	Larder   int            `json:"larder"` // batches, mixes, stock and supplies
	Entries  int            `json:"entries"`
	Already  int            `json:"already"`  // records that are here already
	Problems []book.Finding `json:"problems"` // lines that were left out, and why
	Warnings []book.Finding `json:"warnings"`
}

// Write gathers the household into a book. People are named, not numbered.
func Write(s *store.Store) (*book.Book, error) {
	sheets, err := s.Sheets()
	if err != nil {
		return nil, err
	}
	entries, err := s.Entries(time.Time{})
	if err != nil {
		return nil, err
	}
	room, err := s.Room()
	if err != nil {
		return nil, err
	}
	people, err := s.Known()
	if err != nil {
		return nil, err
	}
	names, taken := map[string]string{}, map[string]bool{}
	for _, person := range people {
		if !taken[person.Name] { // a sitter may be called like somebody of the household
			names[person.ID], taken[person.Name] = person.Name, true
		}
	}
	for i := range entries {
		if name, known := names[entries[i].By]; known {
			entries[i].By = name
		}
	}
	return &book.Book{TimeZone: room.TimeZone, At: s.Clock.Now().Truncate(time.Second), Sheets: sheets, Entries: entries}, nil
}

// batch is how many records one transaction takes.
const batch = 500

var errDry = errors.New("books: nothing is kept of a dry run")

// Take takes a book in on behalf of a person. A dry run only says what would
// be added. progress, which may be nil, is told how many of all records have
// been looked at.
func Take(s *store.Store, b *book.Book, person string, dry bool, progress func(done, all int)) (Summary, error) {
	t := &taking{store: s, author: store.Author{Person: person, Role: store.Owner}, progress: progress}
	t.summary.Problems = append([]book.Finding{}, b.Problems...)
	t.summary.Warnings = append([]book.Finding{}, b.Warnings...)
	if err := t.prepare(b); err != nil {
		return t.summary, err
	}
	if !dry {
		return t.summary, t.run(s.Put)
	}
	err := s.App.RunInTransaction(func(tx core.App) error {
		put := func(author store.Author, sheets, entries []raw) (store.Receipt, error) {
			return s.PutIn(tx, author, sheets, entries)
		}
		if err := t.run(put); err != nil {
			return err
		}
		return errDry
	})
	if errors.Is(err, errDry) {
		err = nil
	}
	return t.summary, err
}

type taking struct {
	store    *store.Store
	author   store.Author
	sheets   []husbandry.Sheet
	entries  []husbandry.Entry
	summary  Summary
	progress func(done, all int)
}

// prepare gives every record an id that can be stored, stamps the sheets, and
// leaves out those that are here already.
func (t *taking) prepare(b *book.Book) error {
	here, err := t.store.Sheets()
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, sheet := range here {
		known[sheet.Sheet+" "+sheet.ID] = true
	}
	stamp := husbandry.NextStamp(t.store.Clock.Now(), "book", "")
	for _, sheet := range b.Sheets {
		if sheet.Sheet == "rooms" {
			continue
		}
		taken := husbandry.Sheet{Sheet: sheet.Sheet, ID: husbandry.RecordID(idSpace(sheet.Sheet), sheet.ID), Fields: map[string]husbandry.Stamped{}}
		if known[taken.Sheet+" "+taken.ID] {
			t.summary.Already++
			continue
		}
		for name, field := range sheet.Fields {
			value := field.Value
			if sheet.Sheet == "trips" && (name == "bins" || name == "closed") {
				value = binIDs(value)
			}
			taken.Fields[name] = husbandry.Stamped{Value: value, Stamp: stamp}
		}
		t.sheets = append(t.sheets, taken)
	}
	people, err := t.store.Known()
	if err != nil {
		return err
	}
	ids := map[string]string{}
	for _, person := range people {
		if ids[person.Name] == "" {
			ids[person.Name] = person.ID
		}
	}
	if ids["owner"] == "" {
		ids["owner"] = t.author.Person
	}
	for _, entry := range b.Entries {
		entry.ID = husbandry.RecordID("entries", entry.ID)
		if entry.Bin != "" {
			entry.Bin = husbandry.RecordID("bins", entry.Bin)
		}
		if entry.Of != "" {
			entry.Of = husbandry.RecordID("entries", entry.Of)
		}
		if entry.Struck != "" {
			entry.Struck = husbandry.RecordID("entries", entry.Struck)
		}
		if entry.Item != "" {
			entry.Item = husbandry.RecordID(larderIDs, entry.Item)
		}
		if id, known := ids[entry.By]; known {
			entry.By = id
		}
		if entry.Device == "" {
			entry.Device = "book"
		}
		t.entries = append(t.entries, entry)
	}
	store.InOrder(t.entries)
	return nil
}

// larderIDs is what the ids of everything in the larder are made from: an entry
// names a thing by its id and does not say of which sort it is.
const larderIDs = "larder"

func idSpace(sort string) string {
	if slices.Contains(store.LarderSorts, sort) {
		return larderIDs
	}
	return sort
}

// binIDs gives the bins that a trip names the ids under which they are stored.
func binIDs(raw json.RawMessage) json.RawMessage {
	var ids []string
	if json.Unmarshal(raw, &ids) != nil || len(ids) == 0 {
		return raw
	}
	for i := range ids {
		ids[i] = husbandry.RecordID("bins", ids[i])
	}
	stored, err := json.Marshal(ids)
	if err != nil {
		return raw
	}
	return stored
}

// run puts everything in, batch by batch.
func (t *taking) run(put putting) error {
	all := len(t.sheets) + len(t.entries)
	for done := 0; done < all; {
		var sheets []husbandry.Sheet
		var entries []husbandry.Entry
		if done < len(t.sheets) {
			sheets = t.sheets[done:min(done+batch, len(t.sheets))]
		} else {
			from := done - len(t.sheets)
			entries = t.entries[from:min(from+batch, len(t.entries))]
		}
		if err := t.step(put, sheets, entries); err != nil {
			return fmt.Errorf("%d of %d records were taken in; take the book in again to go on: %w", done, all, err)
		}
		done += len(sheets) + len(entries)
		if t.progress != nil {
			t.progress(done, all)
		}
	}
	return nil
}

func (t *taking) step(put putting, sheets []husbandry.Sheet, entries []husbandry.Entry) error {
	rawSheets, err := store.Raws(sheets)
	if err != nil {
		return err
	}
	rawEntries, err := store.Raws(entries)
	if err != nil {
		return err
	}
	receipt, err := put(t.author, rawSheets, rawEntries)
	if err != nil {
		return err
	}
	for _, sheet := range receipt.Sheets {
		switch sheet.Sheet {
		case "bins":
			t.summary.Bins++
		case "kinds":
			t.summary.Kinds++
		case "foods":
			t.summary.Foods++
		case "trips":
			t.summary.Trips++
		case "batches", "mixes", "stock", "supplies":
			t.summary.Larder++
		}
	}
	t.summary.Entries += len(receipt.Entries)
	for _, verdict := range receipt.Verdicts {
		switch verdict.Verdict {
		case store.Duplicate:
			t.summary.Already++
		case store.Refused:
			t.summary.Problems = append(t.summary.Problems, book.Finding{Sentence: verdict.ID + ": " + verdict.Sentence})
		}
	}
	return nil
}
