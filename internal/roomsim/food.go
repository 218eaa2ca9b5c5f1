package roomsim

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// A food's pieces take so many hours at 22 C in a middling colony to be eaten,
// and to grow visible mould without springtails (judgement).
type food struct {
	name         string
	eaten, mould float64
}

var foods = []food{
	{"banana", 22, 36}, {"melon", 20, 38}, {"cucumber", 24, 48}, {"courgette", 28, 52}, {"apple", 30, 60},
	{"pumpkin", 36, 70}, {"carrot", 50, 96}, {"sweet potato", 50, 96},
	{"fish flakes", 16, 34}, {"dried shrimp", 22, 46},
}

// A menu is the foods as they keep in one household.
func menu(seed uint64) []food {
	r := draw(seed, chanceOfRoom, 2, 0)
	pace := lognormal(r, 1, 0.3)
	list := make([]food, len(foods))
	for i, f := range foods {
		list[i] = food{f.name, f.eaten * lognormal(r, 1, 0.2), f.mould * pace * lognormal(r, 1, 0.2)}
	}
	return list
}

// A piece is eaten when its eating work is done, mouldy when its moulding work
// is; whichever comes first ends the other. Work is in hours at 22 C.
type piece struct {
	eatWork, mouldWork, furryWork float64
	eaten, mould                  float64 // work done
}

func (p *piece) gone() bool   { return p.eaten >= p.eatWork }
func (p *piece) mouldy() bool { return !p.gone() && p.mould >= p.mouldWork }
func (p *piece) furry() bool  { return !p.gone() && p.mould >= p.furryWork }

// advance takes the piece through some hours at the given paces and returns
// for how many of them it lay mouldy.
func (p *piece) advance(hours, eatPace, mouldPace float64) float64 {
	if p.gone() {
		return 0
	}
	untilGone := (p.eatWork - p.eaten) / eatPace
	untilMouldy := (p.mouldWork - p.mould) / mouldPace
	if untilMouldy > 0 { // clean so far: being eaten
		clean := math.Min(hours, untilMouldy)
		if untilGone <= clean {
			p.eaten = p.eatWork
			return 0
		}
		p.eaten += clean * eatPace
		p.mould += clean * mouldPace
		hours -= clean
	}
	p.mould += hours * mouldPace
	return hours
}

// A feeding is what was put into a bin at one time.
type feeding struct {
	entry       Entry
	pieces      []piece
	upTo        time.Time // advanced until then
	next        time.Time // when it will be looked at
	looks       []Entry
	looked      int
	scored      bool
	mouldyHours float64
}

func newFeeding(f food, pieces int, r *rand.Rand) *feeding {
	fed := &feeding{}
	for range pieces {
		p := piece{eatWork: f.eaten * math.Pow(float64(pieces), 0.6) * gamma(r, 4), mouldWork: f.mould * gamma(r, 6)}
		p.furryWork = p.mouldWork * between(r, 1.2, 1.6)
		fed.pieces = append(fed.pieces, p)
	}
	return fed
}

// advance brings the feeding to time t at the bin's temperature.
func (f *feeding) advance(t time.Time, b *bin) {
	hours := t.Sub(f.upTo).Hours()
	if hours <= 0 {
		return
	}
	eatPace := b.appetite * math.Pow(2.1, (b.celsius-22)/10)
	mouldPace := b.spores * math.Pow(math.Max(b.celsius+2, 0.5)/24, 2)
	if b.Springtails {
		mouldPace /= 1.25
	}
	longest := 0.0
	for i := range f.pieces {
		longest = math.Max(longest, f.pieces[i].advance(hours, eatPace, mouldPace))
	}
	f.mouldyHours += longest
	f.upTo = t
}

// state is what truly lies there: the index into leftWords and mouldWords.
func (f *feeding) state() (left, mould int) {
	gone, touched := true, false
	for i := range f.pieces {
		p := &f.pieces[i]
		touched = touched || p.eaten > 0.08*p.eatWork
		gone = gone && p.gone()
		switch {
		case p.furry():
			mould = 2
		case p.mouldy():
			mould = max(mould, 1)
		}
	}
	switch {
	case gone:
		return 0, 0
	case touched:
		return 1, mould
	}
	return 2, mould
}

