package chores

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"underlog/internal/fuse"
	"underlog/internal/husbandry"
	"underlog/internal/rota"
)

// Rules of the menu; judgement.
const (
	mouldMeal     = 0.15           // odds of mould at its next look from which a food is not given
	usualLook     = 24.0           // hours until that, where the room has taught nothing else
	leastLooks    = 6              // looks that teach it
	shortestLook  = 16.0           // hours
	longestLook   = 96.0           // hours
	atHandFor     = 28 * day       // food that was fed since is taken to be in the house
	leastAtHand   = 3              // with fewer foods the keeper is asked to choose from all
	mostMeals     = 24             // of a bin's past that count
	calciumEaten  = 14 * day       // how long a mineral that is eaten up is trusted to last
	firstLookFrom = 12 * time.Hour // what was found sooner says little about appetite
)

// A menu is what the rota goes by in a room, as far as it is the same for all
// bins: it hangs on what happened before the day of the time asked for.
type menu struct {
	foods    []husbandry.Food // that may be meals, by slug
	minerals []husbandry.Food // calcium sources, by slug
	atHand   []bool           // of foods
	offered  []rota.Food      // what the rota is told of foods
	useBy    []string         // days, empty for none
	look     float64          // hours from a meal to its first look
	odds     map[mouldKey]float64
	waits    map[foodKey]fuse.Wait // until a food is eaten, before anything is learnt
}

type foodKey struct{ slug, class string }

type mouldKey struct {
	food        int
	springtails bool
	hours       int
}

// menu returns the room's menu, made when it is first asked for.
func (r *Room) menu() *menu {
	if r.dishes != nil {
		return r.dishes
	}
	h := r.household
	m := &menu{odds: map[mouldKey]float64{}, waits: map[foodKey]fuse.Wait{}, look: r.usualLook()}
	slugs := make([]string, 0, len(h.Foods))
	for slug := range h.Foods {
		slugs = append(slugs, slug)
	}
	slices.Sort(slugs)
	for _, slug := range slugs {
		switch food := h.Foods[slug]; {
		case food.Deleted || food.OffMenu:
		case food.Class == rota.Mineral:
			m.minerals = append(m.minerals, food)
		case isMeal(food):
			m.foods = append(m.foods, food)
		}
	}
	lately := map[string]bool{}
	for _, b := range r.bins {
		for _, f := range b.past.feedings {
			if f.At.Before(h.day) && h.day.Sub(f.At) < atHandFor {
				lately[f.food.Slug] = true
			}
		}
	}
	m.atHand, m.useBy = make([]bool, len(m.foods)), make([]string, len(m.foods))
	kept := h.kept()
	count := 0
	for i, food := range m.foods {
		in, told := kept[food.Slug]
		m.offered = append(m.offered, rota.Food{Slug: food.Slug, Class: food.Class, Perishable: food.Perishable, UseBy: in.useIn, Portions: -1})
		if told {
			m.useBy[i], m.atHand[i] = in.useBy, in.stock
		} else {
			m.offered[i].UseBy, m.atHand[i] = math.NaN(), lately[food.Slug]
		}
		if m.atHand[i] {
			count++
		}
	}
	if count < leastAtHand {
		for i, food := range m.foods {
			if in, told := kept[food.Slug]; !told || in.stock {
				m.atHand[i] = true
			}
		}
	}
	r.dishes = m
	return m
}

// inStock is what the larder tells of a food.
type inStock struct {
	stock bool    // there is some: else it is all finished
	useBy string  // the use-by of what of it has to be used first, empty for none
	useIn float64 // days until it is to be used, before a trip if it would not last through that; NaN for none
}

// kept returns what the larder tells of each food that is or was in it.
func (h *Household) kept() map[string]inStock {
	told := map[string]inStock{}
	today := h.at.Format(time.DateOnly)
	for _, stock := range h.Stock {
		slug := husbandry.Slug(stock.Food)
		in, known := told[slug]
		if !known {
			in.useIn = math.NaN()
		}
		if stock.Finished == "" && !in.stock {
			in = inStock{stock: true, useIn: math.NaN()}
		}
		if stock.Finished == "" {
			if days, ok := daysUntil(today, h.usedBy(stock)); ok && !(days >= in.useIn) { // nor NaN
				in.useBy, in.useIn = stock.UseBy, days
			}
		}
		told[slug] = in
	}
	return told
}

