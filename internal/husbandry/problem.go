package husbandry

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// A Problem says what is wrong with one field, in a sentence that a person
// can act on: the field, the value it had and what would be accepted.
type Problem struct {
	Field    string `json:"field"`
	Value    string `json:"value"`
	Accepted string `json:"accepted"`
}

// Error makes the sentence. A long value is shown by its beginning.
func (p Problem) Error() string {
	if p.Value == "" {
		return fmt.Sprintf("%s is missing: %s.", p.Field, p.Accepted)
	}
	return fmt.Sprintf("%s is %s: %s.", p.Field, shorten(p.Value, 60), p.Accepted)
}

// Problems is every problem of one record. A nil Problems is a sound record.
type Problems []Problem

// Error joins the sentences.
func (ps Problems) Error() string {
	sentences := make([]string, len(ps))
	for i, p := range ps {
		sentences[i] = p.Error()
	}
	return strings.Join(sentences, " ")
}

// Err returns ps as an error, or nil where there is no problem.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

func shorten(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	runes := []rune(s)
	return string(runes[:most]) + fmt.Sprintf("… (%d characters)", len(runes))
}
