package larder

import (
	"math"
	"slices"
	"strings"
	"time"

	"underlog/internal/husbandry"
)

// Records are what a household keeps and what happened.
type Records struct {
	Batches  []husbandry.Batch
	Mixes    []husbandry.Mix
	Stock    []husbandry.Stock
	Supplies []husbandry.Supply
	Bins     []husbandry.Bin
	Foods    map[string]husbandry.Food // by slug
	Entries  []*husbandry.Entry        // by what happened first, none struck, none later than asked for

	LeavesPerDay    float64 // handfuls that the bins use up, by their gauges
	SubstratePerDay float64 // litres that their renewals take
}

// A Larder is what there is at an instant.
type Larder struct {
	Batches         []Held  `json:"batches"`
	Mixes           []Held  `json:"mixes"`
	Stock           []Held  `json:"stock"`
	Supplies        []Held  `json:"supplies"`
	LeavesPerDay    float64 `json:"leaves_per_day"`    // handfuls that the room uses
	SubstratePerDay float64 `json:"substrate_per_day"` // litres
}

// Held is one thing of the larder. Amounts are in its own unit.
type Held struct {
	ID       string     `json:"id"`
	Known    bool       `json:"known"` // an amount was written down: else only the share is told
	Left     Level      `json:"left"`
	Share    Level      `json:"share"` // of the most there was
	PerDay   float64    `json:"per_day"`
	Uses     int        `json:"uses"` // that were written down
	Used     float64    `json:"used"` // in all
	LastUsed *time.Time `json:"last_used"`
	Turn     int        `json:"turn"`     // 0 is used next of its sort; -1 is finished
	RunsOut  *Span      `json:"runs_out"` // nil where nobody can say
	Soon     bool       `json:"soon"`     // it is likely out within a fortnight
	Doubts   []string   `json:"doubts"`   // of leaves, and of a mix with such leaves
	Past     bool       `json:"past"`     // the day by which to use it has gone by
}

// Rules of the larder; judgement.
const (
	paceDays      = 180 // of which the uses teach the pace
	soonDays      = 14
	roughLeaves   = 0.30 // hands differ, and leaves settle
	roughMix      = 0.20 // not every bin is filled to the mark
	roughPieces   = 0.15
	roughGrams    = 0.50 // nobody weighs what is fed
	roughSupplies = 0.10
)

// Of works out what there is at an instant. Days are of its zone.
func Of(r Records, at time.Time) Larder {
	w := &work{Records: r, at: at, reckoner: NewReckoner()}
	w.group()
	w.since = at.Add(-paceDays * day)
	if len(r.Entries) > 0 && r.Entries[0].At.After(w.since) {
		w.since = r.Entries[0].At
	}
	l := Larder{Batches: []Held{}, Mixes: []Held{}, Stock: []Held{}, Supplies: []Held{}}
	l.Batches, l.LeavesPerDay = w.batches()
	l.Mixes, l.SubstratePerDay = w.mixes()
	l.Stock = w.stock()
	l.Supplies = w.supplies()
	return l
}

type work struct {
	Records
	at, since time.Time
	reckoner  *Reckoner

	leaves, renewals, fed happenings // by slug of batch, mix and food
	noted                 map[string][]*husbandry.Entry
}

// happenings are uses by what was used, and all of them.
type happenings struct {
	of  map[string][]Use
	all []Use
}

func (h *happenings) add(name string, use Use) {
	h.all = append(h.all, use)
	if h.of == nil {
		h.of = map[string][]Use{}
	}
	if name = husbandry.Slug(name); name != "" {
		h.of[name] = append(h.of[name], use)
	}
}

// group sorts the entries by what they are about.
func (w *work) group() {
	litres := map[string]float64{}
	for _, bin := range w.Bins {
		litres[bin.ID] = bin.SubstrateLitres()
	}
	w.noted = map[string][]*husbandry.Entry{}
	for _, e := range w.Entries {
		switch e.What {
		case husbandry.AddLeaves:
			w.leaves.add(e.Batch, Use{e.At, math.Max(e.Handfuls, 0.25)})
		case husbandry.Renew:
			if litres[e.Bin] > 0 {
				w.renewals.add(e.Mix, Use{e.At, litres[e.Bin]})
			}
		case husbandry.Feed:
			w.fed.add(e.Food, Use{e.At, math.Max(1, float64(e.Pieces))})
		case husbandry.Larder:
			w.noted[e.Item] = append(w.noted[e.Item], e)
		}
	}
}

// A thing is an item with what else is asked of it.
type thing struct {
	Item
	id       string
	finished bool
	unit     float64 // of its own, in the unit of the reckoning
	doubts   []string
}

