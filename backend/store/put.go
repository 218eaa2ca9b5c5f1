package store

import (
	"encoding/json"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/pocketbase/pocketbase/core"

	"underlog/internal/husbandry"
)

// An Author is who offers records. The zero Author is the household itself:
// its seeds, its example, its books.
type Author struct {
	Person  string // id
	Device  string
	Role    string
	Session string
	Reach   *Reach // of a pass; nil for everybody else
	// Behind is set while the author has not read all of the feed. What its
	// records name may then be lost here and still to be brought back, so
	// a record that names something unknown, or is an edit of it, gets no
	// verdict yet.
	Behind bool
}

// SessionKey is where a request keeps the id of its session.
const SessionKey = "underlogSession"

// A Verdict is what became of one offered record.
type Verdict struct {
	ID       string              `json:"id"`
	Verdict  string              `json:"verdict"`
	Problems []husbandry.Problem `json:"problems,omitempty"`
	Sentence string              `json:"sentence,omitempty"`
}

// Verdicts.
const (
	Stored    = "stored"
	Duplicate = "duplicate" // it is here already, the same
	Refused   = "refused"
)

// A Receipt is what became of a batch.
type Receipt struct {
	Verdicts    []Verdict
	First, Last int64 // the feed's numbers given to it; Last < First where nothing was written
	Sheets      []husbandry.Sheet
	Entries     []husbandry.Entry // only what is new
}

// Put offers records, as they came from outside, in one transaction. Each
// gets its own verdict and none blocks another; the error is for what
// concerns them all, and then nothing was written. Sheets come before
// entries, so that a new bin and its first entry may arrive together.
func (s *Store) Put(author Author, sheets, entries []json.RawMessage) (Receipt, error) {
	var receipt Receipt
	err := s.App.RunInTransaction(func(tx core.App) error {
		var err error
		receipt, err = s.PutIn(tx, author, sheets, entries)
		return err
	})
	if err != nil {
		return Receipt{}, err
	}
	s.Tell(receipt)
	return receipt, nil
}

// PutIn is Put as a part of a larger transaction. After its commit the caller
// passes the receipt to Tell.
func (s *Store) PutIn(tx core.App, author Author, sheets, entries []json.RawMessage) (Receipt, error) {
	w := &writer{store: s, tx: tx, author: author, now: s.Clock.Now()}
	defer w.close()
	for _, raw := range sheets {
		if err := w.sheet(raw); err != nil {
			return Receipt{}, err
		}
	}
	if err := w.entries(entries); err != nil {
		return Receipt{}, err
	}
	if err := w.number(); err != nil {
		return Receipt{}, err
	}
	return w.receipt, nil
}

// Tell lets the listeners know of a receipt whose transaction is committed.
func (s *Store) Tell(receipt Receipt) {
	if receipt.Last >= receipt.First && receipt.Last > 0 {
		s.tell(Change{Cursor: receipt.Last, Sheets: receipt.Sheets, Entries: receipt.Entries})
	}
}

func refused(id string, problems ...husbandry.Problem) Verdict {
	return Verdict{ID: id, Verdict: Refused, Problems: problems, Sentence: husbandry.Problems(problems).Error()}
}

// idOf reads the id of a record that is otherwise wrong.
func idOf(raw json.RawMessage) string {
	var record struct {
		ID any `json:"id"`
	}
	_ = json.Unmarshal(raw, &record)
	id, _ := record.ID.(string)
	return id
}

var storableID = "give 15 to 32 lower-case letters and digits"

