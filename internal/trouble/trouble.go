package trouble

import (
	"slices"
	"time"

	"underlog/internal/husbandry"
)

const day = 24 * time.Hour

// The odds of a cause.
const (
	Rarely    = "rarely"
	Sometimes = "sometimes"
	Often     = "often"
)

// How soon to look.
const (
	Soon  = "soon"  // at the next chance
	Watch = "watch" // keep it in mind
)

// A Case is one bin as it is known at a time.
type Case struct {
	Bin     husbandry.Bin
	Kind    husbandry.Kind     // the zero Kind is one that nobody knows
	Entries []*husbandry.Entry // by time, none struck, none after At
	Air     []*husbandry.Entry // readings of the room's air, the same way
	Risk    float64            // chance that the damp side is dry in depth too
	Renewed time.Time          // when the substrate was; zero is unknown
	Months  float64            // the goal between renewals
	At      time.Time
}

// A Cause is one thing that may be behind a finding.
type Cause struct {
	Cause string `json:"cause"`
	Odds  string `json:"odds"`
}

// A Finding is one rule that holds for a bin. Rule, Cause and Looks are codes
// whose words are the app's.
type Finding struct {
	Rule    string    `json:"rule"`
	Weight  string    `json:"weight"`
	Since   time.Time `json:"since"`           // of the first sign
	Last    time.Time `json:"last"`            // of the last
	Count   float64   `json:"count,omitempty"` // of signs, animals or degrees, as the rule says
	Entries []string  `json:"entries"`         // ids of the signs
	Causes  []Cause   `json:"causes"`          // the likeliest first
	Looks   []string  `json:"looks"`           // what to look at next
}

// Find returns what may be going wrong with a bin, the most pressing first.
func Find(c Case) []Finding {
	var found []Finding
	for _, r := range rules {
		f, is := r.holds(&c)
		if !is {
			continue
		}
		f.Rule, f.Looks = r.name, r.looks
		if f.Weight == "" {
			f.Weight = r.weight
		}
		found = append(found, f)
	}
	for i := range found {
		found[i].Causes = causes(&c, found[i], found)
	}
	slices.SortStableFunc(found, func(a, b Finding) int { return urgency(b) - urgency(a) })
	return found
}

func urgency(f Finding) int {
	if f.Weight == Soon {
		return 1
	}
	return 0
}

// causes lists what may be behind a finding. A cause that another finding
// speaks for is named with the odds "often".
func causes(c *Case, f Finding, all []Finding) []Cause {
	var list []Cause
	for _, likely := range ruleOf(f.Rule).causes {
		odds := likely.odds
		if likely.raisedBy != "" && slices.ContainsFunc(all, func(other Finding) bool { return other.Rule == likely.raisedBy }) {
			odds = Often
		}
		if likely.when != nil && likely.when(c, f) {
			odds = more(odds)
		}
		list = append(list, Cause{likely.cause, odds})
	}
	slices.SortStableFunc(list, func(a, b Cause) int { return rank(b.Odds) - rank(a.Odds) })
	return list
}

func rank(odds string) int { return slices.Index([]string{Rarely, Sometimes, Often}, odds) }

func more(odds string) string {
	if odds == Rarely {
		return Sometimes
	}
	return Often
}

// signs gathers what a finding rests on.
func signs(entries []*husbandry.Entry) Finding {
	f := Finding{Count: float64(len(entries))}
	for _, e := range entries {
		f.Entries = append(f.Entries, e.ID)
		if f.Since.IsZero() || e.At.Before(f.Since) {
			f.Since = e.At
		}
		if e.At.After(f.Last) {
			f.Last = e.At
		}
	}
	return f
}

// lately returns the entries of the last while that is says yes to.
func (c *Case) lately(while time.Duration, is func(*husbandry.Entry) bool) []*husbandry.Entry {
	var found []*husbandry.Entry
	for _, e := range c.Entries {
		if c.At.Sub(e.At) <= while && is(e) {
			found = append(found, e)
		}
	}
	return found
}

func seen(word string) func(*husbandry.Entry) bool {
	return func(e *husbandry.Entry) bool { return e.What == husbandry.Seen && e.Seen == word }
}

func ruleOf(name string) rule {
	return rules[slices.IndexFunc(rules, func(r rule) bool { return r.name == name })]
}
