package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/husbandry"
	"underlog/internal/rota"
)

// A FeedingOrder is a feeding as a keeper wants it.
type FeedingOrder struct {
	Bins   []string          `json:"bins"`   // ids; empty: every bin that is due
	Foods  []string          `json:"foods"`  // slugs of what is at hand; empty: what is taken to be
	Hand   map[string]string `json:"hand"`   // by bin: the food that it is to have
	Out    []string          `json:"out"`    // bins that are left out
	Anyway []string          `json:"anyway"` // bins that are fed though it is early
}

// What becomes of a bin at a feeding.
const (
	FeedNow    = "feed"
	FeedLook   = "look first"   // food still lies there
	FeedEarly  = "early"        // it was fed lately
	FeedOut    = "out"          // left out by hand
	FeedNone   = "nothing"      // nothing that is at hand fits
	feedsAhead = 12 * time.Hour // a meal that is due within that may as well be given
)

// A Feeding is a plan for feeding several bins.
type Feeding struct {
	At     time.Time      `json:"at"`
	Bins   []FeedingBin   `json:"bins"`   // in walking order
	Foods  []FeedingFood  `json:"foods"`  // that may be meals, by slug
	Board  []FeedingBoard `json:"board"`  // what to get ready, the most first; calcium after meals
	Looked float64        `json:"looked"` // hours until a meal is mostly looked at
}

// A FeedingBin is one bin of it.
type FeedingBin struct {
	Bin   string          `json:"bin"`
	State string          `json:"state"`
	Pick  *husbandry.Pick `json:"pick,omitempty"`
	Due   time.Time       `json:"due,omitzero"`    // when it is due for a meal
	Lying []Lying         `json:"lying,omitempty"` // to be looked at first
	Bans  []FeedingBan    `json:"bans"`            // what it is not given, and why
	Share float64         `json:"share"`           // of its meals that should be protein, and its span
	Low   float64         `json:"low"`
	High  float64         `json:"high"`
	Looks float64         `json:"looks"` // that it was learned from
	Limed *time.Time      `json:"limed"` // when it had a calcium source; null: nobody knows
}

// A FeedingBan is a food that a bin is not given.
type FeedingBan struct {
	Food string `json:"food"`
	Why  string `json:"why"`
}

// A FeedingFood is a food that the feeding may be made of.
type FeedingFood struct {
	Food   string `json:"food"`
	AtHand bool   `json:"at_hand"`
	UseBy  string `json:"use_by,omitempty"`
	Pieces int    `json:"pieces"` // in stock; below 0: nobody knows
}

// A FeedingBoard is what to get ready of one food.
type FeedingBoard struct {
	Food   string `json:"food"`
	Pieces int    `json:"pieces"`
	Bins   int    `json:"bins"`
}

