package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/air"
	"underlog/internal/away"
	"underlog/internal/fuse"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

// Rules of a trip; judgement.
const (
	homeHour    = 20             // by when one is back on the last day
	setUpLatest = 12 * time.Hour // on the day of leaving
	mouldAway   = 0.15           // odds of mould that food left lying may have
	hungryDays  = 7              // after so many days without a meal the sitter brings one
	bareAway    = 0.30           // odds of bare ground from which leaves are added
	// A service is foreseen for when this share of the clock to the deadline is
	// gone: visits mostly come late in their windows.
	serviceShare = 0.75
)

// cases of the air: kelvins, the water in the air staying as it is (judgement).
var cases = []struct {
	name   string
	warmer float64
}{{"heating fails", -8}, {"heat wave", 6}}

// A journey is a trip that is being reckoned with.
type journey struct {
	trip            husbandry.Trip
	leaves, returns time.Time // midnights
	setUp           time.Time // zero if that is past
	from            time.Time // from when on it is reckoned
	ends            []time.Time
	last            int
}

func (h *Household) journey(trip husbandry.Trip) (j journey, ok bool) {
	j.trip = trip
	if j.leaves, j.returns, ok = trip.Span(h.at.Location()); !ok {
		return j, false
	}
	j.last = daysBetween(j.leaves, j.returns)
	for day := range j.last + 1 {
		j.ends = append(j.ends, j.hour(day, trip.ToHour))
	}
	j.ends[j.last] = j.hour(j.last, homeHour)
	if latest := j.leaves.Add(setUpLatest); h.at.Before(latest) {
		j.setUp = later(h.at.Truncate(time.Hour), j.leaves.AddDate(0, 0, -1).Add(roundHour))
	}
	j.from = h.at
	return j, true
}

func daysBetween(from, to time.Time) int { return int(math.Round(to.Sub(from).Hours() / 24)) }

// hour is a full hour of one of the trip's days.
func (j *journey) hour(day, hour int) time.Time {
	year, month, date := j.leaves.Date()
	return time.Date(year, month, date+day, hour, 0, 0, 0, j.leaves.Location())
}

func (j *journey) home() time.Time { return j.ends[j.last] }

