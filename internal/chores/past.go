package chores

import (
	"sort"
	"time"

	"underlog/internal/fuse"
	"underlog/internal/husbandry"
)

// opens says whether an entry means that the bin was opened.
func opens(e *husbandry.Entry) bool {
	switch e.What {
	case husbandry.Climate, husbandry.Note, husbandry.Photo, husbandry.Strike:
		return false
	case husbandry.Seen:
		return e.Seen != husbandry.SeenEscaped // that was seen outside
	}
	return true
}

// lastOpened returns when the bin was last opened, or nil.
func lastOpened(entries []*husbandry.Entry) *time.Time {
	for i := len(entries) - 1; i >= 0; i-- {
		if opens(entries[i]) {
			return &entries[i].At
		}
	}
	return nil
}

// A feeding is one feed entry with the looks that followed it.
type feeding struct {
	*husbandry.Entry
	food  husbandry.Food
	looks []*husbandry.Entry // leftovers entries of it, by time

	asked asked
}

// asked is what was last asked about a feeding, and of which belief.
type asked struct {
	room    *fuse.Room
	celsius float64
	reached reached
	at      time.Time
	odds    fuse.Odds // at that time
}

// settled says whether nothing of the feeding lies in the bin any more.
func (f *feeding) settled() bool {
	for i := range f.looks {
		look := f.looks[i]
		if look.Removed || look.Left == husbandry.LeftWords[0] {
			return true
		}
	}
	return false
}

// forgottenDays is the age at which an unsettled feeding is taken for gone:
// nothing perishable lies in a bin for three weeks (judgement).
const forgottenDays = 21

// feedings returns the feedings among a bin's entries, by time. A feeding
// that lay in the bin when its substrate was renewed is left out: it went with
// the substrate, and nobody saw what became of it.
func feedings(entries []*husbandry.Entry, foods map[string]husbandry.Food) []*feeding {
	var all []*feeding
	byID := map[string]*feeding{}
	for _, entry := range entries {
		switch entry.What {
		case husbandry.Feed:
			food, known := foods[husbandry.Slug(entry.Food)]
			if !known {
				food = husbandry.Food{Slug: entry.Food, Name: entry.Food}
			}
			f := &feeding{Entry: entry, food: food}
			all = append(all, f)
			byID[entry.ID] = f
		case husbandry.Leftovers:
			if f := byID[entry.Of]; f != nil && !entry.At.Before(f.At) {
				f.looks = append(f.looks, entry)
			}
		case husbandry.Renew:
			kept := all[:0]
			for _, f := range all {
				if f.settled() {
					kept = append(kept, f)
				} else {
					delete(byID, f.ID)
				}
			}
			all = kept
		}
	}
	return all
}

// lying returns those of a bin's feedings, by time, of which something may still
// lie in the bin and ought to be looked at.
func lying(all []*feeding, at time.Time) []*feeding {
	var waiting []*feeding
	young := sort.Search(len(all), func(i int) bool { return at.Sub(all[i].At) < forgottenDays*24*time.Hour })
	for _, f := range all[young:] {
		if !f.food.Stays && !f.settled() {
			waiting = append(waiting, f)
		}
	}
	return waiting
}

// last returns the last entry that says what, or nil.
func last(entries []*husbandry.Entry, what string) *husbandry.Entry {
	for i := len(entries) - 1; i >= 0; i-- {
		if entries[i].What == what {
			return entries[i]
		}
	}
	return nil
}