// chain reckons things of one sort, of which one after the other is used, in
// the order of use.
func (w *work) chain(things []thing, pace Pace) []Held {
	held := make([]Held, 0, len(things))
	before, turn := Before{}, 0
	for _, t := range things {
		left := w.reckoner.Reckon(t.Item, pace, before, w.at)
		h := Held{ID: t.id, Known: left.Known, Share: left.Share, Turn: turn, RunsOut: left.RunsOut, Doubts: t.doubts}
		h.Left = Level{left.Amount.Mean / t.unit, left.Amount.Low / t.unit, left.Amount.High / t.unit}
		h.PerDay = pace.PerDay / t.unit
		for _, use := range t.Used {
			h.Uses++
			h.Used += use.Amount / t.unit
			if last := use.At; h.LastUsed == nil || last.After(*h.LastUsed) {
				h.LastUsed = &last
			}
		}
		switch {
		case t.finished:
			h.Turn, h.RunsOut, h.Left, h.Share = -1, nil, Level{}, Level{}
		case left.Known:
			turn++
			before.Mean += left.Amount.Mean
			// The span of 90 % is 3.29 standard deviations wide.
			before.Spread = math.Hypot(before.Spread, (left.Amount.High-left.Amount.Low)/3.29)
		default:
			turn++
		}
		h.Soon = h.RunsOut != nil && h.RunsOut.About.Before(w.at.Add(soonDays*day))
		held = append(held, h)
	}
	return held
}

// inUse orders things: what was used last goes on, then what came first;
// what is finished comes last.
func inUse(things []thing) {
	slices.SortStableFunc(things, func(a, b thing) int {
		if a.finished != b.finished {
			if a.finished {
				return 1
			}
			return -1
		}
		if c := lastUse(b).Compare(lastUse(a)); c != 0 {
			return c
		}
		if c := a.Since.Compare(b.Since); c != 0 {
			return c
		}
		return strings.Compare(a.id, b.id)
	})
}

func lastUse(t thing) (last time.Time) {
	for _, use := range t.Used {
		if use.At.After(last) {
			last = use.At
		}
	}
	return last
}

// begin is the start of a day, or of the first thing that happened to an item
// if that is before, or if the day cannot be read.
func (w *work) begin(item *Item, days ...string) {
	item.Since = w.at
	for _, text := range days {
		if date, err := time.ParseInLocation(time.DateOnly, text, w.at.Location()); err == nil && date.Before(w.at) {
			item.Since = date
			break
		}
	}
	for _, list := range [][]Use{item.Used, item.Added} {
		for _, use := range list {
			if use.At.Before(item.Since) {
				item.Since = use.At
			}
		}
	}
	for _, look := range item.Looks {
		if look.At.Before(item.Since) {
			item.Since = look.At
		}
	}
}

// logged takes in what entries of the larder itself say of an item.
func (w *work) logged(item *Item, id string, unit float64) {
	for _, e := range w.noted[id] {
		if e.Added > 0 {
			item.Added = append(item.Added, Use{e.At, e.Added * unit})
		}
		if e.Used > 0 {
			item.Used = append(item.Used, Use{e.At, e.Used * unit})
		}
		if word := slices.Index(husbandry.FoundWords, e.Found); word >= 0 {
			item.Looks = append(item.Looks, Look{e.At, word})
		}
	}
}

func (w *work) batches() ([]Held, float64) {
	pace := PaceOf(w.leaves.all, w.LeavesPerDay, w.since, w.at)
	var things []thing
	for _, b := range w.Batches {
		t := thing{id: b.ID, finished: b.Finished != "", unit: 1, doubts: b.Doubts()}
		if b.Unit == "litres" {
			t.unit = 1 / husbandry.LitresPerHandful
		}
		t.Amount, t.Rough = b.Handfuls(), roughLeaves
		t.Used = slices.Clone(w.leaves.of[husbandry.Slug(b.Slug)])
		for _, mix := range w.Mixes {
			if use, ok := w.leavesIn(mix, b.Slug); ok {
				t.Used = append(t.Used, use)
			}
		}
		w.logged(&t.Item, b.ID, t.unit)
		w.begin(&t.Item, b.Gathered, b.Started)
		things = append(things, t)
	}
	inUse(things)
	return w.chain(things, pace), pace.PerDay
}

// leavesIn is what a mix took of a batch, in handfuls.
func (w *work) leavesIn(mix husbandry.Mix, slug string) (Use, bool) {
	mixed, err := time.ParseInLocation(time.DateOnly, mix.Mixed, w.at.Location())
	if err != nil || mix.Litres <= 0 || mixed.After(w.at) {
		return Use{}, false
	}
	sum, share := 0.0, 0.0
	for _, part := range mix.Parts {
		sum += part.Share
		if part.Batch != "" && husbandry.SameSlug(part.Batch, slug) {
			share += part.Share
		}
	}
	if share == 0 || sum <= 0 {
		return Use{}, false
	}
	return Use{mixed, mix.Litres * share / sum / husbandry.LitresPerHandful}, true
}

