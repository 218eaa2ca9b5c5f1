package roomsim

import (
	"math"
	"time"
)

// A Room is one household's bins for one season. It is run once.
type Room struct {
	cfg      Config
	begin    time.Time // first midnight, of the history
	weather  []Air     // by hour
	drafts   []float64 // by day
	evenings []evening
	people   []person
	menu     []food
	bins     []*bin
	told     []Bin
	entries  []Entry
	logged   int
	bookFrom int // first entry that the View shows
	now      int // hours since begin
	keeper   Keeper
	fallback *Routine // the household's own habit
	report   Report
	truths   [][]Truth // by bin and hour
}

// NewRoom draws the room of cfg.
func NewRoom(cfg Config) (*Room, error) {
	if err := cfg.check(); err != nil {
		return nil, err
	}
	r := &Room{
		cfg: cfg, begin: cfg.Start.AddDate(0, 0, -cfg.HistoryDays), weather: weather(cfg), drafts: drafts(cfg),
		evenings: evenings(cfg), people: people(cfg.Seed), menu: menu(cfg.Seed), fallback: TwiceAWeek(),
	}
	roomFactor := lognormal(draw(cfg.Seed, chanceOfRoom, 0, 0), 1, 0.20)
	for i := range cfg.Bins {
		b := newBin(cfg, i, roomFactor)
		b.celsius = r.weather[0].TemperatureC + b.offset
		r.bins = append(r.bins, b)
		r.told = append(r.told, b.described(cfg))
		r.report.Bins = append(r.report.Bins, BinScore{Seed: cfg.Seed, Bin: r.told[i]})
	}
	r.report.Seasons = 1
	r.report.Weeks = make([]Score, (cfg.Days+6)/7)
	r.truths = make([][]Truth, cfg.Bins)
	return r, nil
}

// Run lives through the history and the season. A Room runs once.
func (r *Room) Run(k Keeper) Report {
	if r.now > 0 {
		panic("roomsim: this room has had its season; draw another")
	}
	r.keeper = k
	enter(k, r)
	hours := (r.cfg.HistoryDays + r.cfg.Days) * 24
	for ; r.now < hours; r.now++ {
		if r.now == r.cfg.HistoryDays*24 && r.cfg.BlankBook {
			r.bookFrom = len(r.entries)
		}
		r.sense()
		d := r.now / 24
		if r.evenings[d].home && int(r.evenings[d].round/time.Hour) == r.now%24 {
			feeder, feeds := r.keeper.(Feeder)
			switch {
			case !r.cfg.Feeding:
			case feeds && d >= r.cfg.HistoryDays:
				r.serve(d, feeder)
			default:
				r.feedBins(d)
			}
			r.goRound(d)
		}
		r.lookAtLeftovers()
		for i, b := range r.bins {
			b.settle(r.weather[r.now], r.drafts[d])
			if b.feeding != nil {
				b.feeding.advance(r.midnight(0).Add(time.Duration(r.now+1)*time.Hour), b)
			}
			r.score(i, b.truth())
			if at := r.midnight(0).Add(time.Duration(r.now+1) * time.Hour); r.scores(at) && at.After(b.limeLasts) {
				r.report.Food.LimelessHours++
			}
		}
	}
	for _, b := range r.bins {
		if b.feeding != nil && b.feeding.scored {
			_, mould := b.feeding.state()
			r.report.Food.add(b.feeding, mould)
		}
	}
	return r.report
}

// sense logs what the room's sensor shows: a few tenths of a degree and a few
// points off, all season the same way.
func (r *Room) sense() {
	if r.cfg.SensorHours == 0 || r.now%r.cfg.SensorHours != 0 {
		return
	}
	chance := draw(r.cfg.Seed, chanceOfSensor, 0, 0)
	offT, offH := 0.3*chance.NormFloat64(), 2*chance.NormFloat64()
	air := r.weather[r.now]
	temperature := math.Round((air.TemperatureC+offT)*10) / 10
	humidity := math.Round(clamp(air.HumidityPct+offH, 0, 100))
	r.log(Entry{At: r.midnight(0).Add(time.Duration(r.now) * time.Hour), What: "climate", By: "sensor",
		TemperatureC: &temperature, HumidityPct: &humidity})
}

