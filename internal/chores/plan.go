package chores

import (
	"math"
	"slices"
	"strings"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
)

// binState is one bin with its gauges replayed.
type binState struct {
	past                *history
	damp, litter, fresh *track
	renewed             time.Time
	renewedKnown        bool
	lesson              gauge.Lesson // what its dampness teaches the room
	feel, leaves        *crossings   // of damp and litter as replayed; nil until asked for
	frass               *time.Time
}

// crossings are the instants at which a gauge's odds reach what opens, makes
// due and closes a window.
type crossings struct{ opens, due, closes time.Time }

// A Record is one bin and its entries that count, by time.
type Record struct {
	Bin     husbandry.Bin
	Entries []husbandry.Entry
}

// A Room is a household's bins with everything known replayed. It answers for
// one time; At moves it to a later one as long as no record changes.
type Room struct {
	household *Household
	bins      []*binState
}

// NewRoom replays a household. climate are the entries about the room's air;
// start is no later than the first entry that counts. What before, the room as
// it was, has replayed is taken over for bins whose records are unchanged, to
// the same result; unchanged may be nil, and then before is not looked at.
func NewRoom(settings Settings, records []Record, climate []husbandry.Entry, start, at time.Time, before *Room, unchanged func(bin string) bool) *Room {
	tables := new(gauge.Tables)
	if before != nil {
		tables = before.household.tables
	}
	h := newHousehold(settings, climate, start, at, tables)
	r := &Room{household: h}
	known := map[string]*binState{}
	if before != nil && unchanged != nil {
		h.drying = before.household.drying
		for _, b := range before.bins {
			known[b.past.bin.ID] = b
		}
	}
	var histories []*history
	for i, record := range records {
		if b := known[record.Bin.ID]; b != nil && unchanged(record.Bin.ID) {
			b.past.number = i
			histories = append(histories, b.past)
			continue
		}
		delete(known, record.Bin.ID)
		histories = append(histories, h.newHistory(record.Bin, i, record.Entries))
	}
	h.people = peopleOf(histories)
	if before != nil && !slices.Equal(h.people, before.household.people) {
		clear(known) // people are told apart by their place
	}
	for _, past := range histories {
		b := known[past.bin.ID]
		if b == nil {
			b = h.replayed(past)
		}
		r.bins = append(r.bins, b)
	}
	r.pool()
	h.food = h.learnFood(histories)
	return r
}

// replayed replays a bin as if it were the only one.
func (h *Household) replayed(past *history) *binState {
	b := &binState{past: past, damp: h.dampTrack(past), litter: h.litterTrack(past)}
	b.fresh, b.renewed, b.renewedKnown = h.freshTrack(past)
	b.damp.replay(b.damp.params.Rate, nil)
	taught, _ := b.damp.likelier()
	taught.Lesson(&b.lesson)
	b.litter.replay(b.litter.params.Rate, nil)
	b.fresh.replay(b.fresh.params.Rate, nil)
	return b
}

// pool lets the bins teach each other: how fast bins of this room dry
// compared with the physics, and how each person's finger differs. Bins for
// which that changed are then replayed once more.
func (r *Room) pool() {
	if len(r.bins) == 0 {
		return
	}
	lessons := make([]gauge.Lesson, len(r.bins))
	for i, b := range r.bins {
		lessons[i] = b.lesson
	}
	room := gauge.Pool(r.bins[0].damp.params.Rate, lessons, nil)
	touch := make([]gauge.Touch, len(room.Touch))
	for i := range touch {
		touch[i].Bias = coarse(room.Touch[i].Bias)
	}
	for i, b := range r.bins {
		prior := room.PriorFor(i)
		prior = gauge.RatePrior{LogMedian: coarse(prior.LogMedian), LogSpread: math.Max(leastSpread, coarse(prior.LogSpread))}
		if b.damp.prior != prior || !slices.Equal(b.damp.touch, touch) {
			b.damp.replay(prior, touch)
			b.feel = nil
		}
	}
}

// leastSpread is how far a bin's rate may differ from what the others teach:
// tight tubs and airy ones are not wrong in the same way (judgement).
const leastSpread = 0.35

// coarse rounds a belief, so that a bin need not be replayed for a change that
// nobody could see.
func coarse(x float64) float64 {
	const step = 0.02
	return math.Round(x/step) * step
}

// At moves the room to another time. No record may lie between.
func (r *Room) At(at time.Time) { r.household.at = at }

// Chores returns every chore of every bin, by Due, in walking order where
// that is the same.
func (r *Room) Chores(withForecasts bool) []husbandry.Chore {
	var all []husbandry.Chore
	for _, b := range r.bins {
		all = append(all, r.choresOf(b, withForecasts)...)
	}
	slices.SortStableFunc(all, func(a, b husbandry.Chore) int { return a.Due.Compare(b.Due) })
	return all
}

func (r *Room) choresOf(b *binState, withForecasts bool) []husbandry.Chore {
	h, past := r.household, b.past
	chores := []husbandry.Chore{h.feelChore(b, withForecasts)}
	waiting := lying(past.feedings, h.at)
	for _, f := range waiting {
		chores = append(chores, h.leftoversChore(past, f, h.at, withForecasts))
	}
	if feed, ok := feedChore(past.bin, past.feedings, waiting, h.Room, h.at); ok {
		chores = append(chores, feed)
	}
	chores = append(chores, h.leavesChore(b), h.renewChore(b), lookChore(past.bin, past.entries, h.Room, h.at))
	return chores
}

// Glances returns the state of every bin, in walking order.
func (r *Room) Glances() []Glance {
	glances := make([]Glance, 0, len(r.bins))
	for _, b := range r.bins {
		glances = append(glances, r.glance(b))
	}
	return glances
}

func (r *Room) glance(b *binState) Glance {
	h, past := r.household, b.past
	odds := b.damp.odds(h.at)
	g := Glance{
		Bin: past.bin.ID, Damp: b.damp.level(h.at), Leaves: b.litter.level(h.at), Fresh: b.fresh.level(h.at),
		Dry: odds.Dry, Risk: odds.Risk, Food: h.lyingNow(past, h.at), LastOpened: lastOpened(past.entries),
	}
	if water := last(past.entries, husbandry.Water); water != nil {
		g.LastWatered, g.LastWaterML = &water.At, water.WaterML
	}
	if b.renewedKnown {
		g.Renewed = b.renewed.In(h.at.Location()).Format(time.DateOnly)
	}
	return g
}

// How far the fan of the Bin page reaches.
const (
	fanBack  = 30 * day
	fanAhead = 14 * day
	fanStep  = 6 * time.Hour
)

// Outlook returns what the page of one bin shows; ok is false for a bin that
// is not in the room.
func (r *Room) Outlook(id string) (outlook Outlook, ok bool) {
	i := slices.IndexFunc(r.bins, func(b *binState) bool { return b.past.bin.ID == id })
	if i < 0 {
		return outlook, false
	}
	b, at := r.bins[i], r.household.at
	outlook = Outlook{Glance: r.glance(b), Chores: r.choresOf(b, false), Fan: []FanPoint{}, Marks: []Mark{}}
	slices.SortStableFunc(outlook.Chores, func(a, b husbandry.Chore) int { return a.Due.Compare(b.Due) })
	outlook.Fan = append(outlook.Fan, b.fanPast(at)...)
	for t := later(at, b.damp.last); !t.After(at.Add(fanAhead)); t = t.Add(fanStep) {
		outlook.Fan = append(outlook.Fan, b.damp.fanPoint(t))
	}
	for _, e := range b.past.entries {
		mark := Mark{At: e.At, What: e.What, By: e.By}
		switch {
		case at.Sub(e.At) > fanBack:
			continue
		case e.What == husbandry.Feel:
			mark.Word = e.Feel
		case e.What == husbandry.Water:
			mark.Amount = e.WaterML
		case e.What != husbandry.Renew:
			continue
		}
		outlook.Marks = append(outlook.Marks, mark)
	}
	return outlook, true
}

func (tr *track) fanPoint(t time.Time) FanPoint {
	fan, odds := tr.fan(t), tr.odds(t)
	return FanPoint{At: t, P05: fan[0], P25: fan[1], P50: fan[2], P75: fan[3], P95: fan[4], Dry: odds.Dry, Risk: odds.Risk}
}

// fanPast is the fan as it was believed at the time: at every entry of the
// last weeks, before and after it.
func (b *binState) fanPast(at time.Time) []FanPoint {
	then := &track{params: b.damp.params, filter: b.damp.tables.New(), clock: b.damp.clock, from: b.damp.from}
	then.filter.Reset(b.damp.params, b.damp.prior, b.damp.touch)
	var points []FanPoint
	point := func(t time.Time) {
		if at.Sub(t) <= fanBack && !t.After(at) {
			points = append(points, then.fanPoint(t))
		}
	}
	_, events := b.damp.likelier()
	for i := range events {
		e := &events[i]
		t := b.damp.from.Add(hoursLong(e.Hours))
		if i > 0 {
			for between := then.last.Add(2 * fanStep); between.Before(t.Add(-fanStep)); between = between.Add(2 * fanStep) {
				point(between)
			}
			point(t)
		}
		then.filter.Take(e)
		then.last = t
		point(t.Add(time.Minute))
	}
	for between := then.last.Add(2 * fanStep); between.Before(at.Add(-fanStep)); between = between.Add(2 * fanStep) {
		point(between)
	}
	return points
}

// normal spells a slug the way records compare it.
func normal(slug string) string { return strings.ToLower(strings.TrimSpace(slug)) }
