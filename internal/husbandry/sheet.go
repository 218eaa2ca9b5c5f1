package husbandry

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"sort"
	"strconv"
	"time"
)

// A Stamp orders edits of one field across devices: a hybrid logical clock
// (Kulkarni, Demirbas, Madappa, Avva, Leone 2014, "Logical Physical Clocks")
// written so that the order of the strings is the order of the edits:
// 12 hex digits of Unix milliseconds, 4 hex digits of a counter, the device.
type Stamp string

// SeedStamp is the stamp of values that ship with the tool: any edit wins.
// Its counter rises when they change, so that a household that began with
// older ones takes the newer where nobody has edited.
const SeedStamp Stamp = "000000000000-0001-seed"

var stampPattern = regexp.MustCompile(`^[0-9a-f]{12}-[0-9a-f]{4}-[a-z0-9]{1,40}$`)

// NextStamp returns a stamp for an edit on device at now that is later than
// every stamp in seen, even where the device's clock lags behind them.
func NextStamp(now time.Time, device string, seen Stamp) Stamp {
	millis, count := now.UnixMilli(), int64(0)
	if seenMillis, seenCount, ok := seen.clock(); ok && seenMillis >= millis {
		millis, count = seenMillis, seenCount+1
		if count > 0xffff {
			millis, count = millis+1, 0
		}
	}
	return Stamp(fmt.Sprintf("%012x-%04x-%s", millis, count, device))
}

// Readable reports whether s has the form of a stamp.
func (s Stamp) Readable() bool {
	_, _, ok := s.clock()
	return ok
}

// lasting reports whether s can be read and so can every stamp that will come
// after it: its time is before the year 2527, and not near the end of what 12
// digits hold, after which a field could be edited no more.
func (s Stamp) lasting() bool { return s.Readable() && s[0] == '0' }

// Seeded reports whether s is of a value that ships with the tool, of this
// version or another.
func (s Stamp) Seeded() bool {
	return s.Readable() && s[:12] == SeedStamp[:12] && s[18:] == SeedStamp[18:]
}

func (s Stamp) clock() (millis, count int64, ok bool) {
	if !stampPattern.MatchString(string(s)) {
		return 0, 0, false
	}
	millis, _ = strconv.ParseInt(string(s[:12]), 16, 64)
	count, _ = strconv.ParseInt(string(s[13:17]), 16, 64)
	return millis, count, true
}

// A Stamped is one field of a sheet: its value and when it was last edited.
type Stamped struct {
	Value json.RawMessage `json:"v"`
	Stamp Stamp           `json:"s"`
}

// A Sheet is something that is (a bin, a kind, a food, a trip, the room's
// settings),
// as stamped fields. A partial sheet carries only the fields that changed.
type Sheet struct {
	Sheet  string             `json:"sheet"` // which sort: "bins", "kinds", ...
	ID     string             `json:"id"`
	Fields map[string]Stamped `json:"fields"`
}

// Merge takes over every field of other that was edited later and returns the
// names of those, sorted. Equal stamps with different values (which only a
// faulty device makes) are decided by the bytes of the value, so that all
// replicas agree whatever the order of arrival.
func (s *Sheet) Merge(other Sheet) []string {
	var changed []string
	for name, theirs := range other.Fields {
		ours, have := s.Fields[name]
		if have && !later(theirs, ours) {
			continue
		}
		if s.Fields == nil {
			s.Fields = make(map[string]Stamped)
		}
		s.Fields[name] = theirs
		changed = append(changed, name)
	}
	sort.Strings(changed)
	return changed
}

func later(a, b Stamped) bool {
	if a.Stamp != b.Stamp {
		return a.Stamp > b.Stamp
	}
	return bytes.Compare(a.Value, b.Value) > 0
}

// Deleted reports whether the sheet's deleted field is true.
func (s Sheet) Deleted() bool {
	return string(bytes.TrimSpace(s.Fields["deleted"].Value)) == "true"
}