// sheet merges one whole or partial sheet into what is here.
func (w *writer) sheet(raw json.RawMessage) error {
	offered, problems := husbandry.CheckSheet(raw, w.now)
	if problems == nil {
		problems = w.mayEdit(offered)
	}
	if problems != nil {
		w.verdict(refused(idOf(raw), problems...))
		return nil
	}
	if err := compact(&offered); err != nil {
		return err
	}
	merged, err := w.store.sheet(w.tx, offered.Sheet, offered.ID)
	if err != nil {
		return err
	}
	isNew := merged.ID == ""
	merged.Sheet, merged.ID = offered.Sheet, offered.ID
	changed := merged.Merge(offered)
	news := len(changed) > 0 || !agrees(merged, offered)
	if news {
		problem, err := w.ownersAlone(offered)
		if err != nil {
			return err
		}
		if problem != nil {
			w.verdict(refused(offered.ID, *problem))
			return nil
		}
	}
	if isNew {
		if problems := husbandry.CheckWhole(merged.Sheet, merged.Flat(), w.now); problems != nil {
			if !w.author.Behind { // else the rest of it may still be brought back
				w.verdict(refused(offered.ID, problems...))
			}
			return nil
		}
	}
	if len(changed) == 0 && !isNew {
		verdict := Verdict{ID: offered.ID, Verdict: Duplicate}
		if news {
			verdict.Verdict = Stored // it lost against a later edit, and that is settled
		}
		w.verdict(verdict)
		return nil
	}
	if err := writeSheet(w.tx, merged, isNew); err != nil {
		return err
	}
	w.feed = append(w.feed, feedRow{merged.Sheet, merged.ID})
	w.receipt.Sheets = append(w.receipt.Sheets, merged)
	w.verdict(Verdict{ID: offered.ID, Verdict: Stored})
	return nil
}

func (w *writer) mayEdit(sheet husbandry.Sheet) husbandry.Problems {
	switch {
	case !husbandry.IsRecordID(sheet.ID):
		return husbandry.Problems{{Field: "id", Value: sheet.ID, Accepted: storableID}}
	case sheet.Sheet != "rooms":
		return nil
	case sheet.ID != husbandry.RoomID:
		return husbandry.Problems{{Field: "id", Value: sheet.ID, Accepted: "give " + husbandry.RoomID + ": a household has one room sheet"}}
	}
	return nil
}

// agrees reports whether every field of offered is in merged as it was offered.
func agrees(merged, offered husbandry.Sheet) bool {
	for name, field := range offered.Fields {
		mine := merged.Fields[name]
		if mine.Stamp != field.Stamp || string(mine.Value) != string(field.Value) {
			return false
		}
	}
	return true
}

// ownersAlone says so where a helper would change the room's settings or a
// trip, other than by bringing back what they were.
func (w *writer) ownersAlone(sheet husbandry.Sheet) (*husbandry.Problem, error) {
	forOwners := map[string]string{"rooms": "the room's settings", Trips: "trips"}
	if forOwners[sheet.Sheet] == "" || w.author.Role != Helper {
		return nil, nil
	}
	until, err := w.store.rewound(w.now)
	if err != nil {
		return nil, err
	}
	for _, field := range sheet.Fields {
		if until.IsZero() || field.Stamp >= husbandry.NextStamp(until, "", "") {
			return &husbandry.Problem{Field: "sheet", Value: sheet.Sheet, Accepted: "ask the owner, who alone changes " + forOwners[sheet.Sheet]}, nil
		}
	}
	return nil, nil
}

// compact gives every value the one form in which it is compared and stored.
func compact(sheet *husbandry.Sheet) error {
	for name, field := range sheet.Fields {
		value, err := json.Marshal(field.Value)
		if err != nil {
			return fmt.Errorf("store: %s of %s: %w", name, sheet.ID, err)
		}
		sheet.Fields[name] = husbandry.Stamped{Value: value, Stamp: field.Stamp}
	}
	return nil
}

// A candidate is an entry that was offered, as far as it has come.
type candidate struct {
	entry     husbandry.Entry
	canonical []byte
	verdict   Verdict // empty as long as there is none
	unknown   bool    // it was refused only because something that it names is not here
}