// comes lists the days, from 0, on which the sitter can still come.
func (j *journey) comes() []int {
	var list []int
	for _, text := range j.trip.Days {
		date, err := time.ParseInLocation(time.DateOnly, text, j.leaves.Location())
		if err != nil {
			continue
		}
		if day := daysBetween(j.leaves, date); day >= 0 && day <= j.last && j.hour(day, j.trip.ToHour).After(j.from) {
			list = append(list, day)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// A traveller is one bin on a trip.
type traveller struct {
	*binState
	untouched *bearing
	ready     *bearing // after the set-up; nil if there is none
	served    *bearing // after a visit; nil if none is needed
	handfuls  float64
	takeOut   []Lying
}

// first is what the bin bears until somebody comes.
func (t *traveller) first() *bearing {
	if t.ready != nil {
		return t.ready
	}
	return t.untouched
}

// gained is what the clock of the damp side gains.
func (t *traveller) gained(from, to time.Time) float64 {
	if !to.After(from) {
		return 0
	}
	return t.damp.clock(from, to)
}

// harm is the odds of a bearing by an instant, in air that dries so many times
// as fast as the season's.
func (t *traveller) harm(b *bearing, by time.Time, faster float64) float64 {
	return b.at(faster * t.gained(b.from, by))
}

// Away works a trip out. ok is false where its days cannot be read.
func (r *Room) Away(trip husbandry.Trip) (a Away, ok bool) {
	h := r.household
	j, ok := h.journey(trip)
	if !ok {
		return a, false
	}
	a = Away{Stage: StageBefore, SetUpAt: j.setUp, Days: j.ends, Bins: []AwayBin{}, Visits: []AwayVisit{}, Foods: map[string]AwayFood{}}
	switch {
	case !h.at.Before(j.home()):
		a.Stage = StageBack
	case j.setUp.IsZero():
		a.Stage = StageAway
	}
	system := units.System(h.Room.Units)
	problem := away.Trip{Last: j.last, Days: j.comes()}
	var all []*traveller
	for _, b := range r.bins {
		if !trip.Has(b.past.bin.ID) {
			continue
		}
		t := h.traveller(b, &j, system)
		all = append(all, t)
		problem.Bins = append(problem.Bins, t.asBin(&j))
	}
	plan := problem.Plan(away.Tolerance, 0)
	a.Nobody, a.Plan, a.Trades = problem.Nobody().Trade(), plan.Trade(), problem.Trades(plan)
	for i, t := range all {
		a.Bins = append(a.Bins, t.answer(&j, &problem, i, &plan))
	}
	a.Visits = r.visits(&j, all, &problem, &plan)
	h.bringLeaves(a.Visits, all, &j)
	a.Cases = h.cases(&j, all, &plan, a.Bins)
	for _, springtails := range []bool{true, false} {
		a.Foods[group(springtails)] = h.slowFood(springtails, later(j.from, j.setUp), j.home())
	}
	return a, true
}

func group(springtails bool) string {
	if springtails {
		return "springtails"
	}
	return "none"
}

// traveller forecasts one bin until the return.
func (h *Household) traveller(b *binState, j *journey, system units.System) *traveller {
	t := &traveller{binState: b}
	home := j.home()
	wants := h.wants(b, j)
	t.handfuls, t.takeOut = wants.handfuls, h.turning(b.past, j, home)
	if due := later(h.feelDue(b), h.at); due.Add(day).Before(j.setUp) {
		// Until then it is cared for as usual, and somewhere between two doses
		// when the trip begins.
		t.served = b.damp.served(due, home, nil, system)
		cared, ready := *t.served, *t.served
		between := min(max(due.Sub(b.damp.last), day), longestUnfelt)
		cared.from, ready.from = j.setUp.Add(-between/2), j.setUp
		if t.untouched = &cared; t.harm(&cared, home, 1) > away.Tolerance {
			t.ready = &ready
		}
		return t
	}
	t.untouched = b.damp.untouched(j.from, home)
	var doses map[string]float64
	if wants.water {
		t.ready = b.damp.served(j.setUp, home, nil, system)
		doses = t.ready.doses
	}
	if t.harm(t.first(), home, 1) > away.LeastTolerance {
		t.served = b.damp.served(t.foreseen(home), home, doses, system)
	}
	return t
}

// wants is what a bin wants before a trip.
type wants struct {
	water    bool    // to be felt, and given a dose for what is felt
	handfuls float64 // of leaves
	risk     float64 // odds of harm before the return if nobody does anything
}

// wants works out what a bin still wants before a trip. Both the list of the
// trip and the chore come from here.
func (h *Household) wants(b *binState, j *journey) (w wants) {
	if j.setUp.IsZero() {
		return w
	}
	opens := j.setUpOpens()
	since := func(whats ...string) bool {
		return slices.ContainsFunc(b.past.entries, func(e *husbandry.Entry) bool {
			return !e.At.Before(opens) && slices.Contains(whats, e.What)
		})
	}
	w.risk = b.damp.riskBy(j.from, j.home())
	w.water = w.risk > away.Tolerance && !since(husbandry.Feel, husbandry.Water, husbandry.Renew)
	if !since(husbandry.AddLeaves, husbandry.Renew) {
		w.handfuls = h.leavesFor(b, j.setUp, j.home())
	}
	return w
}

// setUpOpens is when it begins to count that a bin is got ready.
func (j *journey) setUpOpens() time.Time { return j.leaves.AddDate(0, 0, -1) }

// setUpShown is how long before that the chore is shown.
const setUpShown = day

// setUpChore says what a bin wants before the next trip; ok is false where
// there is none soon, or it wants nothing.
func (h *Household) setUpChore(b *binState) (chore husbandry.Chore, ok bool) {
	for _, trip := range h.Trips {
		j, readable := h.journey(trip)
		if !readable || j.setUp.IsZero() || !trip.Has(b.past.bin.ID) || h.at.Before(j.setUpOpens().Add(-setUpShown)) {
			continue
		}
		w := h.wants(b, &j)
		if !w.water && w.handfuls == 0 {
			continue
		}
		chore = window(b.past.bin.ID, husbandry.ChoreSetUp, j.setUpOpens(), j.setUpOpens().Add(roundHour), j.leaves.Add(setUpLatest))
		chore.Of, chore.Handfuls, chore.Odds = trip.ID, w.handfuls, w.risk
		if w.water {
			h.feelDue(b)
			if !b.feel.readyAt.Equal(j.setUp) {
				b.feel.readyAt, b.feel.ready = j.setUp, b.damp.dosesIf(later(j.setUp, b.damp.last), units.System(h.Room.Units))
			}
			chore.DoseIfML = b.feel.ready
			chore.DoseML = chore.DoseIfML[husbandry.FeelWords[usuallyFound]]
		}
		because(&chore, husbandry.Why{Code: husbandry.WhyTrip, At: j.leaves, Odds: w.risk}, h.at)
		return chore, true
	}
	return chore, false
}

// foreseen is when the first visit is reckoned to come.
func (t *traveller) foreseen(home time.Time) time.Time {
	b := t.first()
	low, high := b.from, home
	for high.Sub(low) > time.Hour {
		middle := low.Add(high.Sub(low) / 2)
		if t.harm(b, middle, 1) <= away.Tolerance {
			low = middle
		} else {
			high = middle
		}
	}
	return b.from.Add(time.Duration(serviceShare * float64(low.Sub(b.from))))
}

// asBin is the bin as the planner sees it. A visit is reckoned as early as it
// can be for what follows it, and as late as it can be for what it prevents, so
// that the plan holds whenever in their hours the sitter comes.
func (t *traveller) asBin(j *journey) away.Bin {
	bin := away.Bin{ID: t.past.bin.ID, Closed: slices.Contains(j.trip.Closed, t.past.bin.ID), Untouched: t.byDay(t.untouched, j)}
	if t.ready != nil {
		bin.SetUp = t.byDay(t.ready, j)
	}
	if t.served != nil {
		clocks := make([]float64, 2*(j.last+1))
		for day := range j.last + 1 {
			clocks[2*day] = t.gained(j.leaves, later(j.hour(day, j.trip.FromHour), j.from))
			clocks[2*day+1] = t.gained(j.leaves, j.ends[day])
		}
		bin.Served = func(from, by int) float64 { return t.served.at(clocks[2*by+1] - clocks[2*from]) }
	}
	return bin
}

func (t *traveller) byDay(b *bearing, j *journey) []float64 {
	odds := make([]float64, len(j.ends))
	for day, end := range j.ends {
		odds[day] = t.harm(b, end, 1)
	}
	return odds
}

func (t *traveller) answer(j *journey, problem *away.Trip, i int, plan *away.Outcome) AwayBin {
	bin := &problem.Bins[i]
	a := AwayBin{
		Bin: bin.ID, Late: plan.Late[i], Closed: bin.Closed, Served: plan.Served[i],
		Untouched: short(bin.Untouched), Cases: []float64{},
	}
	a.Verdict, a.Visits = problem.Verdict(bin, away.Tolerance)
	for day := range j.ends {
		a.Planned = append(a.Planned, bin.By(a.Served, day))
	}
	a.Planned = short(a.Planned)
	if t.ready == nil && t.handfuls == 0 && len(t.takeOut) == 0 {
		return a
	}
	a.SetUp = &AwaySetUp{Handfuls: t.handfuls, TakeOut: t.takeOut}
	if t.ready != nil {
		a.Ready = short(bin.SetUp)
		a.SetUp.DoseIfML = t.ready.doses
		a.SetUp.DoseML = t.ready.doses[husbandry.FeelWords[usuallyFound]]
	}
	return a
}

// short rounds odds to what anybody can use.
func short(odds []float64) []float64 {
	rounded := make([]float64, len(odds))
	for i, p := range odds {
		rounded[i] = math.Round(p*1e4) / 1e4
	}
	return rounded
}

// leavesFor is the handfuls of leaves that a bin is given at an instant so that
// its ground is not bare before the return.
func (h *Household) leavesFor(b *binState, at, home time.Time) float64 {
	if b.litter.odds(home).Dry < bareAway {
		return 0
	}
	missing := 1 - b.litter.level(at).Mean
	return math.Max(0.5, math.Round(2*missing*fullHandfuls(b.past.bin))/2)
}

// turning lists what lies in a bin and would turn mouldy before the return.
func (h *Household) turning(past *history, j *journey, home time.Time) []Lying {
	var list []Lying
	at := j.setUp
	if at.IsZero() {
		return nil
	}
	for _, f := range lying(past.feedings, at) {
		piece := h.piece(past, f)
		if mouldy := h.mouldyUntil(piece, f.At, at, home); mouldy >= mouldAway {
			list = append(list, Lying{Of: f.ID, Food: f.food.Slug, Since: f.At, Pieces: max(1, f.Pieces), Mouldy: math.Round(mouldy*1e4) / 1e4})
		}
	}
	return list
}

// mouldyUntil is the highest odds that a piece is mouldy and not gone between
// two instants.
func (h *Household) mouldyUntil(piece fuse.Piece, fed, from, to time.Time) float64 {
	var hours []float64
	for t := from; t.Before(to); t = t.Add(day) {
		if after := t.Sub(fed).Hours(); after > 0 {
			hours = append(hours, after)
		}
	}
	hours = append(hours, math.Max(1, to.Sub(fed).Hours()))
	highest := 0.0
	for _, odds := range h.food.Forecast(piece, hours) {
		highest = math.Max(highest, odds.Mouldy)
	}
	return highest
}

// slowFood is the food that is least likely to be mouldy before an end if it
// is put in at an instant, where any may be left so long.
func (h *Household) slowFood(springtails bool, from, to time.Time) AwayFood {
	best := AwayFood{Mouldy: mouldAway}
	slugs := make([]string, 0, len(h.Foods))
	for slug := range h.Foods {
		slugs = append(slugs, slug)
	}
	slices.Sort(slugs)
	for _, slug := range slugs {
		food := h.Foods[slug]
		if food.Stays || food.Deleted || food.Class == "mineral" {
			continue
		}
		piece := fuse.Piece{Food: food.Slug, Class: fuse.Class(food.Class), Bin: fuse.NoBin, Pieces: 1, PlacedHours: h.hours(from),
			TemperatureC: h.drying.temperature(from.Add(12 * time.Hour)), Springtails: springtails}
		if mouldy := h.mouldyUntil(piece, from, from, to); mouldy < best.Mouldy {
			best = AwayFood{food.Slug, mouldy}
		}
	}
	best.Mouldy = math.Round(best.Mouldy*1e4) / 1e4
	return best
}

func (r *Room) visits(j *journey, all []*traveller, problem *away.Trip, plan *away.Outcome) []AwayVisit {
	visits := []AwayVisit{}
	for _, day := range plan.Days {
		visit := AwayVisit{
			Day: day, Date: j.hour(day, 0).Format(time.DateOnly), From: j.hour(day, j.trip.FromHour), To: j.hour(day, j.trip.ToHour),
			Stops: []AwayStop{},
		}
		foods := map[bool]AwayFood{}
		for _, springtails := range []bool{true, false} {
			foods[springtails] = r.household.slowFood(springtails, visit.To, j.home())
		}
		for i, t := range all {
			if !slices.Contains(plan.Served[i], day) {
				continue
			}
			stop := AwayStop{
				Bin: t.past.bin.ID, End: t.past.bin.DampEnd, DoseIfML: t.served.doses,
				DoseML: t.served.doses[husbandry.FeelWords[usuallyFound]], Closed: problem.Bins[i].Closed,
				Harm: math.Round(problem.Bins[i].By(plan.Served[i], day)*1e4) / 1e4,
			}
			if t.hungry(visit.To) {
				stop.Food = foods[t.past.bin.Springtails].Slug
			}
			visit.Stops = append(visit.Stops, stop)
		}
		visits = append(visits, visit)
	}
	return visits
}

// hungry says whether a bin has had no meal for long.
func (t *traveller) hungry(at time.Time) bool {
	for i := len(t.past.feedings) - 1; i >= 0; i-- {
		if f := t.past.feedings[i]; !f.food.Stays {
			return at.Sub(f.At) >= hungryDays*day
		}
	}
	return true
}

// cases says what other air does to the plan.
func (h *Household) cases(j *journey, all []*traveller, plan *away.Outcome, bins []AwayBin) []AwayCase {
	list := make([]AwayCase, 0, len(cases))
	for _, c := range cases {
		faster, celsius := h.drying.inOtherAir(later(j.from, j.leaves), j.home(), c.warmer)
		answer := AwayCase{Name: c.name, Celsius: math.Round(celsius*10) / 10, Unfit: []string{}}
		for i, t := range all {
			spared, before := 1.0, time.Time{}
			for _, day := range append(slices.Clone(plan.Served[i]), j.last) {
				end := j.ends[day]
				if before.IsZero() {
					spared *= 1 - t.harm(t.first(), end, faster)
				} else {
					spared *= 1 - t.served.at(faster*t.gained(before, end))
				}
				before = j.hour(day, j.trip.FromHour)
			}
			answer.Harmed += 1 - spared
			bins[i].Cases = append(bins[i].Cases, math.Round((1-spared)*1e4)/1e4)
			if kind := t.past.kind; kind.TemperatureMax > 0 && (celsius < kind.TemperatureMin || celsius > kind.TemperatureMax) {
				answer.Unfit = append(answer.Unfit, t.past.bin.ID)
			}
		}
		list = append(list, answer)
	}
	return list
}

// inOtherAir says how many times as fast the reference tub dries between two
// instants if the room is warmer by so many kelvins and the water in its air
// stays the same, and how warm it then is.
func (c *clock) inOtherAir(from, to time.Time, warmer float64) (faster, celsius float64) {
	usual, other, n := 0.0, 0.0, 0.0
	for t := from; t.Before(to) || n == 0; t = t.Add(knotHours * time.Hour) {
		i := min(max(int(t.Sub(c.start).Hours()/knotHours), 0), len(c.climate)-1)
		now := c.climate[i]
		then := air.Climate{TemperatureC: clamp(now.TemperatureC+warmer, 0, 45)}
		then.HumidityPct = clamp(now.HumidityPct*air.SaturationDensity(now.TemperatureC)/air.SaturationDensity(then.TemperatureC), 1, 98)
		usual += referenceTub.Loss(now).TubMLPerHour
		other += referenceTub.Loss(then).TubMLPerHour
		celsius += then.TemperatureC
		n++
	}
	return math.Min(other/usual, hottestSpell), celsius / n
}

// Told is the odds that a bin's damp side feels dry, and is dry in depth, at an
// instant, as they are told at the room's own time; ok is false for a bin that
// is not in the room.
func (r *Room) Told(bin string, at time.Time) (dry, risk float64, ok bool) {
	i := slices.IndexFunc(r.bins, func(b *binState) bool { return b.past.bin.ID == bin })
	if i < 0 {
		return 0, 0, false
	}
	odds := r.bins[i].damp.odds(at)
	return odds.Dry, odds.Risk, true
}
