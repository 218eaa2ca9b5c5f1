package gauge

import "math"

// The grid. Odd row count so that the prior's median has a row of its own.
const (
	rateRows   = 27
	rateSpan   = 2.08 // rows cover the prior's centre of 0 by this much log rate each way
	levelCells = 44
	topLevel   = 1.3 // soaked: the store cannot hold more
	cell       = topLevel / levelCells
	rateStep   = 2 * rateSpan / (rateRows - 1)
)

const (
	touchPrior  = 0.08 // standard deviation of a person's bias, share of a store; judgement
	lazyHours   = 3.0  // shorter waits are carried in the likelihood, not moved on the grid
	longestStep = 240  // hours moved at once, about
	mostSteps   = 100  // in one wait, however long
	driftHours  = 24.0 // the rate's drift is applied in portions of at least this
	rowFloor    = 1e-9 // what a row keeps of its share after a reading that contradicts it

	wordEvidence  = 1e-12
	closeRow      = 1e-6  // of the mass; of rows with less only the mass is kept
	clockCeiling  = 1e9   // of the clock in one wait
	hoursCeiling  = 1e6   // of hours in one wait: a century
	levelsCeiling = 60.0  // no single step drains more than this many stores
	farthestFade  = 20.0  // e to this is farther than the grid is wide
	lowestFall    = 700.0 // e to less than minus this is nothing
)

// A Touch is what is known about one person's finger.
type Touch struct {
	Bias float64 // added to the level before the person chooses a word; 0 is the room's usual touch
}

// A Filter follows one gauge through its events. The zero value is not ready:
// call New. It may be Reset and reused any number of times; it must not be used
// by two goroutines at once. It allocates only when a person it has not met
// before comes along, and when it is first asked about the future.
type Filter struct {
	p     Params
	prior RatePrior
	touch []Touch

	// weight is the posterior mass, rows of levels. Rows from first up to end
	// are kept by cell. Those outside hold hardly anything: only their mass is
	// kept, in outer, and they are taken to be spread over the levels as the
	// nearest row that is kept. All of it sums to 1.
	weight [rateRows * levelCells]float64
	progress
	least float64 // mass of a row that is kept: closeRow
	rate  [rateRows]float64
	base  [rateRows]float64 // prior mass of each row

	lessons []TouchLesson

	tables  *Tables
	like    *likelihoods
	lnEdge  [levelCells]float64 // log of an edge over the knee
	moving  ladder              // of the row being moved
	edges   [levelCells]float64
	ladders []ladder // of the rows from first on
	kept    float64  // mass of ladders
	fresh   bool     // ladders and kept belong to weight

	nowOdds  Odds
	nowKnown bool

	// state names what the filter knows: it is another after each change, and
	// a copy's is the same.
	state state
}

// progress is how far a filter has come, but for its weights and lessons.
type progress struct {
	outer      [rateRows]float64
	first, end int

	clock, hours float64 // of the latest event
	pend         pending // what has happened since the grid was last moved
	lag          lag
	driftDue     float64 // hours of drift not yet applied

	evidence float64 // log probability of all words so far
}

// A Mark is how far a filter had come, in little room.
type Mark struct {
	progress
	weight  []float64 // of the rows that are kept
	lessons []TouchLesson
}

// Keep makes m the mark of f as it is; m's memory is reused.
func (f *Filter) Keep(m *Mark) {
	m.progress = f.progress
	m.weight = append(m.weight[:0], f.weight[f.first*levelCells:f.end*levelCells]...)
	m.lessons = append(m.lessons[:0], f.lessons...)
}

// BackTo takes f back to a mark of its own since it was last Reset.
func (f *Filter) BackTo(m *Mark) {
	f.progress = m.progress
	copy(f.weight[f.first*levelCells:], m.weight)
	f.lessons = append(f.lessons[:0], m.lessons...)
	f.fresh = false
	f.changed()
}

// pending is a dose followed by a wait.
type pending struct {
	dose    float64 // in stores
	doseVar float64
	drained float64 // clock, in stores at rate 1
	hours   float64
}

// lag is the surface's lead over the store: fromDoses - rate x fromDrying.
type lag struct{ fromDoses, fromDrying float64 }

// A TouchLesson is the evidence in one filter about one person's bias:
// the slope and the curvature of the log-likelihood at the bias in use.
type TouchLesson struct{ Slope, Information float64 }

// New gives an empty filter with tables of its own; Reset makes it ready.
func New() *Filter { return new(Tables).New() }

// New gives an empty filter that shares these tables; Reset makes it ready.
func (t *Tables) New() *Filter { return &Filter{tables: t, least: closeRow} }

// CopyTo makes into the same as f, without sharing anything that changes.
func (f *Filter) CopyTo(into *Filter) {
	lessons, ladders := into.lessons, into.ladders
	*into = *f
	into.lessons = append(lessons[:0], f.lessons...)
	into.ladders, into.fresh = ladders, false
}

