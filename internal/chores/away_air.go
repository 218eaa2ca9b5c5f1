package chores

import (
	"math"
	"slices"
	"time"

	"underlog/internal/air"
	"underlog/internal/away"
)

// cases of the air: kelvins, the water in the air staying as it is (judgement).
var cases = []struct {
	name   string
	warmer float64
}{{"heating fails", -8}, {"heat wave", 6}}

// cases says what other air does to the plan.
func (h *Household) cases(j *journey, all []*traveller, plan *away.Outcome, bins []AwayBin) []AwayCase {
	list := make([]AwayCase, 0, len(cases))
	for _, c := range cases {
		faster, celsius := h.drying.inOtherAir(later(j.from, j.leaves), j.home(), c.warmer)
		answer := AwayCase{Name: c.name, Celsius: math.Round(celsius*10) / 10, Unfit: []string{}}
		for i, t := range all {
			spared, before := 1.0, time.Time{}
			for _, day := range append(slices.Clone(plan.Served[i]), j.last) {
				end := j.ends[day]
				if before.IsZero() {
					spared *= 1 - t.harm(t.first(), end, faster)
				} else {
					spared *= 1 - t.served.harmBy(faster*t.gained(before, end))
				}
				before = j.hour(day, j.trip.FromHour)
			}
			answer.Harmed += 1 - spared
			bins[i].Cases = append(bins[i].Cases, math.Round((1-spared)*1e4)/1e4)
			if kind := t.past.kind; kind.TemperatureMax > 0 && (celsius < kind.TemperatureMin || celsius > kind.TemperatureMax) {
				answer.Unfit = append(answer.Unfit, t.past.bin.ID)
			}
		}
		list = append(list, answer)
	}
	return list
}

// inOtherAir says how many times as fast the reference tub dries between two
// instants if the room is warmer by so many kelvins and the water in its air
// stays the same, and how warm it then is.
func (c *clock) inOtherAir(from, to time.Time, warmer float64) (faster, celsius float64) {
	usual, other, n := 0.0, 0.0, 0.0
	for t := from; t.Before(to) || n == 0; t = t.Add(knotHours * time.Hour) {
		i := min(max(int(t.Sub(c.start).Hours()/knotHours), 0), len(c.climate)-1)
		now := c.climate[i]
		then := air.Climate{TemperatureC: clamp(now.TemperatureC+warmer, 0, 45)}
		then.HumidityPct = clamp(now.HumidityPct*air.SaturationDensity(now.TemperatureC)/air.SaturationDensity(then.TemperatureC), 1, 98)
		usual += referenceTub.Loss(now).TubMLPerHour
		other += referenceTub.Loss(then).TubMLPerHour
		celsius += then.TemperatureC
		n++
	}
	return math.Min(other/usual, hottestSpell), celsius / n
}
