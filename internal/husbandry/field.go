package husbandry

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Type says what a field holds.
type Type string

// The types of field that records are made of.
const (
	Text   Type = "text"   // a string of at most Max characters
	Number Type = "number" // a finite number from Min to Max
	Whole  Type = "whole"  // a whole number from Min to Max
	Truth  Type = "truth"  // true or false
	Word   Type = "word"   // one of Words
	Time   Type = "time"   // an instant, RFC 3339 with offset
	Day    Type = "day"    // a calendar date, 2006-01-02
	Date   Type = "date"   // a calendar date that may lie ahead
	Ref    Type = "ref"    // the id of another record
	Digest Type = "digest" // the SHA-256 of a file
	List   Type = "list"   // a JSON list with a checker of its own (openings)
	Clock  Type = "clock"  // a time of the wall clock, 22:00
	Week   Type = "week"   // days of the week, "tue thu sun"
)

// Earliest is the first instant that an entry or a date may carry: nobody has
// older husbandry records to bring along than this, and a phone whose clock
// was reset starts before it.
var Earliest = time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC)

// Ahead is how far in the future the time of an entry may lie, to bear clocks
// that run fast. The exchange corrects what it can tell.
const Ahead = 24 * time.Hour

// Latest is the day before which every Date lies: plans do not reach further.
var Latest = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)

// A Field is the rule for one field of a record: the one place where its
// bounds live. The server, the engine on the phone, the forms and the
// database's columns are all made from it.
type Field struct {
	Name     string   `json:"name"`
	Type     Type     `json:"type"`
	Min      float64  `json:"min"`
	Max      float64  `json:"max"`
	Unit     string   `json:"unit,omitempty"`
	Words    []string `json:"words,omitempty"`
	Required bool     `json:"required,omitempty"`
}

