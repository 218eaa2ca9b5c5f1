package chores

import "underlog/internal/husbandry"

// bringLeaves has the first visit to a bin bring the leaves without which its
// ground would be bare before the return. Where they are among what is to be
// done before leaving, they lie there by then.
func (h *Household) bringLeaves(visits []AwayVisit, all []*traveller, j *journey) {
	wants := map[string]*traveller{}
	for _, t := range all {
		if t.handfuls == 0 {
			wants[t.past.bin.ID] = t
		}
	}
	for i := range visits {
		for k := range visits[i].Stops {
			stop := &visits[i].Stops[k]
			t := wants[stop.Bin]
			if t == nil {
				continue
			}
			delete(wants, stop.Bin)
			// What the rule of an entry bears is enough for any ground.
			stop.Handfuls = min(h.leavesFor(t.binState, visits[i].To, j.home()), mostHandfuls)
		}
	}
}

// mostHandfuls is the most that one entry of added leaves may say.
var mostHandfuls = func() float64 {
	for _, field := range husbandry.EntryFields(husbandry.AddLeaves) {
		if field.Name == "handfuls" {
			return field.Max
		}
	}
	panic("chores: added leaves have no handfuls") // a slip in husbandry
}()
