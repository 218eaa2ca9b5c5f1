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
	// mostBegun bounds the work: the newest so many pieces are enough.
	mostBegun = 240
	// begunNodes are the points over which a piece's own time is averaged.
	begunNodes = 5
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

// learnBegun averages the grid by how well each reading explains the pieces.
func (l *learner) learnBegun() begunReading {
	type seen struct {
		untouched bool
		away      [begunNodes]float64 // log(gone/look), equally probable
	}
	var looks []seen
	for i := len(l.pieces) - 1; i >= 0 && len(looks) < mostBegun; i-- {
		s := l.stories[i]
		if !s.begunKnown || !(s.eaten.By > s.eaten.After) || s.mouldyFrom > 0 {
			continue
		}
		p := &l.pieces[i]
		c := l.room.eatenCase(p, l.room.foods[foodName{p.Food, p.Class}], l.room.bins[p.Bin], nil)
		location, scale := l.room.eaten.posterior.plain(c)
		lo := Lognormal.cdf((math.Log(s.eaten.After) - location) / scale)
		hi := Lognormal.cdf((math.Log(s.eaten.By) - location) / scale)
		one := seen{untouched: s.untouched}
		for k := range one.away {
			u := lo + (hi-lo)*(float64(k)+0.5)/begunNodes
			e := location + scale*math.Sqrt2*math.Erfinv(2*math.Min(math.Max(u, 1e-12), 1-1e-12)-1)
			one.away[k] = math.Max(0, e-math.Log(s.begunAt))
		}
		looks = append(looks, one)
	}
	var total float64
	best := math.Inf(-1)
	var out begunReading
	for _, lean := range begunLeans {
		for _, slope := range begunSlopes {
			b := begunReading{lean, slope}
			score := leanPrior.penalty(lean) + slopePrior.penalty(slope)
			for i := range looks {
				p := 0.0
				for _, away := range looks[i].away {
					p += b.tilt(looks[i].untouched, 0, away)
				}
				score += math.Log(0.01 + 0.99*p/begunNodes)
			}
			if score > best { // keep the sums in range
				shrink := math.Exp(best - score)
				out.lean, out.slope, total, best = out.lean*shrink, out.slope*shrink, total*shrink, score
			}
			w := math.Exp(score - best)
			out.lean, out.slope, total = out.lean+w*lean, out.slope+w*slope, total+w
		}
	}
	return begunReading{out.lean / total, out.slope / total}
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