// Reset starts a history at clock 0 and hour 0 with nothing known but p, prior
// and the touch of the people who will read (by index; people beyond the slice
// have no bias).
func (f *Filter) Reset(p Params, prior RatePrior, touch []Touch) {
	prior.LogMedian = clamp(prior.LogMedian, -rateSpan, rateSpan)
	prior.LogSpread = clamp(prior.LogSpread, 0.02, 1.5)
	f.p, f.prior, f.touch = p, prior, touch
	f.like = f.tables.of(&f.p)
	f.clock, f.hours, f.driftDue, f.evidence = 0, 0, 0, 0
	f.pend, f.lag = pending{}, lag{}
	f.lessons = f.lessons[:0]
	f.fresh = false
	f.changed()

	f.p.Knee = clamp(p.Knee, 0.02, 0.8)
	for j := range f.lnEdge {
		f.lnEdge[j] = math.Log(float64(j) * cell / f.p.Knee)
	}

	fillNormal(f.base[:], prior.LogMedian, prior.LogSpread, -rateSpan, rateStep)
	start := f.edges[:]
	fillNormal(start, p.StartLevel, p.StartSpread, cell/2, cell)
	f.first, f.end, f.outer = 0, rateRows, [rateRows]float64{}
	for r := range rateRows {
		f.rate[r] = math.Exp(logRate(r))
		row := f.row(r)
		for j := range row {
			row[j] = f.base[r] * start[j]
		}
	}
}

// Trust exchanges what is known of people's touch for the words to come. Words
// already read stay as they were taken.
func (f *Filter) Trust(touch []Touch) { f.touch = touch }

func logRate(r int) float64 { return -rateSpan + float64(r)*rateStep }

func (f *Filter) row(r int) []float64 {
	return f.weight[r*levelCells:][:levelCells]
}

// fillNormal sets v to a normal density at first, first+step, ..., summing to 1.
func fillNormal(v []float64, mean, spread, first, step float64) {
	total := 0.0
	for i := range v {
		z := (first + float64(i)*step - mean) / spread
		v[i] = math.Exp(-0.5*z*z) + 1e-14
		total += v[i]
	}
	for i := range v {
		v[i] /= total
	}
}

// Advance moves the gauge to the given cumulative clock and hour. Values that
// lie before the latest event, or are not numbers, count as no time at all.
func (f *Filter) Advance(clock, hours float64) {
	dClock := clamp(clock-f.clock, 0, clockCeiling)
	dHours := clamp(hours-f.hours, 0, hoursCeiling)
	f.clock += dClock
	f.hours += dHours
	// The rate may drift within a long wait.
	for steps := min(math.Floor(dHours/longestStep), mostSteps); steps > 0; steps-- {
		f.wait(dClock/(steps+1), dHours/(steps+1))
		f.settle()
		dClock -= dClock / (steps + 1)
		dHours -= dHours / (steps + 1)
	}
	f.wait(dClock, dHours)
}

func (f *Filter) wait(dClock, dHours float64) {
	drained := math.Min(dClock/f.p.FullClock, levelsCeiling)
	f.pend.drained += drained
	f.pend.hours += dHours
	f.driftDue += dHours
	f.lag = f.lag.after(&f.p, drained, dHours)
	f.nowKnown = false
	f.changed()
}

// after is the lag when drained stores have been lost over the given hours.
func (l lag) after(p *Params, drained, hours float64) lag {
	if p.SurfaceShare >= 1 {
		return lag{}
	}
	span := hours / p.SettleHours
	fade := math.Exp(-span)
	kept := 1.0 // mean of fade over the span: (1-e^-a)/a
	if span > 1e-6 {
		kept = -math.Expm1(-span) / span
	}
	lead := 1/p.SurfaceShare - 1
	return lag{
		fromDoses:  l.fromDoses * fade,
		fromDrying: l.fromDrying*fade + lead*drained*kept,
	}
}

// Dose adds an amount in the units of Params.FullDose.
func (f *Filter) Dose(amount float64) {
	lift := clamp(amount/f.p.FullDose, 0, 10)
	if lift == 0 {
		return
	}
	if f.pend.hours > 0 {
		f.settle()
	}
	f.nowKnown = false
	f.changed()
	f.pend.dose += lift
	f.pend.doseVar += f.p.DoseSpread * f.p.DoseSpread * lift * lift
	if f.p.SurfaceShare < 1 {
		f.lag.fromDoses += lift * (1/f.p.SurfaceShare - 1)
	}
}

// Renew starts the store afresh at the given level and spread (a new fill of
// substrate, a bin set up anew); what is known about the rate stays.
func (f *Filter) Renew(level, spread float64) {
	f.settle()
	start := f.edges[:]
	fillNormal(start, clamp(level, 0, topLevel), clamp(spread, cell/2, 1), cell/2, cell)
	for r := f.first; r < f.end; r++ {
		row := f.row(r)
		total := sumOf(row)
		for j := range row {
			row[j] = total * start[j]
		}
	}
	f.lag = lag{}
	f.fresh = false
	f.changed()
}

