package chores

import (
	"slices"
	"time"

	"underlog/internal/away"
	"underlog/internal/gauge"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// AwayBefore is the plan of a trip as it was at an earlier time: its visits with
// the bins that they open, and what it came to. Nothing else is filled in.
// records, climate and start are what a room at that time is made from, with the
// settings of this one. Of this room nothing moves: the damp sides are taken
// back one after the other, each from where it parts from what is known now.
func (r *Room) AwayBefore(trip husbandry.Trip, records []Record, climate []*husbandry.Entry, start, at time.Time) (*Away, bool) {
	h := newHousehold(r.household.Settings, start, at)
	j, ok := h.journey(trip)
	if !ok {
		return nil, false
	}
	h.tables, h.drying = r.household.tables, h.clock(climate)
	then := r.earlier(h, records)
	then.learn()
	problem := away.Trip{Last: j.last, Days: j.comes()}
	var ids []string
	system := units.System(h.Room.Units)
	for i, b := range then.bins {
		if trip.Has(b.past.bin.ID) {
			then.believe(i)
			problem.Bins = append(problem.Bins, h.traveller(b, &j, system).asBin(&j))
			ids = append(ids, b.past.bin.ID)
		}
	}
	plan := problem.Plan(away.Tolerance, 0)
	a := &Away{Plan: plan.Trade(), Visits: []AwayVisit{}}
	for _, day := range plan.Days {
		visit := AwayVisit{Day: day, Date: j.hour(day, 0).Format(time.DateOnly)}
		for i, id := range ids {
			if slices.Contains(plan.Served[i], day) {
				visit.Stops = append(visit.Stops, AwayStop{Bin: id})
			}
		}
		a.Visits = append(a.Visits, visit)
	}
	return a, true
}

// An earlierRoom is a room's damp sides at a time that is past, made from the
// room as it is. They share a filter: one bin at a time can be asked.
type earlierRoom struct {
	household *Household
	bins      []*binState
	now       []*binState // the same bins as they are; nil of one that is not there any more
	room      *Room

	settled []story // of each bin: come to the day of then and no further
	priors  []gauge.RatePrior
	touch   []gauge.Touch
	filter  *gauge.Filter
}

func (r *Room) earlier(h *Household, records []Record) *earlierRoom {
	then := &earlierRoom{household: h, room: r, filter: h.tables.New()}
	known := map[string]*binState{}
	for _, b := range r.bins {
		known[b.past.bin.ID] = b
	}
	for i, record := range records {
		then.bins = append(then.bins, &binState{past: h.unfed(record.Bin, i, record.Entries)})
		then.now = append(then.now, known[record.Bin.ID])
	}
	// Who has come along since has a place among the people already, so that
	// everybody's is the same then and now.
	h.people = peopleOf(then.bins)
	if among(r.household.people, h.people) {
		h.people = r.household.people
	}
	for _, b := range then.bins {
		b.damp = h.dampTrack(b.past)
	}
	return then
}

// among says whether all of some are among all, both in order.
func among(all, some []string) bool {
	for _, one := range some {
		if _, have := slices.BinarySearch(all, one); !have {
			return false
		}
	}
	return true
}

// learn is what the bins taught each other then.
func (then *earlierRoom) learn() {
	lessons, asNow := make([]gauge.Lesson, len(then.bins)), len(then.bins) == len(then.room.bins)
	then.settled = make([]story, len(then.bins))
	for i, b := range then.bins {
		tr := b.damp
		tr.settled = tr.settledBy(then.household.day)
		now := then.now[i]
		asNow = asNow && now == then.room.bins[i]
		if now != nil && tr.taughtAs(now.damp) {
			lessons[i] = now.lesson
			continue
		}
		asNow = false
		if now == nil {
			now = &binState{damp: &track{}}
		}
		then.settled[i].settle(tr, then.filter, &now.damp.taught)
		then.filter.Lesson(&lessons[i])
	}
	if asNow {
		then.priors, then.touch = then.room.priors, then.room.touch
	} else {
		then.priors, then.touch = pool(then.bins, lessons)
	}
}

// settle brings a filter to the end of a track's settled events, and makes s a
// story that can be taken up from there, if it parted from one of the bin.
func (s *story) settle(tr *track, into *gauge.Filter, of *story) {
	settled := tr.events[:tr.settled]
	tr.branch(into, nil, settled, of)
	if of.begun && of.params == tr.params && tr.settled > 0 {
		*s = story{filter: of.filter, params: of.params, begun: true, taken: settled, marks: []mark{{taken: tr.settled}}}
		into.Keep(&s.marks[0].at)
	}
}

// taughtAs says whether a track teaches the room what another of its bin does.
func (tr *track) taughtAs(other *track) bool {
	return tr.params == other.params && slices.Equal(tr.events[:tr.settled], other.events[:other.settled])
}

// believe brings one bin to what was believed of it then.
func (then *earlierRoom) believe(i int) {
	tr, now := then.bins[i].damp, &track{}
	if then.now[i] != nil {
		now = then.now[i].damp
	}
	tr.prior, tr.touch = then.priors[i], then.touch
	tr.filter = tr.branch(then.filter, tr.touch, tr.events, &now.told, &now.taught, &then.settled[i])
	tr.filter.Reweigh(tr.prior)
}

// branch brings a filter to the end of events as a new one would be, from as far
// on as one of some stories has come in the same way. The stories stay as they
// are.
func (tr *track) branch(into *gauge.Filter, touch []gauge.Touch, events []gauge.Event, stories ...*story) *gauge.Filter {
	var from *story
	var at *gauge.Mark
	taken := 0
	for _, s := range stories {
		same := s.agrees(tr.params, touch, events)
		for k := range s.marks {
			if m := &s.marks[k]; m.taken <= same && m.taken > taken {
				from, at, taken = s, &m.at, m.taken
			}
		}
		if same > taken && same == len(s.taken) {
			from, at, taken = s, nil, same
		}
	}
	if from == nil {
		into.Reset(tr.params, tr.params.Rate, touch)
	} else {
		from.filter.CopyTo(into)
		if at != nil {
			into.BackTo(at)
		}
		into.Trust(touch)
	}
	into.Replay(events[taken:])
	return into
}

// agrees counts the events that a story has taken as they would be taken now.
func (s *story) agrees(params gauge.Params, touch []gauge.Touch, events []gauge.Event) int {
	if !s.begun || s.params != params {
		return 0
	}
	n := 0
	for n < min(len(s.taken), len(events)) && s.taken[n] == events[n] && bias(s.touch, &events[n]) == bias(touch, &events[n]) {
		n++
	}
	return n
}

// bias is the one that a word is taken with.
func bias(touch []gauge.Touch, e *gauge.Event) float64 {
	if e.Kind <= gauge.Fine && e.Person < len(touch) {
		return touch[e.Person].Bias
	}
	return 0
}
