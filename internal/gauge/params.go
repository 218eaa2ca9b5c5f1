package gauge

import "math"

// MaxWords is the largest number of words a gauge can be read with.
const MaxWords = 4

// A RatePrior is a log-normal belief about the rate multiplier.
type RatePrior struct {
	LogMedian float64 // natural logarithm of the median; 0 trusts the clock
	LogSpread float64 // standard deviation of the logarithm, 0.02 to 1.5
}

// Params say how one kind of gauge behaves. Levels are shares of a full store.
type Params struct {
	Words       int                   // how many words a reading can be, 2 to 4, lowest level first
	Cuts        [MaxWords - 1]float64 // Cuts[w] lies between word w and word w+1, ascending
	TouchSpread float64               // standard deviation of the felt level around the true one, 0.02 to 0.5
	Lapse       float64               // share of readings that are any word at random, 0 to 0.3

	Unseen float64 // share of looks before which the level was changed without an entry, 0 to 0.1

	FullClock float64 // clock units that drain a full store at rate 1, above the knee; > 0
	FullDose  float64 // amount that lifts the store from 0 to 1; > 0
	Knee      float64 // level below which the fall slows in proportion to the level, 0.02 to 0.8

	DoseSpread    float64 // relative standard deviation of what a dose really lifts, 0 to 0.6
	NoisePerDrain float64 // standard deviation gained while draining one full store, 0 to 0.5
	NoisePerDay   float64 // standard deviation gained in a day whatever the clock does, 0 to 0.1
	DriftPerMonth float64 // standard deviation of the logarithm of the rate gained in 30 days, 0 to 0.5

	SurfaceShare float64 // the surface's share of the store's capacity, 0.05 to 1; at 1 surface and store are one
	SettleHours  float64 // time constant with which surface and store even out, hours, 1 to 1000

	StartLevel  float64 // expected store before anything is known
	StartSpread float64 // its standard deviation, > 0

	Rate RatePrior // belief about the rate before anything is known

	RiskLevel float64 // a store below this is at risk
}

// DryLevel is the surface level below which the lowest word is the true one.
func (p *Params) DryLevel() float64 { return p.Cuts[0] }

// SoakedLevel is the level above which the highest word is the true one.
func (p *Params) SoakedLevel() float64 { return p.Cuts[p.Words-2] }

// How much water the damp side of a bin can give between soaked and dry.
const (
	// Judgement: a damp half of 0.034 m2 whose top centimetre changes by 0.10
	// of its volume takes up 34 mL, which is one dose from "dry" to "damp",
	// and that is two fifths of the span between bone dry and topped up.
	waterShare   = 0.26
	surfaceDepth = 0.01 // m, what a finger feels; judgement
)

// Dampness is the gauge of a damp side of the given area (m2, 0.001 to 1) with
// substrate of the given depth (m, 0.01 to 0.5). Its clock is the potential
// loss of the damp side in mL and its doses are in mL. Words: dry, barely,
// damp, soaked.
//
// All values are judgement, informed by common practice (2-3 US tablespoons
// twice a week; a well set-up bin is fine for a week); log-sd 0.7 of the rate
// is 0.5 for the bin and 0.5 for the assumed air films.
func Dampness(areaM2, depthM float64) Params {
	areaM2 = clamp(areaM2, 0.001, 1)
	depthM = clamp(depthM, surfaceDepth, 0.5)
	capacity := waterShare * areaM2 * depthM * 1e6
	return Params{
		Words: 4, Cuts: [3]float64{0.30, 0.55, 1.05},
		TouchSpread: 0.10, Lapse: 0.05, Unseen: 0.002,
		FullClock: capacity, FullDose: capacity, Knee: 0.30,
		DoseSpread: 0.20, NoisePerDrain: 0.12, NoisePerDay: 0.010, DriftPerMonth: 0.15,
		SurfaceShare: math.Max(0.15, surfaceDepth/depthM), SettleHours: 24,
		StartLevel: 0.65, StartSpread: 0.25,
		Rate:      RatePrior{LogMedian: 0, LogSpread: 0.7},
		RiskLevel: 0.15,
	}
}

// Litter is the gauge of the leaves on top. Its clock is appetite-days, of
// which fullDays empty a full cover; its doses are handfuls, of which
// fullHandfuls make a full cover. Words: bare, thin, plenty. Judgement.
func Litter(fullDays, fullHandfuls float64) Params {
	return Params{
		Words: 3, Cuts: [3]float64{0.20, 0.55},
		TouchSpread: 0.12, Lapse: 0.03, Unseen: 0.002,
		FullClock: positive(fullDays), FullDose: positive(fullHandfuls), Knee: 0.15,
		DoseSpread: 0.30, NoisePerDrain: 0.20, NoisePerDay: 0.004, DriftPerMonth: 0.15,
		SurfaceShare: 1, SettleHours: 1,
		StartLevel: 0.6, StartSpread: 0.3,
		Rate:      RatePrior{LogMedian: 0, LogSpread: 0.6},
		RiskLevel: 0.20,
	}
}

// Substrate is the gauge of the substrate's freshness. Its clock is
// colony-months, of which fullMonths use up a fresh fill; a renewal sets it to
// full, so a dose of 1 is a whole fill. Words: mostly frass, mixed, fresh.
// Judgement; about 6 months is common practice.
func Substrate(fullMonths float64) Params {
	return Params{
		Words: 3, Cuts: [3]float64{0.30, 0.70},
		TouchSpread: 0.12, Lapse: 0.03, Unseen: 0.002,
		FullClock: positive(fullMonths), FullDose: 1, Knee: 0.10,
		DoseSpread: 0.15, NoisePerDrain: 0.15, NoisePerDay: 0.001, DriftPerMonth: 0.08,
		SurfaceShare: 1, SettleHours: 1,
		StartLevel: 0.6, StartSpread: 0.3,
		Rate:      RatePrior{LogMedian: 0, LogSpread: 0.5},
		RiskLevel: 0.30,
	}
}

// Supplies is the gauge of something used up from the larder. Its clock is
// days at the expected use, of which fullDays empty a full supply; doses are
// in the units of fullAmount. The last tenth is eked out. Words: nearly out,
// low, enough. Judgement.
func Supplies(fullDays, fullAmount float64) Params {
	return Params{
		Words: 3, Cuts: [3]float64{0.12, 0.40},
		TouchSpread: 0.08, Lapse: 0.03, Unseen: 0.002,
		FullClock: positive(fullDays), FullDose: positive(fullAmount), Knee: 0.10,
		DoseSpread: 0.05, NoisePerDrain: 0.12, NoisePerDay: 0.002, DriftPerMonth: 0.12,
		SurfaceShare: 1, SettleHours: 1,
		StartLevel: 0.6, StartSpread: 0.3,
		Rate:      RatePrior{LogMedian: 0, LogSpread: 0.6},
		RiskLevel: 0.12,
	}
}

func clamp(v, lo, hi float64) float64 {
	if !(v > lo) { // also catches NaN
		return lo
	}
	if v > hi {
		return hi
	}
	return v
}

func positive(v float64) float64 { return clamp(v, 1e-6, 1e12) }
