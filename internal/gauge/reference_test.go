package gauge

import (
	"math"
	"math/rand/v2"
	"testing"
)

// particles is a bootstrap particle filter of the same model, without a grid:
// an independent computation of the same posterior.
type particles struct {
	p      Params
	swarm  []truth
	weight []float64
	random *rand.Rand
}

func newParticles(p Params, n int, seed uint64) *particles {
	c := &particles{p: p, weight: make([]float64, n), random: rand.New(rand.NewPCG(seed, 1))}
	for range n {
		c.swarm = append(c.swarm, drawTruth(p, p.Rate, c.random))
	}
	return c
}

func (c *particles) wait(dClock, hours float64) {
	for i := range c.swarm {
		c.swarm[i].wait(dClock, hours)
	}
}

func (c *particles) read(word int) {
	total := 0.0
	for i := range c.swarm {
		c.weight[i] = c.p.WordOdds(word, c.swarm[i].surface())
		total += c.weight[i]
	}
	// Systematic resampling.
	n := len(c.swarm)
	next := make([]truth, 0, n)
	at, cum, k := c.random.Float64(), 0.0, 0
	for i := range c.swarm {
		cum += c.weight[i] / total * float64(n)
		for k < n && float64(k)+at < cum {
			next = append(next, c.swarm[i])
			k++
		}
	}
	for len(next) < n {
		next = append(next, c.swarm[n-1])
	}
	c.swarm = next
}

func (c *particles) share(holds func(*truth) bool) float64 {
	count := 0
	for i := range c.swarm {
		if holds(&c.swarm[i]) {
			count++
		}
	}
	return float64(count) / float64(len(c.swarm))
}

func TestGridAgreesWithParticles(t *testing.T) {
	histories := []struct {
		name  string
		words []int
	}{
		{"usual", []int{1, 2, 1, 1, 0, 2, 1, 2}},
		{"fast bin", []int{0, 0, 1, 0, 0, 0}},
		{"slow bin", []int{3, 2, 3, 2, 2, 2, 2}},
		{"one slip of the finger", []int{2, 1, 3, 1, 0, 1, 1}},
		{"nothing known", nil},
	}
	const n = 150000
	for _, h := range histories {
		p := Dampness(0.034, 0.05)
		f, c := New(), newParticles(p, n, 11)
		f.Reset(p, p.Rate, nil)
		for i, word := range h.words {
			hours := 60 + 24*float64(i%3)
			f.Advance(f.clock+0.4*hours, f.hours+hours)
			c.wait(0.4*hours, hours)
			f.Read(word, 0)
			c.read(word)
			if word <= 1 {
				f.Dose(50)
				for i := range c.swarm {
					c.swarm[i].dose(50)
				}
			}
		}
		compare := func(when string) {
			now := f.Now()
			near(t, h.name+" "+when+": odds of dry", now.Dry, c.share(func(t *truth) bool { return t.surface() < p.DryLevel() }), 0.008)
			near(t, h.name+" "+when+": odds of risk", now.Risk, c.share(func(t *truth) bool { return t.x < p.RiskLevel }), 0.008)
			near(t, h.name+" "+when+": surface below 0.6", f.SurfaceBelow(0.6), c.share(func(t *truth) bool { return t.surface() < 0.6 }), 0.008)
			near(t, h.name+" "+when+": store below 0.5", f.StoreBelow(0.5), c.share(func(t *truth) bool { return t.x < 0.5 }), 0.008)
			near(t, h.name+" "+when+": rate below 1", f.rateBelow(0), c.share(func(t *truth) bool { return t.logRate < 0 }), 0.015)
		}
		compare("now")
		for day := 2.0; day <= 14; day += 4 {
			f.Advance(f.clock+0.4*96, f.hours+96)
			c.wait(0.4*96, 96)
			compare("later")
		}
	}
}

// fineGrid is the same model on a grid four times as fine in the level and
// with whole Gaussian kernels, for a rate that does not drift.
type fineGrid struct {
	p      Params
	rates  []float64
	levels []float64
	step   float64
	mass   [][]float64
	lag    lag
}

func newFineGrid(p Params, rows, cells int) *fineGrid {
	g := &fineGrid{p: p, step: topLevel / float64(cells)}
	for j := range cells {
		g.levels = append(g.levels, (float64(j)+0.5)*g.step)
	}
	for r := range rows {
		logR := -rateSpan + 2*rateSpan*float64(r)/float64(rows-1)
		g.rates = append(g.rates, math.Exp(logR))
		z := (logR - p.Rate.LogMedian) / p.Rate.LogSpread
		row := make([]float64, cells)
		for j, x := range g.levels {
			y := (x - p.StartLevel) / p.StartSpread
			row[j] = math.Exp(-0.5*z*z - 0.5*y*y)
		}
		g.mass = append(g.mass, row)
	}
	return g
}

func (g *fineGrid) move(dose, dClock, hours float64) {
	drained := dClock / g.p.FullClock
	g.lag.fromDoses += dose / g.p.FullDose * (1/g.p.SurfaceShare - 1)
	g.lag = g.lag.after(&g.p, drained, hours)
	for r, rate := range g.rates {
		drop := rate * drained
		lift := dose / g.p.FullDose
		spread := math.Sqrt(square(g.p.NoisePerDrain)*drop + square(g.p.NoisePerDay)*hours/24)
		next := make([]float64, len(g.levels))
		for j, x := range g.levels {
			if g.mass[r][j] == 0 {
				continue
			}
			// Nine equally likely slices of the noise of the wait, nine of the dose.
			for k := range 81 {
				s := truth{p: g.p, x: x}
				s.pour(lift * (1 + g.p.DoseSpread*gaussQuantile((float64(k/9)+0.5)/9)))
				s.fall(drop, spread*gaussQuantile((float64(k%9)+0.5)/9))
				at := s.x/g.step - 0.5
				i := int(math.Floor(at))
				part := at - float64(i)
				next[min(max(i, 0), len(next)-1)] += g.mass[r][j] / 81 * (1 - part)
				next[min(max(i+1, 0), len(next)-1)] += g.mass[r][j] / 81 * part
			}
		}
		g.mass[r] = next
	}
}

func gaussQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

func (g *fineGrid) read(word int) {
	for r, rate := range g.rates {
		for j, x := range g.levels {
			g.mass[r][j] *= g.p.WordOdds(word, x+g.lag.fromDoses-rate*g.lag.fromDrying)
		}
	}
}

func (g *fineGrid) below(level float64) float64 {
	below, total := 0.0, 0.0
	for r, rate := range g.rates {
		for j, x := range g.levels {
			total += g.mass[r][j]
			if x+g.lag.fromDoses-rate*g.lag.fromDrying < level {
				below += g.mass[r][j]
			}
		}
	}
	return below / total
}

func TestGridAgreesWithFinerGrid(t *testing.T) {
	p := Dampness(0.034, 0.05)
	p.DriftPerMonth = 0
	f, g := New(), newFineGrid(p, 79, 192)
	f.Reset(p, p.Rate, nil)
	dose := 0.0
	for i, word := range []int{1, 2, 1, 1, 0, 2} {
		hours := 60 + 24*float64(i%3)
		f.Advance(f.clock+0.4*hours, f.hours+hours)
		g.move(dose, 0.4*hours, hours)
		for _, level := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
			near(t, "surface before a word", f.SurfaceBelow(level), g.below(level), 0.01)
		}
		f.Read(word, 0)
		g.read(word)
		dose = 0
		if word <= 1 {
			dose = 45
			f.Dose(dose)
		}
	}
}