// goRound lets the keeper, or in the history and in the silent fortnight the
// household's habit, open bins, 40 s each. All bins of a round are felt in the
// state of its first minute.
func (r *Room) goRound(d int) {
	at := r.midnight(d).Add(r.evenings[d].round)
	keeper := r.keeper
	switch {
	case d < r.cfg.HistoryDays || r.silent(at):
		keeper = r.fallback
	case !r.isRoundDay(d):
		return
	}
	view := r.View(at)
	if d < r.cfg.HistoryDays {
		view.Entries = r.entries
	}
	who := whoComes(r.people, draw(r.cfg.Seed, chanceOfStop, d, 0))
	opened := make(map[string]bool)
	for _, visit := range keeper.Plan(at, view) {
		i, known := r.place(visit.Bin)
		if !known || opened[visit.Bin] {
			continue
		}
		opened[visit.Bin] = true
		if draw(r.cfg.Seed, chanceOfStop, d, i+1).Float64() < 0.02 {
			continue // overlooked
		}
		r.open(i, visit, at, who)
		at = at.Add(40 * time.Second)
	}
}

func (r *Room) place(id string) (int, bool) {
	for i := range r.told {
		if r.told[i].ID == id {
			return i, true
		}
	}
	return 0, false
}

// open lifts the lid of bin i, feels, and waters.
func (r *Room) open(i int, visit Visit, at time.Time, who person) {
	b := r.bins[i]
	wrong := 0.0
	if r.cfg.Stress.WrongReadings {
		wrong = 0.1
	}
	word := feel(b.damp.felt(), who, wrong, draw(r.cfg.Seed, chanceOfFeel, i, r.now))
	r.log(Entry{Bin: b.ID, At: at, What: "feel", By: who.name, Feel: word})
	meant := 0.0
	if visit.Water != nil {
		meant = math.Max(0, math.Round(visit.Water(word)))
	}
	given := 0.0
	if meant > 0 {
		given = poured(meant, draw(r.cfg.Seed, chanceOfDose, i, r.now))
		b.water(given)
		r.log(Entry{Bin: b.ID, At: at.Add(20 * time.Second), What: "water", By: who.name, WaterML: meant})
	}
	opening := Score{Openings: 1, WaterML: given}
	switch {
	case meant > 0:
		opening.Waterings = 1
	case word == "damp" || word == "soaked":
		opening.Needless = 1
	}
	r.count(i, opening)
}

func (r *Room) lookAtLeftovers() {
	until := r.midnight(0).Add(time.Duration(r.now+1) * time.Hour)
	for _, b := range r.bins {
		for b.feeding != nil && b.feeding.next.Before(until) {
			r.look(b, b.feeding.next)
		}
	}
}

// scores tells whether what happens at t counts.
func (r *Room) scores(t time.Time) bool {
	return r.day(t) >= r.cfg.HistoryDays && !r.silent(t)
}

func (r *Room) count(i int, s Score) {
	d := r.now / 24
	if !r.scores(r.midnight(d)) {
		return
	}
	r.report.Total.Add(s)
	r.report.Bins[i].Score.Add(s)
	r.report.Weeks[(d-r.cfg.HistoryDays)/7].Add(s)
}

func (r *Room) score(i int, t Truth) {
	r.count(i, hourIn(t))
	if r.cfg.KeepTruth {
		r.truths[i] = append(r.truths[i], t)
	}
}

// hourIn is the score of one hour in a state.
func hourIn(t Truth) Score {
	hour := Score{BinDays: 1.0 / 24}
	if t.Dry {
		hour.DryHours = 1
	}
	if t.AtRisk {
		hour.RiskHours = 1
	}
	if t.Swamped {
		hour.SwampedHours = 1
	}
	return hour
}

// Borne is what a bin had to bear from one instant until another; openings and
// doses are not in it. It needs KeepTruth.
func (r *Room) Borne(bin string, from, until time.Time) (sum Score) {
	for at := from; at.Before(until); at = at.Add(time.Hour) {
		if truth, known := r.Truth(bin, at); known {
			sum.Add(hourIn(truth))
		}
	}
	return sum
}

// Truth is the state of a bin at the end of the hour in which at lies; false if
// there is no such bin or hour, or if the Config did not ask for KeepTruth.
func (r *Room) Truth(bin string, at time.Time) (Truth, bool) {
	i, known := r.place(bin)
	h := r.hour(at)
	if !known || at.Before(r.begin) || h >= len(r.truths[i]) {
		return Truth{}, false
	}
	return r.truths[i][h], true
}