func daysUntil(today, day string) (days float64, ok bool) {
	from, err := time.Parse(time.DateOnly, today)
	to, err2 := time.Parse(time.DateOnly, day)
	return to.Sub(from).Hours() / 24, err == nil && err2 == nil
}

// mealsIn are the meals among feedings: a calcium source that lies in a bin keeps
// nobody from feeding it.
func mealsIn(list []*feeding) (meals []*feeding) {
	for _, f := range list {
		if isMeal(f.food) {
			meals = append(meals, f)
		}
	}
	return meals
}

// isMeal says whether a food is a meal: neither a calcium source nor leaves.
func isMeal(food husbandry.Food) bool {
	return !food.Stays && food.Class != rota.Mineral && food.Class != string(fuse.Staple)
}

// usualLook is after how many hours a meal is mostly looked at in this room:
// three looks of four come sooner.
func (r *Room) usualLook() float64 {
	var hours []float64
	for _, b := range r.bins {
		for i := range b.pieces {
			hours = append(hours, b.pieces[i].Looks[0].Hours)
		}
	}
	if len(hours) < leastLooks {
		return usualLook
	}
	slices.Sort(hours)
	return clamp(math.Round(hours[len(hours)*3/4]), shortestLook, longestLook)
}

// mouldy returns the odds that a food turns mouldy, before it is gone, within so
// many hours of being put into a usual bin, with springtails or without.
func (h *Household) mouldy(m *menu, food int, springtails bool, hours int) float64 {
	key := mouldKey{food, springtails, hours}
	if odds, known := m.odds[key]; known {
		return odds
	}
	piece := h.pieceAnywhere(m.foods[food], h.day, h.drying.temperature(h.day.Add(36*time.Hour)), springtails)
	m.odds[key] = h.food.MouldsBy(piece, float64(hours))
	return m.odds[key]
}

// looksAt is when food that is put into a bin now is looked at next: after the
// usual time, or after a trip that begins before.
func (h *Household) looksAt(m *menu, bin string) time.Time {
	at := h.at.Add(time.Duration(m.look * float64(time.Hour)))
	for _, trip := range h.Trips {
		leaves, returns, ok := trip.Span(h.at.Location())
		home := returns.Add(homeHour * time.Hour)
		if ok && trip.Has(bin) && leaves.Add(LeftBy).Before(at) && h.at.Before(home) {
			at = later(at, home)
		}
	}
	return at
}

// A diet is what the rota knows of one bin.
type diet struct {
	bin      rota.Bin
	appetite rota.Appetite
	pieces   int
	looksAt  time.Time
	calcium  string    // slug of a calcium source that is due; empty: none
	lastLime time.Time // when one was given; zero: never, as far as is known
}

// diet works out what the rota goes by for a bin.
func (r *Room) diet(b *binState) diet {
	h, m, past := r.household, r.menu(), b.past
	d := diet{looksAt: h.looksAt(m, past.bin.ID), bin: rota.Bin{Limit: mouldMeal, Hand: -1}}
	hours := int(math.Ceil(d.looksAt.Sub(h.at).Hours()))
	for i := range m.foods {
		d.bin.Mouldy = append(d.bin.Mouldy, h.mouldy(m, i, past.bin.Springtails, hours))
	}
	var looks []rota.Look
	var servings []rota.Serving
	for i := len(past.feedings) - 1; i >= 0; i-- {
		f := past.feedings[i]
		if !isMeal(f.food) {
			continue
		}
		ago := h.at.Sub(f.At).Hours() / 24
		if len(d.bin.Past) < mostMeals {
			d.bin.Past = append(d.bin.Past, rota.Meal{Food: husbandry.Slug(f.food.Slug), Class: f.food.Class, Days: ago, Left: leftOf(f)})
		}
		for _, look := range f.looks {
			after := look.At.Sub(f.At)
			if after < firstLookFrom {
				continue
			}
			wait := m.wait(f.food)
			left := leftShare(look.Left)
			looks = append(looks, rota.Look{Protein: f.food.Class == rota.Protein, Days: ago, Eaten: 1 - left,
				Expected: rota.Expected(after.Hours(), wait.Median, wait.LogSD)})
			servings = append(servings, rota.Serving{Pieces: f.Pieces, Left: left})
			break
		}
	}
	d.appetite = rota.Learn(rota.KindShare(past.kind.Appetite), looks)
	d.bin.Share = d.appetite.Share()
	d.pieces = rota.Portion(planArea(past.bin), servings)
	d.calcium, d.lastLime = h.calcium(m, past)
	return d
}

