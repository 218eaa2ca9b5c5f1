package gauge

import (
	"math"
	"sort"
)

// FanShares are the shares of the quantiles in a Fan.
var FanShares = [5]float64{0.05, 0.25, 0.50, 0.75, 0.95}

// A Fan is the 5, 25, 50, 75 and 95 % quantiles of a level.
type Fan [5]float64

const fanSteps = 40 // levels at which a fan's distribution is evaluated

// Fans appends to dst the quantiles of the surface at each of the futures.
func (f *Filter) Fans(dst []Fan, futures []Future) []Fan {
	for _, future := range futures {
		dst = append(dst, f.fan(future, 1))
	}
	return dst
}

// FanAt is the quantiles of the surface at a future moment.
func (f *Filter) FanAt(future Future) Fan { return f.fan(future, 1) }

// Surface is the quantiles of the felt level now, Store those of the store.
func (f *Filter) Surface() Fan { return f.fan(Future{Clock: f.clock, Hours: f.hours}, 1) }

// Store is the quantiles of the store now.
func (f *Filter) Store() Fan { return f.fan(Future{Clock: f.clock, Hours: f.hours}, 0) }

func (f *Filter) fan(future Future, lagShare float64) Fan {
	v := f.view(future)
	lo, hi := -0.2, topLevel
	if lagShare > 0 {
		hi = 2 * topLevel // a surface just watered
	} else {
		lo = 0
	}
	step := (hi - lo) / fanSteps
	var known [fanSteps + 1]bool
	var odds [fanSteps + 1]float64
	below := func(i int) float64 {
		if !known[i] {
			known[i], odds[i] = true, v.below(lo+float64(i)*step, lagShare)
		}
		return odds[i]
	}
	var fan Fan
	// The lowest quantile is looked for by halving, the others from there up.
	i := sort.Search(fanSteps-1, func(i int) bool { return below(i+1) >= FanShares[0] })
	for q, share := range FanShares {
		for i < fanSteps-1 && below(i+1) < share {
			i++
		}
		part := 0.0
		if rise := below(i+1) - below(i); rise > 1e-12 {
			part = clamp((share-odds[i])/rise, 0, 1)
		}
		fan[q] = clamp(lo+(float64(i)+part)*step, 0, hi)
	}
	return fan
}

// MeanStore is the expected store now, a share of a full one.
func (f *Filter) MeanStore() float64 {
	v := f.view(Future{Clock: f.clock, Hours: f.hours})
	sum := 0.0 // the mean is the integral of the odds of lying above
	const steps = 56
	for i := range steps {
		sum += 1 - v.below((float64(i)+0.5)*topLevel/steps, 0)
	}
	return sum * topLevel / steps
}

// Rate is the median of the rate multiplier now and the standard deviation of
// its logarithm.
func (f *Filter) Rate() RatePrior {
	f.prepare()
	total, mean, sq := 0.0, 0.0, 0.0
	for r := range rateRows {
		w := f.mass(r)
		total += w
		mean += w * logRate(r)
	}
	mean /= total
	for r := range rateRows {
		sq += f.mass(r) * square(logRate(r)-mean)
	}
	return RatePrior{LogMedian: mean, LogSpread: math.Sqrt(sq / total)}
}

// Evidence is the log probability of all words read so far.
func (f *Filter) Evidence() float64 { return f.evidence }

// DoseToRefill is the amount that is expected to bring the surface to target
// (1 is topped up; 0.8 to 1 is usual), but no more than leaves the odds of a
// store above swamp at most swampOdds once it has settled. Not negative;
// rounding is the caller's.
func (f *Filter) DoseToRefill(target, swamp, swampOdds float64) float64 {
	return f.DoseToRefillAt(Future{Clock: f.clock, Hours: f.hours}, target, swamp, swampOdds)
}

// DoseToRefillAt is DoseToRefill for a damp side found at a future moment at
// its expected level.
func (f *Filter) DoseToRefillAt(future Future, target, swamp, swampOdds float64) float64 {
	swampOdds = clamp(swampOdds, 0.001, 0.5)
	lift := topLevel
	if (target-2*topLevel)*f.p.SurfaceShare < topLevel { // else the store is full before the surface is
		lift = math.Max(target-f.fan(future, 1)[2], 0) * f.p.SurfaceShare
	}
	v := f.view(future)
	// Largest lift that keeps the odds of lying above swamp - lift in bounds.
	lo, hi := 0.0, topLevel
	for range 16 { // to 2e-5 of a store
		mid := 0.5 * (lo + hi)
		if 1-v.below(swamp-mid, 0) <= swampOdds {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Min(lift, lo) * f.p.FullDose
}