// accepted is the half of the sentence that says what would be right.
func (f Field) accepted() string {
	switch f.Type {
	case Text:
		if f.Required {
			return fmt.Sprintf("give 1 to %g characters", f.Max)
		}
		return fmt.Sprintf("give at most %g characters", f.Max)
	case Number, Whole:
		what := "a number"
		if f.Type == Whole {
			what = "a whole number"
		}
		unit := ""
		if f.Unit != "" {
			unit = " " + f.Unit
		}
		return fmt.Sprintf("give %s from %s to %s%s", what, plain(f.Min), plain(f.Max), unit)
	case Truth:
		return "give true or false"
	case Word:
		return "give one of " + strings.Join(f.Words, ", ")
	case Time:
		return fmt.Sprintf("give a time such as 2026-05-28T19:05:00+02:00, from %d on and not in the future", Earliest.Year())
	case Day:
		return fmt.Sprintf("give a day such as 2026-05-28, from %d on and not in the future", Earliest.Year())
	case Date:
		return fmt.Sprintf("give a day such as 2026-05-28, from %d to %d", Earliest.Year(), Latest.Year()-1)
	case Ref:
		return "give the id of a record, 1 to 64 letters, digits, dots, dashes or underscores"
	case Digest:
		return "give the SHA-256 of the picture, 64 lower-case hex digits"
	case Clock:
		return "give a time of day such as 22:00"
	case Week:
		return "give days of the week such as tue thu sun"
	default:
		return "give a list"
	}
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// isMadeOf reports whether s has from least to most bytes, each of them in
// letters. Every entry that arrives has half a dozen ids to look at, for which
// regular expressions take a third of the time of its check.
func isMadeOf(letters *[256]bool, s string, least, most int) bool {
	if len(s) < least || len(s) > most {
		return false
	}
	for i := range len(s) {
		if !letters[s[i]] {
			return false
		}
	}
	return true
}

func lettersOf(all string) *[256]bool {
	var letters [256]bool
	for i := range len(all) {
		letters[all[i]] = true
	}
	return &letters
}

const (
	digits = "0123456789"
	lower  = "abcdefghijklmnopqrstuvwxyz"
)

var (
	digestLetters = lettersOf(digits + "abcdef")
	refLetters    = lettersOf(digits + lower + strings.ToUpper(lower) + "._-")
	idLetters     = lettersOf(digits + lower)
)

// isRef reports whether s can name a record.
func isRef(s string) bool { return isMadeOf(refLetters, s, 1, 64) }

// check says what is wrong with raw as a value of the field, or nil.
func (f Field) check(raw json.RawMessage, now time.Time) *Problem {
	trimmed := bytes.TrimSpace(raw)
	if len(trimmed) == 0 || bytes.Equal(trimmed, []byte("null")) {
		if f.Required {
			return f.wrong("")
		}
		return nil
	}
	switch f.Type {
	case Text, Word, Time, Day, Date, Ref, Digest, Clock, Week:
		s, simple := plainText(trimmed)
		if !simple && (json.Unmarshal(trimmed, &s) != nil || !utf8.ValidString(s)) {
			return f.wrong(string(trimmed))
		}
		return f.checkString(s, now)
	case Number, Whole:
		var x float64
		if json.Unmarshal(trimmed, &x) != nil || math.IsNaN(x) || x < f.Min || x > f.Max {
			return f.wrong(string(trimmed))
		}
		if f.Type == Whole && x != math.Trunc(x) {
			return f.wrong(string(trimmed))
		}
	case Truth:
		var b bool
		if json.Unmarshal(trimmed, &b) != nil {
			return f.wrong(string(trimmed))
		}
	case List:
		var list []json.RawMessage
		if json.Unmarshal(trimmed, &list) != nil {
			return f.wrong(string(trimmed))
		}
	}
	return nil
}

// plainText returns a JSON string that is written as it reads, which nearly all
// are: reading those is most of the work of reading a book. ok is false for any
// other value.
func plainText(raw []byte) (s string, ok bool) {
	if len(raw) < 2 || raw[0] != '"' || raw[len(raw)-1] != '"' {
		return "", false
	}
	raw = raw[1 : len(raw)-1]
	for _, c := range raw {
		if c < ' ' || c >= utf8.RuneSelf || c == '"' || c == '\\' {
			return "", false
		}
	}
	return string(raw), true
}

func (f Field) checkString(s string, now time.Time) *Problem {
	switch f.Type {
	case Text:
		blank := strings.TrimSpace(s) == ""
		if f.Required && blank {
			return f.wrong("")
		}
		if utf8.RuneCountInString(s) > int(f.Max) {
			return f.wrong(s)
		}
	case Word:
		if !slices.Contains(f.Words, s) {
			return f.wrong(orEmpty(s))
		}
	case Time:
		t, err := time.Parse(time.RFC3339, s)
		if err != nil || t.Before(Earliest) || t.After(now.Add(Ahead)) {
			return f.wrong(orEmpty(s))
		}
	case Day:
		t, err := time.Parse(time.DateOnly, s)
		if err != nil || t.Before(Earliest) || t.After(now.Add(Ahead)) {
			return f.wrong(orEmpty(s))
		}
	case Date:
		t, err := time.Parse(time.DateOnly, s)
		if err != nil || t.Before(Earliest) || !t.Before(Latest) {
			return f.wrong(orEmpty(s))
		}
	case Ref:
		if !isRef(s) {
			return f.wrong(orEmpty(s))
		}
	case Digest:
		if !IsDigest(s) {
			return f.wrong(orEmpty(s))
		}
	case Clock:
		if _, ok := ClockMinute(s); !ok && (s != "" || f.Required) {
			return f.wrong(orEmpty(s))
		}
	case Week:
		if _, ok := Weekdays(s); !ok {
			return f.wrong(orEmpty(s))
		}
	}
	return nil
}

func (f Field) wrong(value string) *Problem {
	return &Problem{Field: f.Name, Value: value, Accepted: f.accepted()}
}

func orEmpty(s string) string {
	if s == "" {
		return `""`
	}
	return s
}