// entries stores what is new among entries.
func (w *writer) entries(raws []json.RawMessage) error {
	if len(raws) == 0 {
		return nil
	}
	offered := make([]candidate, len(raws))
	var sound []*candidate
	for i, raw := range raws {
		if err := w.check(&offered[i], raw); err != nil {
			return err
		}
		if offered[i].verdict.Verdict == "" {
			sound = append(sound, &offered[i])
		}
	}
	if err := w.prepare(sound); err != nil {
		return err
	}
	// An entry may name one that comes after it in the batch, so those that
	// name something unknown are looked at again as long as that helps.
	for waiting, before := sound, len(sound)+1; len(waiting) > 0 && len(waiting) < before; {
		before = len(waiting)
		still := waiting[:0]
		for _, one := range waiting {
			if err := w.entry(one); err != nil {
				return err
			}
			if one.unknown {
				still = append(still, one)
			}
		}
		waiting = still
	}
	for i := range offered {
		if !offered[i].unknown || !w.author.Behind {
			w.verdict(offered[i].verdict)
		}
	}
	return nil
}

// check reads an entry as it was offered, by the rules that need no records.
func (w *writer) check(one *candidate, raw json.RawMessage) (err error) {
	entry, problems := husbandry.CheckEntry(raw, w.now)
	if problems == nil && !husbandry.IsRecordID(entry.ID) {
		problems = husbandry.Problems{{Field: "id", Value: entry.ID, Accepted: storableID}}
	}
	if problems != nil {
		one.verdict = refused(idOf(raw), problems...)
		return nil
	}
	if entry.By == "" {
		entry.By = w.author.Person
	}
	if entry.Device == "" {
		entry.Device = w.author.Device
	}
	one.entry = entry
	one.canonical, err = json.Marshal(entry)
	return err
}

// entry takes one entry if it may be.
func (w *writer) entry(one *candidate) error {
	// What is here already needs no further question: it passed them all.
	if stored := w.stored[one.entry.ID]; stored != nil {
		one.verdict, one.unknown = alreadyThere(one, stored), false
		return nil
	}
	problem, err := w.mayWrite(one.entry)
	if err != nil {
		return err
	}
	one.unknown = false
	if problem == nil {
		problem, err = w.references(one.entry)
		one.unknown = problem != nil
	}
	if err != nil {
		return err
	}
	if problem != nil {
		one.verdict = refused(one.entry.ID, *problem)
		return nil
	}
	one.verdict = Verdict{ID: one.entry.ID, Verdict: Stored}
	return w.take(one)
}

func alreadyThere(one *candidate, stored []byte) Verdict {
	id := one.entry.ID
	if string(stored) == string(one.canonical) {
		return Verdict{ID: id, Verdict: Duplicate}
	}
	return refused(id, husbandry.Problem{Field: "id", Value: id,
		Accepted: "give each entry its own id, for another entry has this one; what has been stored never changes"})
}

// mayWrite says so where a helper would write in another's name, other than
// by bringing back what the other had written, and where a sitter would write
// what the pass does not reach.
func (w *writer) mayWrite(entry husbandry.Entry) (*husbandry.Problem, error) {
	if w.author.Reach != nil {
		return w.author.beyond(entry), nil
	}
	if w.author.Role != Helper || entry.By == w.author.Person || !w.people[entry.By] {
		return nil, nil
	}
	until, err := w.store.rewound(w.now)
	if err != nil || entry.At.Before(until) {
		return nil, err
	}
	return &husbandry.Problem{Field: "by", Value: entry.By, Accepted: "leave it out: a helper writes under no other person's name"}, nil
}

