package chores

import (
	"math"
	"time"

	"underlog/internal/air"
	"underlog/internal/husbandry"
)

// knotHours is the spacing of a clock's knots: day and night differ, minutes
// do not matter.
const knotHours = 3

// A clock is the drying power of the air, summed up: one unit is an hour of
// the reference air (21 °C, 45 % RH) over the reference tub. How much slower
// or faster another tub dries is nearly a constant factor, so one clock serves
// every bin in the same air.
//
// The sums are kept in whole ticks, so that the clock between two instants does
// not depend on where the sums were begun, to the last bit: what was replayed
// before a day or a reading was added need not be replayed after it.
type clock struct {
	start   time.Time
	sum     []ticks // at start + i*knotHours
	climate []air.Climate
}

// ticks are 2^-32 of a reference hour.
type ticks int64

func toTicks(hours float64) ticks { return ticks(math.Round(hours * (1 << 32))) }
func (t ticks) hours() float64    { return float64(t) / (1 << 32) }

// newClock sums the drying power from start to end, as known at an instant.
func newClock(a *Air, start, end, known time.Time) *clock {
	start = start.UTC().Truncate(knotHours * time.Hour)
	n := int(end.Sub(start).Hours()/knotHours) + 2
	climate := make([]air.Climate, n)
	a.samples(start, knotHours*time.Hour, known, climate)
	reference := referenceTub.Loss(referenceAir).TubMLPerHour
	c := &clock{start: start, sum: make([]ticks, n), climate: climate}
	before := referenceTub.Loss(climate[0]).TubMLPerHour
	for i := 1; i < n; i++ {
		now := referenceTub.Loss(climate[i]).TubMLPerHour
		c.sum[i] = c.sum[i-1] + toTicks(knotHours*(before+now)/2/reference)
		before = now
	}
	return c
}

// between returns what the clock gains from one instant to another, in
// reference hours; beyond its knots it runs on as the reference air would.
func (c *clock) between(from, to time.Time) float64 { return (c.at(to) - c.at(from)).hours() }

func (c *clock) at(t time.Time) ticks {
	const knot = knotHours * time.Hour
	since, last := t.Sub(c.start), len(c.sum)-1
	switch {
	case since < 0:
		return toTicks(since.Hours())
	case since >= time.Duration(last)*knot:
		return c.sum[last] + toTicks((since - time.Duration(last)*knot).Hours())
	}
	i := int(since / knot)
	share := float64(since%knot) / float64(knot)
	return c.sum[i] + ticks(math.Round(share*float64(c.sum[i+1]-c.sum[i])))
}

// sameAs says whether another clock goes the same wherever both have knots.
func (c *clock) sameAs(other *clock) bool {
	skip := int(c.start.Sub(other.start) / (knotHours * time.Hour))
	a, b := c, other
	if skip < 0 {
		a, b, skip = other, c, -skip
	}
	// b begins first.
	for i := 0; i < len(a.climate) && i+skip < len(b.climate); i++ {
		if a.climate[i] != b.climate[i+skip] {
			return false
		}
	}
	return true
}

// temperature returns the air's temperature at an instant, °C.
func (c *clock) temperature(t time.Time) float64 {
	i := int(t.Sub(c.start).Hours() / knotHours)
	return c.climate[min(max(i, 0), len(c.climate)-1)].TemperatureC
}

var (
	referenceAir = air.Climate{TemperatureC: 21, HumidityPct: 45}
	referenceTub = tubOf(husbandry.CommonTub()).Prepare()
)

// tubOf describes a bin to the physics, in metres.
func tubOf(bin husbandry.Bin) air.Tub {
	const mm = 1e-3
	tub := air.Tub{
		LengthM: bin.LengthMM * mm, WidthM: bin.WidthMM * mm, HeightM: bin.HeightMM * mm,
		DampShare: bin.DampShare,
		LidGapM:   bin.LidGapMM * mm, WallM: bin.WallMM * mm, RoundPlan: bin.Shape == "round",
	}
	for _, o := range bin.Openings {
		share := o.MeshOpenShare
		if share == 0 {
			share = 1
		}
		tub.Openings = append(tub.Openings, air.Opening{
			Side: o.Where == "side", Round: o.Shape == "round", Count: max(1, o.Count), MeshOpenShare: share,
			LengthM: o.LengthMM * mm, WidthM: o.WidthMM * mm, DiameterM: o.DiameterMM * mm,
		})
	}
	return tub
}

// dampArea is the plan area of the damp side, m2.
func dampArea(bin husbandry.Bin) float64 {
	area := bin.LengthMM * bin.WidthMM * 1e-6
	if bin.Shape == "round" {
		area *= math.Pi / 4
	}
	return area * bin.DampShare
}
