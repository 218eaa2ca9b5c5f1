package fuse

import "math"

// A begunReading is what the words "untouched" and "some left" tell of the
// time at which a piece will be gone: P(untouched at t | gone at e) =
// Phi(lean + slope*(log(e/t) - log 2)). With slope 0 the words tell nothing;
// how much they tell is learnt from pieces that were seen again later.
type begunReading struct{ lean, slope float64 }

// tilt is how probable the word is if the piece will be gone at log time e.
func (b begunReading) tilt(untouched bool, logLook, logGone float64) float64 {
	z := b.lean + b.slope*(logGone-logLook-math.Ln2)
	if !untouched {
		z = -z
	}
	return Lognormal.cdf(z)
}

const (
	// mostBegun bounds the work: so many pieces, evenly taken, are enough.
	mostBegun = 240
	// begunNodes are the points over which a piece's own time is averaged.
	begunNodes = 5
	// careless is the chance that the word was picked without looking.
	careless = 0.01
)

// The grid of readings and its prior (judgement): a piece that will be gone in
// twice the time is untouched one time in six, one that will last eight times
// as long every other time.
var (
	begunLeans  = []float64{-2.5, -2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2}
	begunSlopes = []float64{0, 0.35, 0.7, 1.2, 2}
	leanPrior   = Gaussian{-1, 0.8}
	slopePrior  = Gaussian{0.8, 0.8}
)

// A begunLook is one look at a piece that was seen again, and where its own
// time of being gone may lie: log(gone/look) at equally probable points.
type begunLook struct {
	untouched bool
	away      [begunNodes]float64
}

// learnBegun averages the grid by how well each reading explains the looks.
func (l *learner) learnBegun() begunReading {
	looks := l.begunLooks()
	best, total := math.Inf(-1), 0.0
	var sum begunReading
	for _, lean := range begunLeans {
		for _, slope := range begunSlopes {
			b := begunReading{lean, slope}
			score := leanPrior.penalty(lean) + slopePrior.penalty(slope)
			for i := range looks {
				p := 0.0
				for _, away := range looks[i].away {
					p += b.tilt(looks[i].untouched, 0, away)
				}
				score += math.Log(careless + (1-careless)*p/begunNodes)
			}
			if score > best { // keep the sums in range
				shrink := math.Exp(best - score)
				sum.lean, sum.slope, total, best = sum.lean*shrink, sum.slope*shrink, total*shrink, score
			}
			w := math.Exp(score - best)
			sum.lean, sum.slope, total = sum.lean+w*lean, sum.slope+w*slope, total+w
		}
	}
	return begunReading{sum.lean / total, sum.slope / total}
}

// begunLooks gathers at most mostBegun of the room's looks, evenly.
func (l *learner) begunLooks() []begunLook {
	var usable []int
	for i, s := range l.stories {
		if s.begunKnown && s.eaten.By > s.eaten.After && s.mouldyFrom == 0 {
			usable = append(usable, i)
		}
	}
	stride := 1 + len(usable)/mostBegun
	looks := make([]begunLook, 0, len(usable)/stride+1)
	for k := 0; k < len(usable); k += stride {
		s, p := l.stories[usable[k]], &l.pieces[usable[k]]
		c := l.room.eatenCase(p, l.room.foods[foodName{p.Food, p.Class}], l.room.bins[p.Bin], nil)
		location, scale := l.room.eaten.posterior.plain(c)
		from := Lognormal.cdf((math.Log(s.eaten.After) - location) / scale)
		to := Lognormal.cdf((math.Log(s.eaten.By) - location) / scale)
		look := begunLook{untouched: s.untouched}
		for node := range look.away {
			u := from + (to-from)*(float64(node)+0.5)/begunNodes
			u = math.Min(math.Max(u, 1e-12), 1-1e-12)
			gone := location + scale*math.Sqrt2*math.Erfinv(2*u-1)
			look.away[node] = math.Max(0, gone-math.Log(s.begunAt))
		}
		looks = append(looks, look)
	}
	return looks
}

// plain is the centre and scale at the mode.
func (p *Posterior) plain(c Case) (location, scale float64) {
	location = c.Offset
	for _, t := range c.Terms {
		location += t.Value * p.Dense[t.Column]
	}
	if c.Bin >= 0 {
		location += p.BinEffect[c.Bin]
	}
	return location, math.Exp(p.Dense[len(p.Dense)-1]) * c.Spread
}

// learnAfterMould estimates how much of its appetite a colony keeps for mouldy
// pieces: eaten mouldy pieces against those to be expected at full appetite.
func (l *learner) learnAfterMould() float64 {
	weight := l.room.priors.AfterMouldWeight
	eaten, expected := weight*l.room.priors.AfterMould, weight
	for i := range l.pieces {
		s := l.stories[i]
		if !(s.mouldyUntil > s.mouldyFrom) {
			continue
		}
		p := &l.pieces[i]
		c := l.room.eatenCase(p, l.room.foods[foodName{p.Food, p.Class}], l.room.bins[p.Bin], nil)
		location, scale := l.room.eaten.posterior.plain(c)
		from := Lognormal.logS((math.Log(s.mouldyFrom) - location) / scale)
		until := Lognormal.logS((math.Log(s.mouldyUntil) - location) / scale)
		expected += from - until
		if s.mouldyGone {
			eaten++
		}
	}
	if expected <= 0 {
		return math.Min(1, math.Max(0, l.room.priors.AfterMould))
	}
	return math.Min(1, eaten/expected)
}