// beyond says what of an entry lies beyond the reach of a pass. A bin that is
// not there and one that is another's are answered alike.
func (a Author) beyond(entry husbandry.Entry) *husbandry.Problem {
	switch {
	case !slices.Contains(husbandry.PassWhats, entry.What):
		return &husbandry.Problem{Field: "what", Value: entry.What, Accepted: "give one of " + strings.Join(husbandry.PassWhats, ", ") + ": a pass is for nothing else"}
	case entry.Bin != "" && !a.Reach.Bins[entry.Bin]:
		return &husbandry.Problem{Field: "bin", Value: entry.Bin, Accepted: "give the id of a bin of this pass"}
	case entry.At.Before(a.Reach.From) || !entry.At.Before(a.Reach.Until):
		return &husbandry.Problem{Field: "at", Value: entry.At.Format(time.RFC3339), Accepted: fmt.Sprintf("give a time from %s to before %s: the pass is for those days",
			a.Reach.From.Format(time.RFC3339), a.Reach.Until.Format(time.RFC3339))}
	case entry.By != a.Person:
		return &husbandry.Problem{Field: "by", Value: entry.By, Accepted: "leave it out: a pass writes under its own name alone"}
	case entry.Device != a.Device:
		return &husbandry.Problem{Field: "device", Value: entry.Device, Accepted: "leave it out: it is the device of the request"}
	}
	return nil
}

// references says what is wrong with the records that an entry names.
func (w *writer) references(entry husbandry.Entry) (*husbandry.Problem, error) {
	if entry.Bin != "" && !w.bins[entry.Bin] {
		return &husbandry.Problem{Field: "bin", Value: entry.Bin, Accepted: "give the id of a bin of this household"}, nil
	}
	var field, id, accepted string
	var fits func(named) bool
	switch entry.What {
	case husbandry.Leftovers:
		field, id, accepted = "of", entry.Of, "give the id of a feeding that is stored"
		fits = func(n named) bool { return n.what == husbandry.Feed }
	case husbandry.Photo:
		if entry.Of == "" {
			return nil, nil
		}
		field, id, accepted = "of", entry.Of, "give the id of a stored entry that is neither a strike nor a photo itself"
		fits = func(n named) bool { return n.what != "" && n.what != husbandry.Strike && n.what != husbandry.Photo }
	case husbandry.Strike:
		field, id, accepted = "struck", entry.Struck, "give the id of a stored entry that is no strike itself"
		fits = func(n named) bool { return n.what != "" && n.what != husbandry.Strike }
	default:
		return nil, nil
	}
	found, err := w.named(id)
	if err != nil || fits(found) && w.author.mayName(entry, found) {
		return nil, err
	}
	return &husbandry.Problem{Field: field, Value: id, Accepted: accepted}, nil
}

// mayName reports whether an entry may name another: a sitter's strikes none
// but the sitter's own, and looks at and shows what is in the same bin. What a
// sitter may not name is answered as if it were not there.
func (a Author) mayName(entry husbandry.Entry, found named) bool {
	switch {
	case a.Reach == nil:
		return true
	case entry.What == husbandry.Strike:
		return found.by == a.Person && (found.bin == "" || a.Reach.Bins[found.bin])
	}
	return found.bin == entry.Bin
}

// Raws turns typed records into the form in which Put takes them.
func Raws[T any](records []T) ([]json.RawMessage, error) {
	raws := make([]json.RawMessage, len(records))
	for i, record := range records {
		raw, err := json.Marshal(record)
		if err != nil {
			return nil, err
		}
		raws[i] = raw
	}
	return raws, nil
}

// InOrder sorts entries so that what an entry names comes before it: by time,
// strikes, looks at leftovers and photos after the rest of their instant.
func InOrder(entries []husbandry.Entry) {
	turn := func(e husbandry.Entry) int {
		switch e.What {
		case husbandry.Leftovers:
			return 1
		case husbandry.Photo:
			return 2 // may be of a look at leftovers
		case husbandry.Strike:
			return 3
		}
		return 0
	}
	sort.SliceStable(entries, func(i, j int) bool {
		if a, b := turn(entries[i]), turn(entries[j]); a != b {
			return a < b
		}
		return entries[i].At.Before(entries[j].At)
	})
}
