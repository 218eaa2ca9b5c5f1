package gauge

import "math"

// A Lesson is what one bin teaches the room: the log-likelihood of each rate
// of the grid given the bin's entries, and the evidence on each person's touch.
type Lesson struct {
	LogLikelihood [rateRows]float64
	Touch         []TouchLesson
}

// Lesson fills l from the events so far; l's memory is reused.
func (f *Filter) Lesson(l *Lesson) {
	f.prepare()
	for r := range rateRows {
		l.LogLikelihood[r] = math.Log(f.mass(r)/f.base[r] + 1e-12)
	}
	l.Touch = append(l.Touch[:0], f.lessons...)
}

// The room is described by the median of its bins' log rates and by their
// spread around it, on a small grid.
const (
	medianPoints = 41
	spreadPoints = 4
)

var roomSpreads = [spreadPoints]float64{0.15, 0.25, 0.40, 0.60}

// A Room is what all bins together have taught.
type Room struct {
	base  RatePrior
	log   [spreadPoints][medianPoints]fixed // log posterior without its constant
	own   [][spreadPoints][medianPoints]fixed
	Touch []Touch // per person
}

// fixed is a logarithm in units of 2^-32: sums do not depend on their order.
type fixed int64

func toFixed(v float64) fixed  { return fixed(math.Round(clamp(v, -1e6, 1e6) * (1 << 32))) }
func (v fixed) float() float64 { return float64(v) / (1 << 32) }

func medianPoint(m int) float64 {
	return -rateSpan*0.8 + float64(m)*(2*0.8*rateSpan)/(medianPoints-1)
}

// Pool combines the lessons of bins that were replayed with the same prior and
// the given touches. The result does not depend on the order of the bins.
func Pool(base RatePrior, lessons []Lesson, used []Touch) *Room {
	room := &Room{base: base, own: make([][spreadPoints][medianPoints]fixed, len(lessons))}
	// The prior's variance is that of the room's median and of a bin around it, half each.
	medianSpread := base.LogSpread / math.Sqrt2
	for s := range spreadPoints {
		for m := range medianPoints {
			z := (medianPoint(m) - base.LogMedian) / medianSpread
			room.log[s][m] = toFixed(-0.5 * z * z)
		}
	}
	likelihood := make([][rateRows]float64, len(lessons))
	for b := range lessons {
		for r, l := range lessons[b].LogLikelihood {
			likelihood[b][r] = math.Exp(l)
		}
	}
	var weights [rateRows]float64
	for s := range spreadPoints {
		for m := range medianPoints {
			fillNormal(weights[:], medianPoint(m), roomSpreads[s], -rateSpan, rateStep)
			for b := range lessons {
				sum := 0.0
				for r, w := range weights {
					sum += w * likelihood[b][r]
				}
				v := toFixed(math.Log(sum))
				room.own[b][s][m] = v
				room.log[s][m] += v
			}
		}
	}
	room.poolTouch(lessons, used)
	return room
}

// PriorFor is the room's belief about bin b (its index in the lessons) from all
// other bins. Use -1 for a new bin.
func (room *Room) PriorFor(b int) RatePrior {
	var logs [spreadPoints][medianPoints]float64
	top := math.Inf(-1)
	for s := range spreadPoints {
		for m := range medianPoints {
			v := room.log[s][m]
			if b >= 0 && b < len(room.own) {
				v -= room.own[b][s][m]
			}
			logs[s][m] = v.float()
			top = math.Max(top, logs[s][m])
		}
	}
	total, mean, sq := 0.0, 0.0, 0.0
	for s := range spreadPoints {
		for m := range medianPoints {
			w := math.Exp(logs[s][m] - top)
			c := medianPoint(m)
			total += w
			mean += w * c
			sq += w * (c*c + square(roomSpreads[s]))
		}
	}
	mean /= total
	return RatePrior{LogMedian: mean, LogSpread: math.Sqrt(math.Max(sq/total-mean*mean, 0.01))}
}

func (room *Room) poolTouch(lessons []Lesson, used []Touch) {
	people := len(used)
	for b := range lessons {
		people = max(people, len(lessons[b].Touch))
	}
	slopes, infos := make([]fixed, people), make([]fixed, people)
	for b := range lessons {
		for p, l := range lessons[b].Touch {
			slopes[p] += toFixed(l.Slope)
			infos[p] += toFixed(l.Information)
		}
	}
	room.Touch = make([]Touch, people)
	for p := range room.Touch {
		bias := 0.0
		if p < len(used) {
			bias = used[p].Bias
		}
		// One Newton step of the posterior from the bias in use.
		const precision = 1 / (touchPrior * touchPrior)
		bias += (slopes[p].float() - bias*precision) / (infos[p].float() + precision)
		room.Touch[p].Bias = clamp(bias, -3*touchPrior, 3*touchPrior)
	}
}

// Reweigh exchanges the prior of the rate for another, without a replay: the
// words are weighed as they would have been, had the rate been drawn from it.
// It is exact for a rate that does not drift; of one that does it speaks of the
// rate as it is now.
func (f *Filter) Reweigh(prior RatePrior) {
	var base [rateRows]float64
	prior.LogMedian = clamp(prior.LogMedian, -rateSpan, rateSpan)
	prior.LogSpread = clamp(prior.LogSpread, 0.02, 1.5)
	fillNormal(base[:], prior.LogMedian, prior.LogSpread, -rateSpan, rateStep)
	var totals [rateRows]float64
	total := 0.0
	for r := range rateRows {
		scale := base[r] / f.base[r]
		if r < f.first || r >= f.end {
			f.outer[r] *= scale
			total += f.outer[r]
			continue
		}
		row := f.row(r)
		for j := range row {
			row[j] *= scale
		}
		totals[r] = sumOf(row)
		total += totals[r]
	}
	f.base, f.prior = base, prior
	f.evidence += math.Log(total)
	for r := range rateRows {
		f.outer[r] /= total
		totals[r] /= total
		if r >= f.first && r < f.end {
			row := f.row(r)
			for j := range row {
				row[j] /= total
			}
		}
	}
	f.narrow(&totals)
	f.fresh = false
	f.changed()
}
