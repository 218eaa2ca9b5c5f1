package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/fuse"
	"underlog/internal/husbandry"
)

// A FoodPace is after how many hours mould can be seen on a food in a usual bin
// of the room, with springtails: as believed of any room, and after what this
// room has taught.
type FoodPace struct {
	Food     string  `json:"food"`
	Never    bool    `json:"never"` // its mould does not matter
	Believed Pace    `json:"believed"`
	Taught   Pace    `json:"taught"`
	Looks    int     `json:"looks"`  // meals of it that were looked at here
	Mouldy   int     `json:"mouldy"` // of these, seen with mould
	Eaten    float64 `json:"eaten"`  // mean share that was gone at the first look; with no looks 0
}

// A Pace is the hours by which mould shows with odds of 1 in 10, of even odds,
// and of 9 in 10.
type Pace struct {
	Soon   float64 `json:"soon"`
	Middle float64 `json:"middle"`
	Late   float64 `json:"late"`
}

// FoodPaces returns the pace of every food that is not deleted, by slug.
func (r *Room) FoodPaces() []FoodPace {
	h := r.household
	anywhere := fuse.Learn(nil, fuse.DefaultPriors())
	celsius := h.drying.temperature(h.day.Add(36 * time.Hour))
	list := []FoodPace{}
	for slug, food := range h.Foods {
		if food.Deleted {
			continue
		}
		piece := h.pieceAnywhere(food, h.day, celsius, true)
		pace := FoodPace{Food: slug, Never: food.Stays || fuse.FoodPrior(slug, piece.Class).Never}
		if !pace.Never {
			pace.Believed, pace.Taught = paceOf(anywhere, piece), paceOf(h.food, piece)
		}
		r.taughtBy(food, &pace)
		list = append(list, pace)
	}
	slices.SortFunc(list, func(a, b FoodPace) int {
		if a.Food < b.Food {
			return -1
		}
		return 1
	})
	return list
}

func paceOf(room *fuse.Room, piece fuse.Piece) Pace {
	mould := room.Mould(piece)
	at := func(share float64) float64 {
		low, high := 0.5, 2000.0
		for high-low > 0.05 {
			if middle := (low + high) / 2; mould.CDF(middle) < share {
				low = middle
			} else {
				high = middle
			}
		}
		return math.Round(10*high) / 10
	}
	return Pace{Soon: at(0.1), Middle: at(0.5), Late: at(0.9)}
}

// taughtBy counts what the room's looks at a food have found.
func (r *Room) taughtBy(food husbandry.Food, pace *FoodPace) {
	for _, b := range r.bins {
		for i := range b.pieces {
			piece := &b.pieces[i]
			if husbandry.Slug(piece.Food) != food.Slug {
				continue
			}
			pace.Looks++
			pace.Eaten += 1 - leftShare(string(piece.Looks[0].Left))
			if slices.ContainsFunc(piece.Looks, func(l fuse.Look) bool { return l.Mould == fuse.Specks || l.Mould == fuse.Furry }) {
				pace.Mouldy++
			}
		}
	}
	if pace.Looks > 0 {
		pace.Eaten = round4(pace.Eaten / float64(pace.Looks))
	}
}
