package gauge

import "math"

// settle moves the grid over what is pending: a dose, then a wait.
func (f *Filter) settle() {
	w := f.pend
	if w.dose == 0 && w.hours == 0 && w.drained == 0 {
		return
	}
	for r := range rateRows {
		row := f.row(r)
		mv := f.moveOf(r, w)
		mv.fillSources(f)
		cum, sum := &f.cum, &f.sum
		accumulate(row, cum, sum)
		total := cum[levelCells]
		width := mv.smoothing()
		before := 0.0
		for j := 1; j < levelCells; j++ {
			c := smoothed(row, cum, sum, f.source[j], width)
			row[j-1] = c - before
			before = c
		}
		row[levelCells-1] = math.Max(total-before, 0)
	}
	f.pend = pending{}
	f.fresh = false
	if f.driftDue >= driftHours {
		f.drift(f.driftDue)
		f.driftDue = 0
	}
}

// A move is one row's way over a pending dose and wait, in levels.
type move struct {
	dose     float64
	drop     float64 // how far the store falls above the knee
	variance float64
	knee     float64
	lnKnee   float64
}

func (f *Filter) moveOf(r int, w pending) move {
	drop := math.Min(f.rate[r]*w.drained, levelsCeiling)
	return move{
		dose: w.dose,
		drop: drop,
		variance: w.doseVar + f.p.NoisePerDrain*f.p.NoisePerDrain*drop +
			f.p.NoisePerDay*f.p.NoisePerDay*w.hours/24,
		knee: f.p.Knee, lnKnee: f.lnKnee,
	}
}

// before is the level that falls to y over the wait: the inverse of the drying
// curve, straight above the knee and exponential below it.
func (m *move) before(y float64) float64 {
	if y >= m.knee {
		return y + m.drop
	}
	if lnOverKnee := math.Log(y) - m.lnKnee; lnOverKnee*m.knee >= -m.drop {
		return m.knee + m.drop + m.knee*lnOverKnee
	}
	return y * math.Exp(math.Min(m.drop/m.knee, 600))
}

// poured is the level from which the dose lifted to z. Above a full store a
// dose is held back: the excess e over full shows as e/(1+e/room), so that two
// doses lift as far as one of their sum and the top is never passed.
func (m *move) poured(z float64) float64 {
	if m.dose == 0 {
		return z
	}
	if z > fullLevel {
		d := z - fullLevel
		rest := 1 - d/(topLevel-fullLevel)
		if rest <= 1e-9 {
			return 4 * topLevel
		}
		z = fullLevel + d/rest
	}
	z -= m.dose
	if z > fullLevel {
		e := z - fullLevel
		z = fullLevel + e/(1+e/(topLevel-fullLevel))
	}
	return z
}

// fillSources sets f.source[j] to the cell position from which edge j is reached.
func (m *move) fillSources(f *Filter) {
	fade := math.Exp(math.Min(m.drop/m.knee, 600))
	for j := 1; j < levelCells; j++ {
		y := float64(j) * cell
		var z float64
		switch {
		case y >= m.knee:
			z = y + m.drop
		case f.lnEdge[j]*m.knee >= -m.drop:
			z = m.knee + m.drop + m.knee*f.lnEdge[j]
		default:
			z = y * fade
		}
		f.source[j] = m.poured(z) / cell
	}
}

// smoothing is the half-width, in cells, of the box that gives the move's
// variance, less what moving between cells already adds (1/6 of a cell squared).
func (m *move) smoothing() float64 {
	v := m.variance/(cell*cell) - 1.0/6
	if !(v > finestSpread*finestSpread) {
		v = finestSpread * finestSpread
	}
	return math.Sqrt(3 * v)
}

// accumulate sums masses to the cumulative distribution at the edges, and that
// to its integral in cells.
func accumulate(row []float64, cum, sum *[levelCells + 1]float64) {
	c, s := 0.0, 0.0
	cum[0], sum[0] = 0, 0
	for j, p := range row {
		s += c + 0.5*p
		c += p
		cum[j+1], sum[j+1] = c, s
	}
}

// smoothed is the cumulative distribution at position z (in cells), averaged
// over z-width to z+width.
func smoothed(row []float64, cum, sum *[levelCells + 1]float64, z, width float64) float64 {
	return (integral(row, cum, sum, z+width) - integral(row, cum, sum, z-width)) / (2 * width)
}

// integral is the integral of the cumulative distribution from 0 to z cells.
func integral(row []float64, cum, sum *[levelCells + 1]float64, z float64) float64 {
	if z <= 0 {
		return 0
	}
	if z >= levelCells {
		return sum[levelCells] + cum[levelCells]*(z-levelCells)
	}
	j := int(z)
	t := z - float64(j)
	return sum[j] + t*(cum[j]+0.5*t*row[j])
}

// drift lets the log rate wander for some hours: steps to a neighbouring row
// that are in balance with the prior, so that the prior is left as it is.
func (f *Filter) drift(hours float64) {
	v := f.p.DriftPerMonth * f.p.DriftPerMonth * hours / 720
	for v > 1e-12 {
		part := math.Min(v, 0.5*rateStep*rateStep)
		f.driftOnce(0.5 * part / (rateStep * rateStep))
		v -= part
	}
}

func (f *Filter) driftOnce(share float64) {
	var below [levelCells]float64 // the row below as it was
	upBelow := 0.0
	for r := range rateRows {
		row, next := f.row(r), f.row(r)
		up, downAbove, down := 0.0, 0.0, 0.0
		if r+1 < rateRows {
			next = f.row(r + 1)
			up = share * math.Min(1, f.base[r+1]/f.base[r])
			downAbove = share * math.Min(1, f.base[r]/f.base[r+1])
		}
		if r > 0 {
			down = share * math.Min(1, f.base[r-1]/f.base[r])
		}
		stay := 1 - up - down
		for j := range row {
			was := row[j]
			row[j] = was*stay + below[j]*upBelow + next[j]*downAbove
			below[j] = was
		}
		upBelow = up
	}
}