// Feeding plans a feeding. left is how many pieces are in stock of foods of which
// that is known, by slug; it may be nil.
func (r *Room) Feeding(order FeedingOrder, left map[string]float64) Feeding {
	h, m := r.household, r.menu()
	plan := Feeding{At: h.at, Bins: []FeedingBin{}, Foods: []FeedingFood{}, Board: []FeedingBoard{}, Looked: m.look}
	atHand := m.atHand
	if len(order.Foods) > 0 {
		atHand = make([]bool, len(m.foods))
		for i, food := range m.foods {
			atHand[i] = slices.Contains(order.Foods, food.Slug)
		}
	}
	for _, food := range order.Hand { // what a hand gives out is at hand
		if i := m.place(food); i >= 0 && !atHand[i] {
			atHand = slices.Clone(atHand)
			atHand[i] = true
		}
	}
	for i, food := range m.foods {
		pieces := -1
		if n, known := left[food.Slug]; known {
			pieces = int(math.Round(math.Max(0, n)))
		}
		plan.Foods = append(plan.Foods, FeedingFood{food.Slug, atHand[i], m.useBy[i], pieces})
	}
	var fed []int // places in plan.Bins
	var bins []rota.Bin
	var diets []diet
	var foods []rota.Food
	var places []int
	for i, is := range atHand {
		if is {
			foods, places = append(foods, m.offered[i]), append(places, i)
		}
	}
	for _, b := range r.bins {
		id := b.past.bin.ID
		due, meals := h.mealDue(b.past)
		waiting := mealsIn(lying(b.past.feedings, h.at))
		soon := meals && !due.After(h.at.Add(feedsAhead))
		isDue := soon && len(waiting) == 0
		if len(order.Bins) == 0 && !soon || len(order.Bins) > 0 && !slices.Contains(order.Bins, id) {
			continue
		}
		d := r.diet(b)
		row := FeedingBin{Bin: id, State: FeedNow, Due: minute(due), Bans: []FeedingBan{}, Share: round4(d.bin.Share), Looks: round4(d.appetite.Looks)}
		low, high := d.appetite.Span()
		row.Low, row.High = round4(low), round4(high)
		if !d.lastLime.IsZero() {
			row.Limed = &d.lastLime
		}
		switch {
		case slices.Contains(order.Out, id):
			row.State = FeedOut
		case len(waiting) > 0:
			row.State, row.Lying = FeedLook, h.lyingNow(b.past, h.at)
		case !isDue && !slices.Contains(order.Anyway, id):
			row.State = FeedEarly
		}
		if row.State == FeedNow {
			_, _, own := m.among(atHand, &d.bin)
			if hand, chosen := order.Hand[id]; chosen {
				own.Hand = slices.IndexFunc(foods, func(f rota.Food) bool { return f.Slug == hand })
			}
			bins, diets, fed = append(bins, own), append(diets, d), append(fed, len(plan.Bins))
		}
		if row.State == FeedNow || row.State == FeedLook {
			if d.calcium != "" {
				row.Pick = &husbandry.Pick{Calcium: d.calcium}
			}
		}
		plan.Bins = append(plan.Bins, row)
	}
	pieces := 0
	for _, d := range diets {
		pieces += d.pieces
	}
	for i := range foods {
		if n := plan.Foods[places[i]].Pieces; n >= 0 && pieces > 0 {
			foods[i].Portions = min(n, max(1, n*len(diets)/pieces)) // of the usual size; the last pieces are one too
		}
	}
	outcome := rota.Plan(foods, bins)
	given := make([]int, len(foods))
	for n, pick := range outcome.Picks {
		row := &plan.Bins[fed[n]]
		for i, w := range pick.Weights {
			if w.Ban != "" {
				row.Bans = append(row.Bans, FeedingBan{foods[i].Slug, w.Ban})
			}
		}
		if pick.Food < 0 {
			row.State = FeedNone
			continue
		}
		if row.Pick == nil {
			row.Pick = &husbandry.Pick{}
		}
		r.describe(row.Pick, &diets[n], places[pick.Food], pick.Why)
		// Portions are of the usual size: who comes last where a bin gets more has what is left.
		if left := &plan.Foods[places[pick.Food]].Pieces; *left >= 0 {
			row.Pick.Pieces = min(row.Pick.Pieces, max(1, *left-given[pick.Food]))
			given[pick.Food] += row.Pick.Pieces
		}
	}
	plan.onBoard()
	return plan
}

func (m *menu) place(slug string) int {
	return slices.IndexFunc(m.foods, func(f husbandry.Food) bool { return f.Slug == slug })
}

// onBoard sums up what to get ready.
func (f *Feeding) onBoard() {
	add := func(food string, pieces int) {
		i := slices.IndexFunc(f.Board, func(b FeedingBoard) bool { return b.Food == food })
		if i < 0 {
			i = len(f.Board)
			f.Board = append(f.Board, FeedingBoard{Food: food})
		}
		f.Board[i].Pieces += pieces
		f.Board[i].Bins++
	}
	for _, row := range f.Bins {
		if row.Pick != nil && row.Pick.Food != "" {
			add(row.Pick.Food, row.Pick.Pieces)
		}
	}
	slices.SortStableFunc(f.Board, func(a, b FeedingBoard) int { return b.Pieces - a.Pieces })
	for _, row := range f.Bins {
		if row.Pick != nil && row.Pick.Calcium != "" {
			add(row.Pick.Calcium, 1)
		}
	}
}

// mealsPerWeek is how many meals a bin gets: its own number, or the household's.
func (h *Household) mealsPerWeek(bin husbandry.Bin) float64 {
	if bin.MealsPerWeek > 0 {
		return bin.MealsPerWeek
	}
	return h.Room.MealsPerWeek
}

// mealDue is when a bin is due for a meal; ok is false where it gets none.
func (h *Household) mealDue(past *history) (due time.Time, ok bool) {
	meals := h.mealsPerWeek(past.bin)
	if !(meals > 0) || math.IsInf(meals, 0) {
		return due, false
	}
	for i := len(past.feedings) - 1; i >= 0; i-- {
		if f := past.feedings[i]; isMeal(f.food) {
			return f.At.Add(time.Duration(float64(7*day) / meals)), true
		}
	}
	return dayStart(h.at).Add(roundHour), true
}
