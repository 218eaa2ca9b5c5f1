package gauge

import "math"

// settle moves the grid over what is pending: a dose, then a wait.
func (f *Filter) settle() {
	if f.pend.dose == 0 && f.pend.hours == 0 && f.pend.drained == 0 {
		return
	}
	for r := range rateRows {
		m := f.moveOf(r, f.pend)
		f.moveRow(f.row(r), &m)
	}
	f.pend = pending{}
	f.fresh = false
	if f.driftDue >= driftHours {
		f.drift(f.driftDue)
		f.driftDue = 0
	}
}

// moveRow carries one row over a move: each edge takes the smoothed cumulative
// distribution from where it was reached, and a cell is what lies between two.
func (f *Filter) moveRow(row []float64, m *move) {
	ladder, edges := &f.moving, &f.edges
	ladder.climb(row)
	width := m.smoothing()
	scale := 0.5 / width
	total := ladder[levelCells].below
	from, to := shiftRow(ladder, edges, m, width)
	fade := math.Exp(min(m.drop/m.knee, farthestFade))
	for j := 1; j < levelCells; j++ {
		if j == from {
			j = to - 1
			continue
		}
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
		if m.dose > 0 {
			z = m.poured(z)
		}
		z *= 1 / cell
		if z-width >= levelCells { // all of the row lies below this edge and those above
			for ; j < levelCells; j++ {
				edges[j] = total
			}
			break
		}
		edges[j] = (ladder.integral(z+width) - ladder.integral(z-width)) * scale
	}
	before := 0.0
	for j := range row[:levelCells-1] {
		row[j] = edges[j+1] - before
		before = edges[j+1]
	}
	row[levelCells-1] = math.Max(total-before, 0)
}

// shiftRow fills the edges [from, to) that lie above the knee, below a full
// store and inside the grid with all of their smoothing: there the move is one
// and the same shift, so nothing need be looked up. It is the greater part.
func shiftRow(ladder *ladder, edges *[levelCells]float64, m *move, width float64) (from, to int) {
	shift := (m.drop - m.dose) / cell
	up, down := shift+width, shift-width
	ku, kd := int(math.Floor(up)), int(math.Floor(down))
	tu, td := up-float64(ku), down-float64(kd)
	from = max(1, int(math.Ceil(m.knee/cell)), -kd)
	to = min(levelCells, levelCells-ku)
	if m.dose > 0 {
		to = min(to, int((fullLevel-m.drop)/cell))
	}
	if from >= to {
		return 0, 0
	}
	n := to - from
	u, d, out := ladder[from+ku:][:n], ladder[from+kd:][:n], edges[from:to][:n]
	scale := 0.5 / width
	for i := range out {
		a, b := &u[i], &d[i]
		out[i] = (a.sum + tu*(a.below+tu*a.half) - b.sum - td*(b.below+td*b.half)) * scale
	}
	return from, to
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
	return y * math.Exp(math.Min(m.drop/m.knee, farthestFade))
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

// smoothing is the half-width, in cells, of the box that gives the move's
// variance, less what moving between cells already adds (1/6 of a cell squared).
func (m *move) smoothing() float64 {
	v := m.variance/(cell*cell) - 1.0/6
	if !(v > finestSpread*finestSpread) {
		v = finestSpread * finestSpread
	}
	return math.Sqrt(3 * v)
}

// A ladder is the cumulative distribution of one row and its integral, by
// edges. Its last rung stands for the empty space above the grid.
type ladder [levelCells + 1]rung

type rung struct {
	sum   float64 // integral, in cells, of the cumulative distribution up to here
	below float64 // cumulative distribution here
	half  float64 // half of the mass in the cell above
}

func (l *ladder) climb(row []float64) {
	below, sum := 0.0, 0.0
	row = row[:levelCells]
	for j, mass := range row {
		half := 0.5 * mass
		l[j] = rung{sum, below, half}
		sum += below + half
		below += mass
	}
	l[levelCells] = rung{sum: sum, below: below}
}

// integral is the integral of the cumulative distribution from 0 to z cells;
// above the grid it goes on as a straight line.
func (l *ladder) integral(z float64) float64 {
	if z < 0 {
		return 0
	}
	j := min(int(z), levelCells)
	t := z - float64(j)
	at := &l[j]
	return at.sum + t*(at.below+t*at.half)
}

// smoothed is the cumulative distribution at z cells, averaged over z-width to
// z+width.
func (l *ladder) smoothed(z, width float64) float64 {
	return (l.integral(z+width) - l.integral(z-width)) * (0.5 / width)
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
