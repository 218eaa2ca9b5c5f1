package fuse

import "math"

// Odds are those of a piece's state at a moment if nobody does anything:
// Gone, or Mouldy and not gone. The rest is there and clean.
type Odds struct{ Gone, Mouldy float64 }

// Forecast returns the odds at the given hours after the piece was placed,
// ascending. What its looks showed is given; a moment no later than the last
// look gets the state seen then. A piece that was taken out counts as gone.
//
// The two fuses are independent given what was learnt; once mouldy, a piece is
// eaten more slowly by a factor that is learnt as well.
func (r *Room) Forecast(piece Piece, at []float64) []Odds {
	out := make([]Odds, len(at))
	s := tell(piece.Looks)
	if s.gone || s.taken {
		for i := range out {
			out[i] = Odds{Gone: 1}
		}
		return out
	}
	r.race(&piece, s, at, out)
	return out
}

// MouldyReaches returns, for each share, the first moment in hours after the
// piece was placed at which P(mouldy and not gone) reaches that share if
// nobody does anything: no earlier than the last look, +Inf if it does not
// within horizon hours after that look.
func (r *Room) MouldyReaches(piece Piece, horizon float64, shares ...float64) []float64 {
	reached := make([]float64, len(shares))
	s := tell(piece.Looks)
	for i := range reached {
		reached[i] = math.Inf(1)
	}
	if s.gone || s.taken || !(horizon > 0) {
		return reached
	}
	at := hourly(s.last, math.Min(horizon, longestHorizon))
	odds := make([]Odds, len(at))
	r.race(&piece, s, at, odds)
	for i, share := range shares {
		before, then := 0.0, s.last
		if s.mouldy {
			before = 1
		}
		if before >= share {
			reached[i] = s.last
			continue
		}
		for k, o := range odds {
			if o.Mouldy >= share {
				reached[i] = then + (at[k]-then)*(share-before)/(o.Mouldy-before)
				break
			}
			before, then = o.Mouldy, at[k]
		}
	}
	return reached
}

const longestHorizon = 60 * 24 // hours

// hourly lists moments an hour apart for two days, then six times wider apart.
func hourly(from, horizon float64) []float64 {
	at := make([]float64, 0, 50+int(horizon/6))
	step := 1.0
	for t := step; ; t += step {
		if t >= horizon {
			return append(at, from+horizon)
		}
		at = append(at, from+t)
		if t >= 48 {
			step = 6
		}
	}
}

const (
	// Steps of the integration: this long, or longer late.
	stepHours = 1.5
	stepRatio = 0.12
	// mostSteps of one gap between moments, whatever is asked.
	mostGapSteps = 64
	// The tail beyond the last moment, for what the words say about pieces
	// that last.
	tailSteps = 12
	tailRatio = 0.3
)

// race integrates both fuses from the last look through the moments.
func (r *Room) race(p *Piece, s story, at []float64, out []Odds) {
	mould, eaten, never := r.fuses(p)
	nodes := nodesOf(s.last, at)
	survives := make([]float64, len(nodes)) // eating, given what is known
	r.eatingSurvival(&eaten, s, nodes, survives)

	clean, mouldy := 1.0, 0.0
	if s.mouldy {
		clean, mouldy = 0, 1
	}
	mouldBefore := mould.Survival(s.last)
	next, moment := 1, 0
	for moment < len(at) {
		for next < len(nodes) && nodes[next] <= at[moment] {
			a := ratio(survives[next], survives[next-1])
			spared := math.Exp(r.afterMould * math.Log(math.Max(a, 1e-300)))
			b := 1.0
			if !never && clean > 0 {
				now := mould.Survival(nodes[next])
				b = ratio(now, mouldBefore)
				mouldBefore = now
			}
			mouldy = mouldy*spared + clean*(1-b)*math.Sqrt(a*spared)
			clean *= a * b
			next++
		}
		here := math.Max(0, 1-clean-mouldy)
		out[moment] = Odds{Gone: here, Mouldy: math.Min(mouldy, 1-here)}
		if moment > 0 { // unordered moments and rounding
			out[moment].Gone = math.Max(here, out[moment-1].Gone)
			out[moment].Mouldy = math.Min(out[moment].Mouldy, 1-out[moment].Gone)
		}
		moment++
	}
}

// ratio is now/before, at most 1, and 1 where both have vanished.
func ratio(now, before float64) float64 {
	if !(before > 1e-300) || now >= before {
		return 1
	}
	return now / before
}

// nodesOf lists the moments of the integration, from the last look on.
func nodesOf(from float64, at []float64) []float64 {
	nodes := make([]float64, 1, 2*len(at)+32+tailSteps)
	nodes[0] = from
	for _, t := range at {
		here := nodes[len(nodes)-1]
		if !(t > here) || math.IsInf(t, 1) {
			continue
		}
		step := math.Max(stepHours, stepRatio*here)
		pieces := int(math.Min(math.Ceil((t-here)/step-1e-9), mostGapSteps))
		for k := 1; k < pieces; k++ {
			nodes = append(nodes, here+(t-here)*float64(k)/float64(pieces))
		}
		nodes = append(nodes, t)
	}
	return nodes
}