// wait is how long a food is expected to lie until it is eaten. To find it by
// name takes longer than all else about a meal.
func (m *menu) wait(food husbandry.Food) fuse.Wait {
	key := foodKey{food.Slug, food.Class}
	wait, known := m.waits[key]
	if !known {
		wait = fuse.FoodPrior(food.Slug, fuse.Class(food.Class)).Eaten
		m.waits[key] = wait
	}
	return wait
}

// leftShare is the share that a word for leftovers stands for.
func leftShare(left string) float64 {
	return float64(max(0, slices.Index(husbandry.LeftWords, left))) / float64(len(husbandry.LeftWords)-1)
}

func leftOf(f *feeding) float64 {
	if len(f.looks) == 0 {
		return math.NaN()
	}
	return leftShare(f.looks[len(f.looks)-1].Left)
}

// calcium names the calcium source that a bin is due for: one that it did not
// have last time if there is another, of those that stay first.
func (h *Household) calcium(m *menu, past *history) (due string, last time.Time) {
	before := ""
	for i := len(past.entries) - 1; i >= 0 && last.IsZero(); i-- {
		e := past.entries[i]
		if e.What == husbandry.Renew {
			break // it went with the old substrate
		}
		food, known := h.Foods[husbandry.Slug(e.Food)]
		if e.What != husbandry.Feed || !known || food.Class != rota.Mineral {
			continue
		}
		last, before = e.At, food.Slug
		lasts := time.Duration(h.Room.CalciumWeeks * 7 * float64(day))
		if !food.Stays {
			lasts = min(lasts, calciumEaten)
		}
		if h.at.Before(last.Add(lasts)) {
			return "", last
		}
	}
	if len(m.minerals) == 0 {
		return "", last
	}
	best := slices.MinFunc(m.minerals, func(a, b husbandry.Food) int {
		rank := func(f husbandry.Food) int {
			switch {
			case f.Slug == before:
				return 2
			case !f.Stays:
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(rank(a), rank(b)), strings.Compare(a.Slug, b.Slug))
	})
	return best.Slug, last
}

// among returns the foods of a menu that are at hand, and their places in it.
func (m *menu) among(atHand []bool, bin *rota.Bin) (foods []rota.Food, places []int, own rota.Bin) {
	own = *bin
	own.Mouldy = nil
	for i, is := range atHand {
		if is {
			foods, places = append(foods, m.offered[i]), append(places, i)
			own.Mouldy = append(own.Mouldy, bin.Mouldy[i])
		}
	}
	return foods, places, own
}

// pick is what a bin by itself is to be fed next.
func (r *Room) pick(b *binState) *husbandry.Pick {
	m, d := r.menu(), r.diet(b)
	foods, places, own := m.among(m.atHand, &d.bin)
	first := rota.First(foods, &own)
	pick := &husbandry.Pick{Calcium: d.calcium}
	if first.Food >= 0 {
		r.describe(pick, &d, places[first.Food], first.Why)
	}
	return pick
}

// describe fills in what belongs to a chosen food.
func (r *Room) describe(pick *husbandry.Pick, d *diet, food int, why []string) {
	m := r.menu()
	pick.Food, pick.Pieces, pick.Why = m.foods[food].Slug, d.pieces, why
	pick.Share, pick.Mouldy, pick.LooksAt = round4(d.bin.Share), round4(d.bin.Mouldy[food]), minute(d.looksAt)
	pick.UseBy = m.useBy[food]
	for _, meal := range d.bin.Past {
		if meal.Food == husbandry.Slug(pick.Food) {
			pick.Days = math.Max(0.1, math.Round(10*meal.Days)/10)
			break
		}
	}
}

func round4(x float64) float64 { return math.Round(x*1e4) / 1e4 }
