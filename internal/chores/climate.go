package chores

import (
	"math"
	"sort"
	"time"

	"underlog/internal/air"
	"underlog/internal/husbandry"
)

// How readings of the room's air carry over to times without one.
const (
	// fadeDays is the time in which the difference between the room and its
	// season's default fades once there are no more readings (judgement).
	fadeDays = 15.0
	// recentDays is the span of readings that a forecast runs forward on.
	recentDays = 3.0
	// bridgeDays is the longest gap between readings that is bridged by a
	// straight line.
	bridgeDays = 10.0
)

// A reading is the air at an instant; NaN where one half was not read.
type reading struct {
	at          time.Time
	temperature float64
	humidity    float64
}

// An Air is what is known of a room's (or one bin's) air over time: readings
// where there are some, and the season's default, shifted by what recent
// readings taught, elsewhere.
type Air struct {
	room     husbandry.Room
	readings []reading
}

// NewAir makes an Air from the room's settings and the climate entries among
// entries. bin "" takes the room's readings; another takes those of that bin
// if it has any, and reports so.
func NewAir(room husbandry.Room, entries []*husbandry.Entry) *Air {
	a := &Air{room: room}
	for _, e := range entries {
		if e.What != husbandry.Climate {
			continue
		}
		r := reading{e.At, math.NaN(), math.NaN()}
		if e.TemperatureC != nil {
			r.temperature = *e.TemperatureC
		}
		if e.HumidityPct != nil {
			r.humidity = *e.HumidityPct
		}
		a.readings = append(a.readings, r)
	}
	sort.SliceStable(a.readings, func(i, j int) bool { return a.readings[i].at.Before(a.readings[j].at) })
	return a
}

// season returns the room's default air on the day of t: humidity follows a
// yearly cosine between the winter and the summer value of the settings, with
// its peak at the end of July in the north (judgement).
func (a *Air) season(t time.Time) air.Climate {
	phase := 2 * math.Pi * (float64(t.UTC().YearDay()) - 209) / 365.25
	if a.room.Hemisphere == "south" {
		phase += math.Pi
	}
	summer, winter := a.room.HumiditySummerPct, a.room.HumidityWinterPct
	return air.Climate{
		TemperatureC: a.room.TemperatureC,
		HumidityPct:  (summer+winter)/2 + (summer-winter)/2*math.Cos(phase),
	}
}

// samples fills out[i] with the air at start + i*step. Readings later than
// known do not count: they had not been made.
func (a *Air) samples(start time.Time, step time.Duration, known time.Time, out []air.Climate) {
	temperature := a.anomalies(known, func(r reading) float64 { return r.temperature },
		func(c air.Climate) float64 { return c.TemperatureC })
	humidity := a.anomalies(known, func(r reading) float64 { return r.humidity },
		func(c air.Climate) float64 { return c.HumidityPct })
	for i := range out {
		t := start.Add(time.Duration(i) * step)
		c := a.season(t)
		c.TemperatureC = clamp(c.TemperatureC+temperature.at(t), 0, 45)
		c.HumidityPct = clamp(c.HumidityPct+humidity.at(t), 1, 100)
		out[i] = c
	}
}

// anomalies is one quantity's difference from the season's default at the
// instants where it was read.
type anomalies struct {
	at0    []time.Time
	value  []float64
	recent float64 // mean of the last days' readings
	cursor int
}

func (a *Air) anomalies(known time.Time, read func(reading) float64, usual func(air.Climate) float64) *anomalies {
	an := &anomalies{}
	for _, r := range a.readings {
		if x := read(r); !math.IsNaN(x) && !r.at.After(known) {
			an.at0 = append(an.at0, r.at)
			an.value = append(an.value, x-usual(a.season(r.at)))
		}
	}
	if n := len(an.value); n > 0 {
		sum, weight := 0.0, 0.0
		last := an.at0[n-1]
		for i := n - 1; i >= 0; i-- {
			days := last.Sub(an.at0[i]).Hours() / 24
			if days > recentDays {
				break
			}
			sum, weight = sum+an.value[i], weight+1
		}
		an.recent = sum / weight
	}
	return an
}

// at must be asked with times that do not go back.
func (an *anomalies) at(t time.Time) float64 {
	n := len(an.value)
	if n == 0 {
		return 0
	}
	for an.cursor < n && !an.at0[an.cursor].After(t) {
		an.cursor++
	}
	switch i := an.cursor; {
	case i == 0:
		return an.value[0] * fade(an.at0[0].Sub(t))
	case i == n:
		return an.recent * fade(t.Sub(an.at0[n-1]))
	default:
		gap := an.at0[i].Sub(an.at0[i-1])
		before, after := t.Sub(an.at0[i-1]), an.at0[i].Sub(t)
		if gap.Hours()/24 > bridgeDays {
			if before < after {
				return an.value[i-1] * fade(before)
			}
			return an.value[i] * fade(after)
		}
		share := before.Seconds() / gap.Seconds()
		return an.value[i-1]*(1-share) + an.value[i]*share
	}
}

func fade(d time.Duration) float64 { return math.Exp(-math.Abs(d.Hours()) / 24 / fadeDays) }

func clamp(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }
