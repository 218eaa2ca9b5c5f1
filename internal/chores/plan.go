package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/fuse"
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
	pieces              []fuse.Piece // fed and looked at before the day of the time asked for

	before   *binState // the bin as it was, while the room is made
	samePast bool      // its past is what it was
	same     bool      // and so is its air
}

// crossings are the instants at which a gauge's odds reach what opens, makes
// due and closes a window.
type crossings struct {
	opens, due, closes time.Time

	doseAt time.Time // of the damp side: when dose was asked for last
	dose   float64

	ifAt     time.Time // of the litter: when handfuls were asked for last
	handfuls map[string]float64

	readyAt time.Time // and for when doses before a trip were
	ready   map[string]float64
}

// A Record is one bin and its entries that count, by time.
type Record struct {
	Bin     husbandry.Bin
	Entries []*husbandry.Entry // are not changed
}

// A Room is a household's bins with everything known replayed. It answers for
// one time; At moves it to a later one as long as no record changes.
type Room struct {
	household *Household
	bins      []*binState
	priors    []gauge.RatePrior // what the others teach each bin
	touch     []gauge.Touch     // of each person
	dishes    *menu             // nil until asked for
}

// NewRoom replays a household. climate are the entries about the room's air;
// start is no later than the first entry that counts. What before, the room as
// it was, has replayed is taken over as far as it is still so, to the same
// result. unchanged says of which bins the record is the one that before was
// made from: their Entries need not be given; of "" it says so of climate. It
// may be nil; if it is not, settings are those of before.
func NewRoom(settings Settings, records []Record, climate []*husbandry.Entry, start, at time.Time, before *Room, unchanged func(bin string) bool) *Room {
	h := newHousehold(settings, start, at)
	r := &Room{household: h}
	known := map[string]*binState{}
	if before != nil {
		h.carryOver(before.household, unchanged != nil && unchanged(""))
		for _, b := range before.bins {
			known[b.past.bin.ID] = b
		}
	}
	if h.drying == nil {
		h.drying = h.clock(climate)
		h.sameAir = before != nil && h.drying.sameAs(before.household.drying)
	}
	for i, record := range records {
		old := known[record.Bin.ID]
		if old != nil && unchanged != nil && unchanged(record.Bin.ID) {
			r.bins = append(r.bins, &binState{past: old.past, before: old, samePast: true, same: h.moveOn(old.past, i)})
		} else {
			r.bins = append(r.bins, &binState{past: h.newHistory(record.Bin, i, record.Entries), before: old})
		}
	}
	h.people = peopleOf(r.bins)
	asBefore := h.sameDay && slices.Equal(h.people, before.household.people)
	nothingLearnt := before != nil && len(r.bins) == len(before.bins)
	for i, b := range r.bins {
		nothingLearnt = nothingLearnt && b.before == before.bins[i]
		if b.same && asBefore {
			r.bins[i] = b.before
		} else if h.replay(b) {
			nothingLearnt = false
		}
	}
	if nothingLearnt {
		r.priors, r.touch = before.priors, before.touch
	} else {
		lessons := make([]gauge.Lesson, len(r.bins))
		for i, b := range r.bins {
			lessons[i] = b.lesson
		}
		r.priors, r.touch = pool(r.bins, lessons)
	}
	for i, b := range r.bins {
		if b.damp.believe(r.priors[i], r.touch) {
			b.feel = nil
		}
	}
	h.learnFood(r.bins, before)
	return r
}

// replay makes a bin's gauges and brings them to the last event, as if it were
// the only one. It goes on from what was replayed before, and reports whether
// the bin has something else to teach.
func (h *Household) replay(b *binState) (taught bool) {
	past, old := b.past, b.before
	b.damp, b.litter = h.dampTrack(past), h.litterTrack(past)
	b.fresh, b.renewed, b.renewedKnown = h.freshTrack(past)
	b.pieces = h.pieces(past)
	if old != nil {
		b.damp.adopt(old.damp)
		b.litter.adopt(old.litter)
		b.fresh.adopt(old.fresh)
		b.lesson = old.lesson
	}
	taught = b.damp.teach(h.day, &b.lesson)
	// Leaves and substrate have clocks that do not hang on the air.
	if !b.litter.replay() && b.samePast && b.litter.from.Equal(old.litter.from) {
		b.leaves = old.leaves
	}
	if !b.fresh.replay() && b.samePast && b.fresh.from.Equal(old.fresh.from) {
		b.frass = old.frass
	}
	if b.same && b.damp.from.Equal(old.damp.from) {
		b.feel = old.feel
	}
	b.before = nil
	return taught
}

// pool lets bins teach each other: how fast bins of this room dry
// compared with the physics, and how each person's finger differs. What counts
// is what happened before the day of the time asked for, so that what is logged
// in the course of a day moves its own bin and no other. It returns what is
// believed of each bin's rate and of each person's touch.
func pool(bins []*binState, lessons []gauge.Lesson) (priors []gauge.RatePrior, touch []gauge.Touch) {
	priors = make([]gauge.RatePrior, len(bins))
	if len(bins) == 0 {
		return priors, nil
	}
	room := gauge.Pool(bins[0].damp.params.Rate, lessons, nil)
	touch = make([]gauge.Touch, len(room.Touch))
	for i := range touch {
		touch[i].Bias = coarse(room.Touch[i].Bias)
	}
	for i := range priors {
		prior := room.PriorFor(i)
		priors[i] = gauge.RatePrior{LogMedian: coarse(prior.LogMedian), LogSpread: math.Max(leastSpread, coarse(prior.LogSpread))}
	}
	return priors, touch
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

// Lasts says whether the room can be moved to another time by At: within its
// day, here and in UTC.
func (r *Room) Lasts(at time.Time) bool { return r.household.sameDayAs(at) }

// At moves the room to another time for which it lasts. No record may lie
// between.
func (r *Room) At(at time.Time) { r.household.at = at }

// Trips exchanges the trips that the room knows of.
func (r *Room) Trips(trips []husbandry.Trip) {
	sameDays := func(a, b husbandry.Trip) bool { return a.Leaves == b.Leaves && a.Returns == b.Returns }
	if !slices.EqualFunc(trips, r.household.Settings.Trips, sameDays) {
		r.dishes = nil // the menu has what would not last through them
	}
	r.household.Settings.Trips = trips
}

// Stock exchanges the food in stock that the room knows of.
func (r *Room) Stock(stock []husbandry.Stock) {
	if !slices.Equal(stock, r.household.Settings.Stock) {
		r.household.Settings.Stock, r.dishes = stock, nil
	}
}

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
	if feed, ok := r.feedChore(b, mealsIn(waiting)); ok {
		chores = append(chores, feed)
	}
	chores = append(chores, h.leavesChore(b), h.renewChore(b), lookChore(past.bin, past.entries, h.Room, h.at))
	if ready, ok := h.setUpChore(b); ok {
		chores = append(chores, ready)
	}
	if check, ok := escapeChore(past.bin, past.kind, past.entries, h.at); ok {
		chores = append(chores, check)
	}
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
	then := &track{params: b.damp.params, clock: b.damp.clock, from: b.damp.from}
	var told story
	told.filter = b.damp.tables.New()
	told.filter.Reset(b.damp.params, b.damp.params.Rate, b.damp.touch)
	var points []FanPoint
	point := func(t time.Time) {
		if at.Sub(t) <= fanBack && !t.After(at) {
			points = append(points, then.fanPoint(t))
		}
	}
	for i := range b.damp.events {
		e := &b.damp.events[i]
		t := b.damp.from.Add(hoursLong(e.Hours))
		if i > 0 {
			for between := then.last.Add(2 * fanStep); between.Before(t.Add(-fanStep)); between = between.Add(2 * fanStep) {
				point(between)
			}
			point(t)
		}
		told.filter.Take(e)
		then.filter, then.fans = told.under(then.filter, b.damp.prior), [2]fanAt{}
		then.last = t
		point(t.Add(time.Minute))
	}
	for between := then.last.Add(2 * fanStep); between.Before(at.Add(-fanStep)); between = between.Add(2 * fanStep) {
		point(between)
	}
	return points
}
