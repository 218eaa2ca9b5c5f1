package gauge

import (
	"math"
	"math/rand/v2"
)

// A truth is one gauge whose level and rate are known, drawn from the model
// that the filter assumes but moved without a grid: the reference for
// calibration and for the particle filter.
type truth struct {
	p       Params
	prior   RatePrior
	logRate float64
	x       float64
	lag     lag
	random  *rand.Rand
}

func drawTruth(p Params, prior RatePrior, random *rand.Rand) truth {
	t := truth{p: p, prior: prior, random: random, x: -1}
	t.logRate = math.Inf(1)
	for math.Abs(t.logRate) > rateSpan+rateStep/2 {
		t.logRate = prior.LogMedian + prior.LogSpread*random.NormFloat64()
	}
	for t.x < 0 || t.x > topLevel {
		t.x = p.StartLevel + p.StartSpread*random.NormFloat64()
	}
	return t
}

// wait lets hours pass in which the clock goes on by dClock.
func (t *truth) wait(dClock, hours float64) {
	drained := dClock / t.p.FullClock
	t.lag = t.lag.after(&t.p, drained, hours)
	drop := math.Exp(t.logRate) * drained
	spread := math.Sqrt(square(t.p.NoisePerDrain)*drop + square(t.p.NoisePerDay)*hours/24)
	t.fall(drop, spread*t.random.NormFloat64())
	// Drift that leaves the prior as it is: half the slope of its log density.
	v := square(t.p.DriftPerMonth) * hours / 720
	t.logRate += -0.5*v*(t.logRate-t.prior.LogMedian)/square(t.prior.LogSpread) + math.Sqrt(v)*t.random.NormFloat64()
}

// fall moves the level along the drying curve by drop, with noise of the same
// kind: straight above the knee, exponential below it.
func (t *truth) fall(drop, noise float64) {
	path := t.x - t.p.Knee
	if t.x < t.p.Knee {
		path = t.p.Knee * math.Log(math.Max(t.x, 1e-9)/t.p.Knee)
	}
	path += noise - drop
	t.x = t.p.Knee + path
	if path < 0 {
		t.x = t.p.Knee * math.Exp(path/t.p.Knee)
	}
	t.x = math.Min(t.x, topLevel)
}

func (t *truth) dose(amount float64) {
	lift := amount / t.p.FullDose
	t.lag.fromDoses += lift * (1/t.p.SurfaceShare - 1)
	t.pour(lift * (1 + t.p.DoseSpread*t.random.NormFloat64()))
}

// pour lifts the store, to the top at most.
func (t *truth) pour(lift float64) { t.x = math.Min(math.Max(t.x+lift, 0), topLevel) }

func (t *truth) surface() float64 {
	return t.x + t.lag.fromDoses - math.Exp(t.logRate)*t.lag.fromDrying
}

// word is what a finger with the given bias says.
func (t *truth) word(bias float64) int {
	if t.random.Float64() < t.p.Lapse {
		return t.random.IntN(t.p.Words)
	}
	felt := t.surface() + bias + t.p.TouchSpread*t.random.NormFloat64()
	w := 0
	for w < t.p.Words-1 && felt >= t.p.Cuts[w] {
		w++
	}
	return w
}

// A keeperLog is a season of looks at one truth: every few days, watered when
// it feels dry or barely damp. act is told of every event before it counts.
func (t *truth) season(looks int, mLPerHour float64, bias float64, act func(Event)) {
	hours, clock := 0.0, 0.0
	for range looks {
		wait := 24 * (1 + 5*t.random.Float64())
		hours += wait
		clock += mLPerHour * wait
		t.wait(mLPerHour*wait, wait)
		word := t.word(bias)
		act(Event{Clock: clock, Hours: hours, Kind: Word, Word: word})
		if word <= 1 {
			amount := t.p.FullDose * (0.08 + 0.12*t.random.Float64())
			act(Event{Clock: clock, Hours: hours, Kind: Dose, Amount: amount})
			t.dose(amount)
		}
	}
}