// feedBins gives food to the bins whose turn it is, if nothing lies in them.
func (r *Room) feedBins(d int) {
	at := r.midnight(d).Add(r.evenings[d].round).Add(5 * time.Minute)
	if r.silent(at) {
		return
	}
	for _, b := range r.bins {
		if b.feeding != nil || d < b.feedDay {
			continue
		}
		chance := draw(r.cfg.Seed, chanceOfFood, b.at, d)
		b.feedDay = d + 3 + chance.IntN(2)
		f := r.menu[chance.IntN(len(r.menu))]
		pieces := 1 + chance.IntN(3)
		fed := newFeeding(f, pieces, chance)
		at = at.Add(20 * time.Second)
		fed.upTo, fed.scored = at, r.scores(at)
		fed.entry = r.log(Entry{Bin: b.ID, At: at, What: "feed", By: "owner", Food: f.name, Pieces: pieces})
		b.feeding = fed
		r.planLook(b, at)
	}
}

// planLook asks the keeper when to look at what lies in the bin, and finds the
// moment at which somebody will.
func (r *Room) planLook(b *bin, now time.Time) {
	fed := b.feeding
	when := LookAfter(24*time.Hour)(fed.entry, fed.looks, View{})
	if planner, plans := r.keeper.(LookPlanner); plans && !r.silent(now) && r.day(now) >= r.cfg.HistoryDays {
		when = planner.NextLook(fed.entry, fed.looks, r.View(now))
	}
	if when.Before(now) {
		when = now
	}
	late := draw(r.cfg.Seed, chanceOfLook, b.at, r.hour(when)).ExpFloat64() * 15
	fed.next = r.atHome(when.Add(time.Duration(late*60)*time.Second + time.Minute))
}

// look looks at the leftovers of a bin: mouldy ones are taken out, clean ones
// stay, unless the household clears out whatever it finds.
func (r *Room) look(b *bin, at time.Time) {
	fed := b.feeding
	fed.advance(at, b)
	left, mould := fed.state()
	chance := draw(r.cfg.Seed, chanceOfLook, b.at, r.hour(at)+1<<20)
	seen := mould
	if seen == 1 && chance.Float64() < 0.1 {
		seen = 0
	}
	removed := seen > 0 || r.cfg.ClearOut && left > 0
	fed.looked++
	fed.looks = append(fed.looks, r.log(Entry{Bin: b.ID, At: at, What: "leftovers", By: whoComes(r.people, chance).name,
		Of: fed.entry.ID, Left: leftWords[left], Mould: mouldWords[seen], Removed: removed}))
	if left > 0 && !removed {
		r.planLook(b, at)
		return
	}
	if fed.scored && r.scores(at) {
		r.report.Food.add(fed, mould)
	}
	b.feeding = nil
}

// others are foods that no bin is given by itself, and minerals last for so many
// days.
var (
	others = []food{
		{"zucchini", 28, 52}, {"winter squash", 36, 70}, {"potato", 50, 96}, {"mushroom", 26, 44}, {"orange", 44, 72},
		{"yeast", 16, 34}, {"oat flakes", 28, 60},
	}
	minerals = map[string]float64{"cuttlebone": 60, "egg shell": 42, "crab shell": 21}
	proteins = []string{"fish flakes", "dried shrimp", "yeast"}
)

// Taste is how much faster a bin eats protein than other food, compared with a
// middling one; 0 if there is no such bin.
func (r *Room) Taste(bin string) float64 {
	if i, known := r.place(bin); known {
		return r.bins[i].taste
	}
	return 0
}

// serve gives what a feeder says.
func (r *Room) serve(d int, feeder Feeder) {
	at := r.midnight(d).Add(r.evenings[d].round).Add(5 * time.Minute)
	for _, serving := range feeder.Feed(at, r.View(at)) {
		i, known := r.place(serving.Bin)
		if !known {
			continue
		}
		b := r.bins[i]
		at = at.Add(20 * time.Second)
		entry := Entry{Bin: b.ID, At: at, What: "feed", By: "owner", Food: serving.Food, Pieces: serving.Pieces}
		if days, is := minerals[serving.Food]; is {
			b.limeLasts = at.Add(time.Duration(24*lognormal(draw(r.cfg.Seed, chanceOfLime, i, d), days, 0.3)) * time.Hour)
			r.log(entry)
			continue
		}
		if b.feeding != nil {
			r.report.Food.OnLeftovers++
			continue
		}
		f, is := r.food(serving.Food)
		if !is {
			continue
		}
		if slices.Contains(proteins, serving.Food) {
			f.eaten /= b.taste
		}
		fed := newFeeding(f, max(1, serving.Pieces), draw(r.cfg.Seed, chanceOfFood, b.at, d))
		fed.upTo, fed.scored = at, r.scores(at)
		fed.entry = r.log(entry)
		b.feeding = fed
		r.planLook(b, at)
	}
}

func (r *Room) food(name string) (f food, known bool) {
	for _, list := range [][]food{r.menu, others} {
		for _, f := range list {
			if f.name == name {
				return f, true
			}
		}
	}
	return f, false
}
