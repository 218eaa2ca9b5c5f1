package gauge

import "math"

// settle moves the grid over what is pending: a dose, then a wait.
func (f *Filter) settle() {
	if f.pend.dose == 0 && f.pend.hours == 0 && f.pend.drained == 0 {
		return
	}
	for r := f.first; r < f.end; r++ {
		m := f.moveOf(r, f.pend, 0)
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
// The two stretches in which sources is simple are done apart, for speed.
func (f *Filter) moveRow(row []float64, m *move) {
	ladder, edges := &f.moving, &f.edges
	ladder.climb(row)
	total := ladder.total()
	from, to := m.shiftRow(ladder, edges)
	for j := f.fadeRow(m); j < levelCells; j++ {
		if j == from {
			j = to - 1
			continue
		}
		s := m.sources(float64(j)*cell, f.lnEdge[j])
		if s.down >= levelCells { // all of the row lies below this edge and those above
			for ; j < levelCells; j++ {
				edges[j] = total
			}
			break
		}
		edges[j] = ladder.below(s)
	}
	before := 0.0
	for j := range row[:levelCells-1] {
		row[j] = edges[j+1] - before
		before = edges[j+1]
	}
	row[levelCells-1] = math.Max(total-before, 0)
}

// fadeRow fills the edges that come from below the knee with all of their
// smoothing, where the wait is one factor, and returns the first that is left.
func (f *Filter) fadeRow(m *move) int {
	reach := -(m.drop + m.width) / m.knee
	fade := m.fading()
	middle, spread := fade*m.swell, fade*m.width/m.knee
	dose, doseNoise := m.dose/cell, m.doseVar3/(cell*cell)
	stretch := fade * fade
	j := 1
	for ; j < levelCells && f.lnEdge[j] <= reach; j++ {
		y := float64(j)
		half := y * spread
		half = math.Sqrt(atLeast(half*half-ownNoise*stretch, leastNoise*stretch) + doseNoise)
		z := y*middle - dose
		f.edges[j] = 0
		if z+half > 0 {
			f.edges[j] = (f.moving.integral(z+half) - f.moving.integral(z-half)) / (2 * half)
		}
	}
	return j
}

// shiftRow fills the edges [from, to) that lie above the knee and below the
// top with all of their smoothing: there the move is one
// and the same shift, so nothing need be looked up. It is the greater part.
func (m *move) shiftRow(ladder *ladder, edges *[levelCells]float64) (from, to int) {
	shift := (m.drop - m.dose) / cell
	width := math.Sqrt(max(m.width*m.width/(cell*cell)-ownNoise, leastNoise) + m.doseVar3/(cell*cell))
	up, down := shift+width, shift-width
	ku, kd := int(math.Floor(up)), int(math.Floor(down))
	tu, td := up-float64(ku), down-float64(kd)
	from = max(1, int(math.Ceil((m.knee+math.Max(m.width-m.drop, 0))/cell)), -kd)
	to = min(levelCells, len(ladder)-ku)
	if m.dose > 0 {
		to = min(to, int((topLevel-m.drop-m.width)/cell))
	}
	if from >= to {
		return 0, 0
	}
	n := to - from
	u, d, out := ladder[from+ku:][:n], ladder[from+kd:][:n], edges[from:to][:n]
	scale := 0.5 / width
	for i := range out {
		a, b := &u[i], &d[i]
		out[i] = (a.sum + tu*(a.cum+tu*a.half) - b.sum - td*(b.cum+td*b.half)) * scale
	}
	return from, to
}

// A move is one row's way over a pending dose and wait, in levels.
//
// Along the path above the knee, and its logarithm below it, a wait is one and
// the same shift wherever it starts. Noise is noise of that shift, so it grows
// with time alike everywhere along the path, shrinks with the level below the
// knee as the flow does, and a wait in two steps is a wait in one.
type move struct {
	dose     float64
	doseVar3 float64 // square of half of the box that stands for the dose's noise
	drop     float64 // how far the store falls above the knee
	width    float64 // half of the box that stands for the noise of the wait
	knee     float64
	fade     float64 // from a level below the knee to where it came from; 0 until asked for
	swell    float64 // mean of where it came from, with noise, over that without
}

// Squares of half boxes in cells. Moving a row between cells adds noise of its
// own, 1/6 of a cell squared, which is taken off what the model wants.
const (
	ownNoise   = 3.0 / 6
	leastNoise = 3.0 / 16
)

func (f *Filter) moveOf(r int, w pending, extraVariance float64) move {
	drop := atMost(f.rate[r]*w.drained, levelsCeiling)
	variance := square(f.p.NoisePerDrain)*drop + square(f.p.NoisePerDay)*w.hours/24 + extraVariance
	m := move{dose: w.dose, doseVar3: 3 * w.doseVar, drop: drop, width: math.Sqrt(3 * variance), knee: f.p.Knee}
	a := square(atMost(m.width/m.knee, 2))
	m.swell = 1 + a/6*(1+a/20*(1+a/42)) // sinh(w)/w of a box w wide each way
	return m
}

func (m *move) fading() float64 {
	if m.fade == 0 {
		m.fade = exp(atMost(m.drop/m.knee, farthestFade))
	}
	return m.fade
}

// A span is where a level came from: evenly from between two places of the
// grid, in cells, but for the share that came from anywhere.
type span struct{ down, up, anywhere float64 }

// sources returns where level y came from, given log(y/knee) where that is
// negative: the inverse of
// the drying curve over the box of the noise, by mean and width.
func (m *move) sources(y, lnOverKnee float64) span {
	// Along the path, from the knee.
	at, stretch := y-m.knee+m.drop, 1.0 // stretch: how much wider a cell was before the wait
	if y < m.knee {
		at = m.knee*lnOverKnee + m.drop
		if at > 0 {
			stretch = m.knee / y
		} else {
			stretch = m.fading()
		}
	}
	mid, half := m.knee+at, m.width
	switch down, up := at-m.width, at+m.width; {
	case up <= 0:
		x := y * m.fading()
		mid, half = x*m.swell, x*m.width/m.knee
	case down < 0:
		fallen := m.knee * (1 - exp(atLeast(down/m.knee, -lowestFall)))
		mid = m.knee + (0.5*up*up+m.knee*(fallen+down))/(up-down)
		half = 0.5 * (up + fallen)
	}
	anywhere := 0.0
	if m.dose > 0 {
		// What a dose would have lifted above the top stays at the top.
		if over := mid + half - topLevel; over > 0 {
			anywhere = atMost(over/(2*half), 1)
			if anywhere == 1 {
				return span{2 * levelCells, 2*levelCells + 1, 1}
			}
			mid, half = mid-0.5*over, half-0.5*over
		}
		mid -= m.dose
	}
	stretch *= stretch
	mid, half = mid*(1/cell), half*(1/cell)
	half = math.Sqrt(atLeast(half*half-ownNoise*stretch, leastNoise*stretch) + m.doseVar3/(cell*cell))
	return span{mid - half, mid + half, anywhere}
}

// A ladder is the cumulative distribution of one row and its integral, by
// edges. It goes on into the empty space above the grid.
type ladder [levelCells + 1 + spareRungs]rung

const spareRungs = 16

type rung struct {
	sum  float64 // integral, in cells, of the cumulative distribution up to here
	cum  float64 // cumulative distribution here
	half float64 // half of the mass in the cell above
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
	for j := levelCells; j < len(l); j++ {
		l[j] = rung{sum: sum, cum: below}
		sum += below
	}
}

// total is the mass of the row.
func (l *ladder) total() float64 { return l[levelCells].cum }

// integral is the integral of the cumulative distribution from 0 to z cells;
// above the grid it goes on as a straight line.
func (l *ladder) integral(z float64) float64 {
	if z < 0 {
		return 0
	}
	j := min(int(z), levelCells)
	t := z - float64(j)
	at := &l[j]
	return at.sum + t*(at.cum+t*at.half)
}

// below is the cumulative distribution averaged over where a level came from.
func (l *ladder) below(s span) float64 {
	even := (l.integral(s.up) - l.integral(s.down)) / (s.up - s.down)
	return even + s.anywhere*(l.total()-even)
}

// drift lets the log rate wander for some hours: steps to a neighbouring row
// that are in balance with the prior, so that the prior is left as it is. Of two
// neighbours each is stepped to by its share of the prior of both, which keeps
// the variance of a step whatever the prior's slope.
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
	below0, upBelow := 0.0, 0.0   // its mass where only that is kept
	for r := range rateRows {
		up, downAbove, down := 0.0, 0.0, 0.0
		if r+1 < rateRows {
			up = 2 * share * f.base[r+1] / (f.base[r] + f.base[r+1])
			downAbove = 2*share - up
		}
		if r > 0 {
			down = 2 * share * f.base[r-1] / (f.base[r] + f.base[r-1])
		}
		stay := 1 - up - down
		switch {
		case r < f.first || r >= f.end:
			was, above := f.outer[r], 0.0
			if r+1 == f.first {
				above = sumOf(f.row(r + 1))
			} else if r+1 < rateRows {
				above = f.outer[r+1]
			}
			if r == f.end {
				below0 = sumOf(below[:])
			}
			f.outer[r] = was*stay + below0*upBelow + above*downAbove
			below0 = was
		default:
			row, next := f.row(r), f.row(r)
			grow := 0.0 // what comes from a row of which only the mass is kept, per mass
			if r+1 < f.end {
				next = f.row(r + 1)
			} else if r+1 < rateRows {
				grow += f.outer[r+1] * downAbove / sumOf(row)
				downAbove = 0
			}
			if r == f.first && r > 0 {
				grow += below0 * upBelow / sumOf(row)
				upBelow = 0
			}
			stay += grow
			for j := range row {
				was := row[j]
				row[j] = was*stay + below[j]*upBelow + next[j]*downAbove
				below[j] = was
			}
		}
		upBelow = up
	}
	f.widen()
}
