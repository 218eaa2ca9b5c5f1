package chores

import (
	"underlog/internal/husbandry"
	"underlog/internal/trouble"
)

// A Troubled is a bin that may be going wrong.
type Troubled struct {
	Bin      string            `json:"bin"`
	Findings []trouble.Finding `json:"findings"`
}

// Trouble returns what may be going wrong, bin by bin in walking order, or with
// one bin alone if it is named. record returns the entries of a bin, or of the
// room's air for "", as far as they count.
func (r *Room) Trouble(only string, record func(bin string) []*husbandry.Entry) []Troubled {
	h := r.household
	found := []Troubled{}
	air := record("")
	for _, b := range r.bins {
		id := b.past.bin.ID
		if only != "" && id != only {
			continue
		}
		c := trouble.Case{Bin: b.past.bin, Kind: b.past.kind, Entries: record(id), Air: air, Months: goalMonths(b.past.bin), At: h.at}
		if last(c.Entries, husbandry.Feel) != nil {
			c.Risk = b.damp.odds(h.at).Risk
		}
		if b.renewedKnown {
			c.Renewed = b.renewed
		}
		if findings := trouble.Find(c); len(findings) > 0 {
			found = append(found, Troubled{id, findings})
		}
	}
	return found
}