// Read takes in a word (0 is the lowest) from a person. Words that the gauge
// does not have are ignored.
func (f *Filter) Read(word, person int) {
	if word < 0 || word >= f.p.Words {
		return
	}
	f.read(word, person)
}

// LookedFine takes in "looked in, seemed fine": anything but the lowest word.
func (f *Filter) LookedFine(person int) { f.read(fineWord, person) }

func (f *Filter) read(word, person int) {
	f.makeReady()
	like := &f.like[word]
	bias := 0.0
	if person >= 0 && person < len(f.touch) {
		bias = f.touch[person].Bias
	}
	total, tilt := 0.0, 0.0
	var totals [rateRows]float64
	var edgeFell [2]float64 // how much less the first and the last row weigh for the word
	for r := f.first; r < f.end; r++ {
		row := f.row(r)
		// A wait too short to move the grid shifts the likelihood instead.
		shift := f.lagOf(r) + bias - f.rate[r]*f.pend.drained
		at := clamp((0.5+shift/cell-touchBelow)*touchPerCell, 0, touchEntries-2-levelCells*touchPerCell)
		i := int(at)
		part := at - float64(i)
		before, sum := 0.0, 0.0
		here := like[i%touchPerCell][i/touchPerCell:][:levelCells]
		next := like[(i+1)%touchPerCell][(i+1)/touchPerCell:][:levelCells]
		for j, mass := range row {
			h, n := here[j], next[j]-here[j]
			before += mass
			tilt += mass * n
			mass *= h + part*n
			row[j] = mass
			sum += mass
		}
		totals[r] = sum
		total += sum
		if r == f.first {
			edgeFell[0] = sum / before
		}
		edgeFell[1] = sum / before
	}
	for r := range f.first {
		f.outer[r] *= edgeFell[0]
		total += f.outer[r]
	}
	for r := f.end; r < rateRows; r++ {
		f.outer[r] *= edgeFell[1]
		total += f.outer[r]
	}
	total = max(total, wordEvidence)
	f.evidence += math.Log(total)
	f.learnTouch(person, tilt*(touchPerCell/cell)/total)
	// The weights are made to sum to 1. A small part of each row is spread over
	// all levels: somebody may have watered or spilled without a note, and a
	// history of surprising words can be recovered from.
	scale := (1 - f.p.Unseen - rowFloor) / total
	for r := range rateRows {
		if r < f.first || r >= f.end {
			f.outer[r] = f.outer[r]*(scale+f.p.Unseen/total) + rowFloor*f.base[r]
			continue
		}
		row := f.row(r)
		spread := (f.p.Unseen*totals[r]/total + rowFloor*f.base[r]) / levelCells
		for j := range row {
			row[j] = row[j]*scale + spread
		}
		totals[r] = totals[r]*scale + levelCells*spread
	}
	f.narrow(&totals)
	f.fresh = false
	f.changed()
}

// makeReady moves the grid to where a word is read.
func (f *Filter) makeReady() {
	if f.pend.dose > 0 || f.pend.hours >= lazyHours {
		f.settle()
	}
}

// narrow lets go of the outermost rows that hold hardly anything, given the
// masses of those that are kept, and takes up those that hold something again.
func (f *Filter) narrow(totals *[rateRows]float64) {
	for f.first < f.end-1 && totals[f.first] < f.least {
		f.outer[f.first] = totals[f.first]
		f.first++
	}
	for f.first < f.end-1 && totals[f.end-1] < f.least {
		f.end--
		f.outer[f.end] = totals[f.end]
	}
	f.widen()
}

// widen takes up the rows next to those that are kept if they hold something.
func (f *Filter) widen() {
	for f.first > 0 && f.outer[f.first-1] >= f.least {
		f.takeUp(f.first-1, f.first)
		f.first--
	}
	for f.end < rateRows && f.outer[f.end] >= f.least {
		f.takeUp(f.end, f.end-1)
		f.end++
	}
}

// takeUp spreads the mass of row r over the levels as its neighbour's.
func (f *Filter) takeUp(r, neighbour int) {
	row, like := f.row(r), f.row(neighbour)
	scale := f.outer[r] / sumOf(like)
	for j := range row {
		row[j] = like[j] * scale
	}
	f.outer[r] = 0
}

// mass is the posterior mass of a row.
func (f *Filter) mass(r int) float64 {
	if r < f.first || r >= f.end {
		return f.outer[r]
	}
	return f.ladders[r-f.first].total()
}

func (f *Filter) learnTouch(person int, slope float64) {
	if person < 0 || person > 1000 {
		return
	}
	for len(f.lessons) <= person {
		f.lessons = append(f.lessons, TouchLesson{})
	}
	f.lessons[person].Slope += slope
	f.lessons[person].Information += slope * slope
}

func (f *Filter) lagOf(r int) float64 {
	return clamp(f.lag.fromDoses-f.rate[r]*f.lag.fromDrying, -topLevel, 3*topLevel)
}

func sumOf(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s
}