// Flat returns the sheet's values without stamps, with its id: the form in
// which a record is typed, checked and written to the book.
func (s Sheet) Flat() map[string]json.RawMessage {
	flat := make(map[string]json.RawMessage, len(s.Fields)+1)
	for name, field := range s.Fields {
		flat[name] = field.Value
	}
	id, _ := json.Marshal(s.ID)
	flat["id"] = id
	return flat
}

// sheetFields lists the fields of every sort of sheet.
var sheetFields = map[string][]Field{
	"rooms": roomFields,
	"bins":  binFields,
	"kinds": kindFields,
	"foods": foodFields,
	"trips": tripFields,

	"batches":  batchFields,
	"mixes":    mixFields,
	"stock":    stockFields,
	"supplies": supplyFields,
}

var deletedField = Field{Name: "deleted", Type: Truth}

// SheetSorts returns every sort of sheet, sorted.
func SheetSorts() []string {
	sorts := make([]string, 0, len(sheetFields))
	for name := range sheetFields {
		sorts = append(sorts, name)
	}
	sort.Strings(sorts)
	return sorts
}

// SheetFields returns the rules for a sort of sheet; nil for an unknown one.
func SheetFields(sort string) []Field {
	own, known := sheetFields[sort]
	if !known {
		return nil
	}
	return append(append([]Field{}, own...), deletedField)
}

// CheckSheet checks a whole or partial sheet as it came from outside. Fields
// that are absent are not asked for: an edit names only what it changes.
// Whether the merged record is whole is CheckWhole's question.
func CheckSheet(raw []byte, now time.Time) (Sheet, Problems) {
	var sheet Sheet
	if err := json.Unmarshal(raw, &sheet); err != nil {
		return Sheet{}, Problems{{Field: "sheet", Value: shorten(string(raw), 60), Accepted: "give one whole JSON object with sheet, id and fields"}}
	}
	rules := SheetFields(sheet.Sheet)
	if rules == nil {
		word := Field{Name: "sheet", Type: Word, Words: SheetSorts()}
		return Sheet{}, Problems{*word.wrong(orEmpty(sheet.Sheet))}
	}
	var problems Problems
	if !isRef(sheet.ID) {
		problems = append(problems, *(Field{Name: "id", Type: Ref}).wrong(orEmpty(sheet.ID)))
	}
	flat := make(map[string]json.RawMessage, len(sheet.Fields))
	for name, field := range sheet.Fields {
		flat[name] = field.Value
		if !field.Stamp.lasting() {
			problems = append(problems, Problem{Field: name + " stamp", Value: orEmpty(string(field.Stamp)),
				Accepted: "give 12 hex digits of milliseconds, from 0 on, 4 of a counter and the device, joined by dashes"})
		}
	}
	var asked []Field
	for _, rule := range rules {
		if _, given := flat[rule.Name]; given {
			asked = append(asked, rule)
		}
	}
	problems = append(problems, checkFields(flat, asked, nil, now, fmt.Sprintf("leave it out: %s have no such field", sheet.Sheet))...)
	problems = append(problems, checkLists(sheet.Sheet, flat)...)
	return sheet, problems
}

// CheckWhole checks a flat record (as in the book) of a sort of sheet: all
// required fields must be there.
func CheckWhole(sort string, flat map[string]json.RawMessage, now time.Time) Problems {
	rules := append([]Field{{Name: "id", Type: Ref, Required: true}}, SheetFields(sort)...)
	problems := checkFields(flat, rules, []string{"type"}, now, fmt.Sprintf("leave it out: %s have no such field", sort))
	return append(problems, checkLists(sort, flat)...)
}

func checkLists(sort string, flat map[string]json.RawMessage) Problems {
	switch sort {
	case "bins":
		return checkOpenings(flat)
	case "trips":
		return checkTrip(flat)
	case "mixes":
		return checkParts(flat)
	case "kinds":
		return checkKind(flat)
	}
	return nil
}
