package fuse

import (
	"math"
	"sort"
)

// What a look finds left of a piece, in the words of the book.
type Left string

const (
	AllGone   Left = "all gone"
	SomeLeft  Left = "some left"
	Untouched Left = "untouched"
)

// What mould a look finds, in the words of the book; empty: it was not said,
// and says nothing about mould either way.
type Mould string

const (
	NoMould Mould = "none"
	Specks  Mould = "specks"
	Furry   Mould = "furry"
)

// A Look is what somebody saw of a piece. Hours are counted from when the
// piece was placed.
type Look struct {
	Hours   float64
	Left    Left
	Mould   Mould
	Removed bool // taken out at this look
}

func (l Look) mouldy() bool { return l.Mould == Specks || l.Mould == Furry }

// A Piece is one feeding in one bin.
type Piece struct {
	Food         string  // plain name, as FoodPrior takes it
	Class        Class   // counts only for foods of no known name
	Bin          int     // any number that tells bins apart
	PlacedHours  float64 // when, on a clock that all pieces of the room share
	Pieces       int     // how many alike; 0 counts as 1
	TemperatureC float64 // mean since placed; NaN for not known
	Springtails  bool    // live in the bin
	DrySide      bool    // lies on the dry side
	Cooked       bool
	Looks        []Look
}

// A story is what the looks at one piece add up to.
type story struct {
	known bool    // there was a look at all
	last  float64 // hours of the last look that counts
	gone  bool    // by the last look
	taken bool    // removed at the last look
	// mouldy: mould was there at the last look.
	mouldy bool

	eaten Span // as far as it says anything about eating
	mould Span // as far as it says anything about mould

	// The first look that found something left and no mould, for what
	// "untouched" and "some left" tell.
	begunKnown bool
	begunAt    float64
	untouched  bool

	// Eating of mouldy food: from when mould was seen to the last look.
	mouldyFrom, mouldyUntil float64
	mouldyGone              bool
}

// tell reads the looks in the order of their hours. Looks before the piece was
// placed, after it was taken out, or with hours that are no number are passed
// over. Of contradictory looks the later one is believed: food that is found
// after it was called gone had not gone, mould that is no longer there was
// none.
func tell(looks []Look) story {
	looks = inOrder(looks)
	s := story{}
	clean, present := 0.0, 0.0 // last look that found it clean, and there
	gone, mould := math.Inf(1), math.Inf(1)
	for _, l := range looks {
		s.known, s.last = true, l.Hours
		switch {
		case l.Left == AllGone:
			gone = math.Min(gone, l.Hours)
		default:
			gone, present = math.Inf(1), l.Hours
			if l.mouldy() {
				mould = math.Min(mould, l.Hours)
			} else {
				if l.Mould == NoMould {
					mould, clean = math.Inf(1), l.Hours
				}
				if !s.begunKnown && (l.Left == Untouched || l.Left == SomeLeft) {
					s.begunKnown, s.begunAt, s.untouched = true, l.Hours, l.Left == Untouched
				}
			}
		}
		if l.Removed {
			s.taken = true
			break
		}
	}
	s.gone = !math.IsInf(gone, 1)
	seenMouldy := !math.IsInf(mould, 1)
	s.mouldy = seenMouldy && !s.gone
	s.mould = Span{After: clean, By: mould}
	s.eaten = Span{After: present, By: gone}
	if seenMouldy {
		// Mould may put the animals off, so what happens after it says nothing
		// certain about appetite. It came somewhere between the looks.
		s.eaten = NotYet(0.5 * (clean + mould))
		s.mouldyFrom, s.mouldyGone = mould, s.gone
		s.mouldyUntil = math.Max(mould, present)
		if s.gone {
			s.mouldyUntil = math.Max(mould, 0.5*(present+gone))
		}
	}
	return s
}

// inOrder returns the looks that have a time after placing, ascending.
func inOrder(looks []Look) []Look {
	before, sound := 0.0, true
	for _, l := range looks {
		sound = sound && l.Hours >= before && l.Hours > 0 && !math.IsInf(l.Hours, 1)
		before = l.Hours
	}
	if sound {
		return looks
	}
	kept := make([]Look, 0, len(looks))
	for _, l := range looks {
		if l.Hours > 0 && !math.IsInf(l.Hours, 1) {
			kept = append(kept, l)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool { return kept[i].Hours < kept[j].Hours })
	return kept
}
