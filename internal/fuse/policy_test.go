package fuse

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A round of looks at leftovers, per piece.
type lookings struct {
	pieces, looks float64
	foundMouldy   float64
	mouldyHours   float64 // until found
}

func (l lookings) String() string {
	return fmt.Sprintf("%.3f looks a piece, %.1f %% found mouldy, %.2f h mouldy a piece;",
		l.looks/l.pieces, 100*l.foundMouldy/l.pieces, l.mouldyHours/l.pieces)
}

// follow follows every piece of the later rooms under a rule: due says when to
// look next, given the looks so far; keep whether firm clean food stays.
func (w world) follow(seed uint64, keep bool, due func(r *Room, p Piece) float64) lookings {
	random := rand.New(rand.NewPCG(seed, 3))
	var out lookings
	for range 8 {
		all, _ := w.keep(random, 24, 60)
		var known []Piece
		for _, f := range all {
			if f.PlacedHours < 30*24 {
				known = append(known, f.Piece)
			}
		}
		room := Learn(known, DefaultPriors())
		for _, f := range all {
			if f.PlacedHours < 33*24 {
				continue
			}
			out.pieces++
			p := f.Piece
			p.Looks = nil
			for {
				at := due(room, p)
				out.looks++
				gone, mouldy := f.state(at)
				if gone {
					break
				}
				if mouldy {
					out.foundMouldy++
					out.mouldyHours += at - f.mouldy
					break
				}
				if !keep || len(p.Looks) > 8 {
					break
				}
				p.Looks = append(p.Looks[:len(p.Looks):len(p.Looks)], Look{Hours: at, Left: SomeLeft})
			}
		}
	}
	return out
}

// dayAfter looks after exactly 24 h, and again every 24 h: common practice.
func dayAfter(_ *Room, p Piece) float64 {
	return 24 * float64(len(p.Looks)+1)
}

// byOdds looks when mould has become as likely as 15 %, after first hours at
// the latest for the first look and two days for the next, no sooner than 6 h
// after the last.
func byOdds(first float64) func(*Room, Piece) float64 {
	return func(r *Room, p Piece) float64 {
		reached := r.MouldyReaches(p, 14*24, 0.15)[0]
		if len(p.Looks) == 0 {
			return math.Min(first, reached)
		}
		last := p.Looks[len(p.Looks)-1].Hours
		return math.Min(last+48, math.Max(last+6, reached))
	}
}

// Against a look after exactly 24 h, in every world. One look a piece and
// leftovers taken out at it: as many looks, fewer of them find mould. Firm
// food left in and the first look as late as the odds allow: no more looks, and
// food lies mouldy for at most two thirds of the hours.
func TestLooksByOddsFindLessMould(t *testing.T) {
	for _, w := range worlds() {
		t.Run(w.name, func(t *testing.T) {
			plain, odds := w.follow(50, false, dayAfter), w.follow(50, false, byOdds(24))
			t.Log("taken out: after 24 h", plain, "by odds", odds)
			if odds.looks != plain.looks || odds.foundMouldy > 0.9*plain.foundMouldy {
				t.Error("no fewer mouldy leftovers")
			}
			plain, odds = w.follow(51, true, dayAfter), w.follow(51, true, byOdds(48))
			t.Log("left in: every 24 h", plain, "by odds", odds)
			if odds.looks > plain.looks || odds.mouldyHours > 0.67*plain.mouldyHours {
				t.Error("more looks, or food lies mouldy for as long")
			}
		})
	}
}