// eatingSurvival fills in the odds that the piece is not eaten by each node,
// given that it was not at the first, and given the word of that look.
func (r *Room) eatingSurvival(eaten *Predictive, s story, nodes, survives []float64) {
	for i, t := range nodes {
		survives[i] = eaten.Survival(t)
	}
	if !s.begunKnown || s.mouldy {
		return
	}
	// Weigh the mass between nodes by how probable the word is for it, from
	// the far end back.
	logLook := math.Log(s.begunAt)
	tilt := func(t float64) float64 { return r.begun.tilt(s.untouched, logLook, math.Log(t)) }
	last := len(nodes) - 1
	far, mass := nodes[last], survives[last]
	tail := 0.0
	for k := 0; k < tailSteps; k++ {
		further := far * (1 + tailRatio)
		left := eaten.Survival(further)
		tail += math.Max(0, mass-left) * tilt(math.Sqrt(far*further))
		far, mass = further, left
	}
	tail += mass * tilt(far)
	for i := last; i > 0; i-- {
		between := math.Max(0, survives[i-1]-survives[i])
		survives[i] = tail
		tail += between * tilt(math.Sqrt(nodes[i-1]*nodes[i]))
	}
	survives[0] = tail
}

// fuses returns the predictive times of both fuses for a piece, and whether
// its mould does not matter.
func (r *Room) fuses(p *Piece) (mould, eaten Predictive, never bool) {
	food, known := r.foods[foodName{p.Food, p.Class}]
	if !known {
		food = r.unseenFood(p)
	}
	place, known := r.bins[p.Bin]
	if !known {
		place = NoBin
	}
	taught, counted := r.unfinished[p.identity()]
	var backing [firstFood + 1]Term
	work := make([]float64, len(r.eaten.posterior.Dense))

	c := r.eatenCase(p, food, place, backing[:0])
	c.Span, c.Weight = taught.eaten, r.recency(p)
	eaten = r.eaten.predict(c, food.Eaten, food.column, counted, work)
	if food.Never {
		return mould, eaten, true
	}
	c = r.mouldCase(p, food, place, backing[:0])
	c.Span, c.Weight = taught.mould, 1
	mould = r.mould.predict(c, food.Mould, food.column, counted, work)
	return mould, eaten, false
}

func (r *Room) unseenFood(p *Piece) foodUse {
	food := r.food(p)
	for _, use := range r.foods {
		if use.Name == food.Name && use.Class == food.Class {
			return use
		}
	}
	return foodUse{food, unseen}
}

// predict returns the predictive of a case. If the case itself was learnt
// from, its own share is taken out of the posterior first (the cavity of
// expectation propagation, with Laplace's quadratic as the site): the caller
// conditions on its looks exactly.
func (f *fuseFit) predict(c Case, wait Wait, column int, counted bool, work []float64) Predictive {
	centre := f.posterior.centre(c, work)
	if column == unseen {
		foodSD, _ := f.effects.split(wait)
		centre.variance += foodSD * foodSD
	}
	if counted && !tellsNothing(c.Span) {
		scale := math.Exp(centre.logScale) * c.Spread
		s := Lognormal.spanOrSlip(math.Log(c.After), math.Log(c.By), centre.mean, scale, f.posterior.model.Slip)
		stiff := math.Max(0, -s.mm*c.Weight) * centre.variance
		grow := 1 / (1 - math.Min(stiff, 0.9))
		centre.mean -= grow * centre.variance * s.m * c.Weight
		centre.variance *= grow
		centre.between *= grow
	}
	return centre.predictive()
}

// Mould is the distribution of the time, in hours after a piece without looks
// was placed, until mould can be seen on it, were it never eaten. For a food
// whose mould does not matter it says nothing.
func (r *Room) Mould(piece Piece) Predictive {
	piece.Looks = nil
	mould, _, _ := r.fuses(&piece)
	return mould
}

// MouldsBy is the chance that mould can be seen on a piece without looks at some
// moment before it is gone and within so many hours of being placed.
func (r *Room) MouldsBy(piece Piece, hours float64) float64 {
	piece.Looks = nil
	mould, eaten, never := r.fuses(&piece)
	if never || !(hours > 0) {
		return 0
	}
	nodes := nodesOf(0, []float64{hours})
	sum, before := 0.0, 1.0
	for i := 1; i < len(nodes); i++ {
		clean := mould.Survival(nodes[i])
		sum += (before - clean) * eaten.Survival((nodes[i-1]+nodes[i])/2)
		before = clean
	}
	return math.Min(1, math.Max(0, sum))
}