func (w *work) mixes() ([]Held, float64) {
	pace := PaceOf(w.renewals.all, w.SubstratePerDay, w.since, w.at)
	var things []thing
	for _, m := range w.Mixes {
		t := thing{id: m.ID, finished: m.Finished != "", unit: 1, doubts: w.doubtsOf(m)}
		t.Amount, t.Rough = m.Litres, roughMix
		t.Used = slices.Clone(w.renewals.of[husbandry.Slug(m.Slug)])
		w.logged(&t.Item, m.ID, 1)
		w.begin(&t.Item, m.Mixed)
		things = append(things, t)
	}
	inUse(things)
	return w.chain(things, pace), pace.PerDay
}

// doubtsOf are the doubts of the leaves in a mix, each once.
func (w *work) doubtsOf(mix husbandry.Mix) []string {
	var doubts []string
	for _, slug := range mix.Batches() {
		i := slices.IndexFunc(w.Batches, func(b husbandry.Batch) bool { return husbandry.SameSlug(b.Slug, slug) })
		if i < 0 {
			continue
		}
		for _, doubt := range w.Batches[i].Doubts() {
			if !slices.Contains(doubts, doubt) {
				doubts = append(doubts, doubt)
			}
		}
	}
	return doubts
}

// stock reckons each food by itself: of one food, what has to be used first is.
// A feeding that does not say what it was taken from was taken from that, too.
func (w *work) stock() []Held {
	stock := slices.Clone(w.Stock)
	slices.SortFunc(stock, husbandry.SoonestStock)
	used := map[string][]Use{} // by id of stock
	for _, e := range w.Entries {
		if e.What != husbandry.Feed {
			continue
		}
		if from := takenFrom(stock, e, husbandry.Slug(e.Food), w.at.Location()); from != "" {
			used[from] = append(used[from], Use{e.At, math.Max(1, float64(e.Pieces))})
		}
	}
	things := map[string][]thing{}
	var foods []string
	for _, s := range stock {
		t := thing{id: s.ID, finished: s.Finished != "", unit: 1}
		t.Rough = roughPieces
		if s.Unit == "grams" {
			t.unit, t.Rough = 1/w.Foods[husbandry.Slug(s.Food)].WeightG(), roughGrams
		}
		t.Amount = s.Amount * t.unit
		t.Used = used[s.ID]
		w.logged(&t.Item, s.ID, t.unit)
		w.begin(&t.Item, s.Got)
		food := husbandry.Slug(s.Food)
		if things[food] == nil {
			foods = append(foods, food)
		}
		things[food] = append(things[food], t)
	}
	held := []Held{}
	for _, food := range foods {
		list := things[food]
		slices.SortStableFunc(list, func(a, b thing) int { // soonest first as they are; finished last
			switch {
			case a.finished == b.finished:
				return 0
			case a.finished:
				return 1
			}
			return -1
		})
		held = append(held, w.chain(list, PaceOf(w.fed.of[food], 0, w.since, w.at))...)
	}
	today := w.at.Format(time.DateOnly)
	for i := range held {
		s := stock[slices.IndexFunc(stock, func(s husbandry.Stock) bool { return s.ID == held[i].ID })]
		held[i].Past = s.UseBy != "" && s.UseBy < today && s.Finished == ""
	}
	return held
}

// takenFrom is the stock that a feeding was taken from: the one it names, or
// the first to be used of those of its food that were there on its day. Stock
// without a day may have come yesterday: only what names it counts against it.
func takenFrom(stock []husbandry.Stock, e *husbandry.Entry, food string, zone *time.Location) string {
	if e.Item != "" {
		return e.Item
	}
	on := e.At.In(zone).Format(time.DateOnly)
	for _, s := range stock {
		if husbandry.Slug(s.Food) == food && s.Got <= on && (s.Finished == "" || on <= s.Finished) && s.Got != "" {
			return s.ID
		}
	}
	return ""
}

func (w *work) supplies() []Held {
	held := []Held{}
	for _, s := range w.Supplies {
		t := thing{id: s.ID, finished: s.Finished != "", unit: 1}
		t.Amount, t.Days, t.Rough = s.Amount, s.LastsDays, roughSupplies
		w.logged(&t.Item, s.ID, 1)
		w.begin(&t.Item, s.Got)
		expected := 0.0
		if s.LastsDays > 0 {
			expected = s.Amount / s.LastsDays
		}
		since := t.Since
		if since.Before(w.since) {
			since = w.since
		}
		held = append(held, w.chain([]thing{t}, PaceOf(t.Used, expected, since, w.at))...)
	}
	return held
}
