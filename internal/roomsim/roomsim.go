// Package roomsim is a room of lidded bins that somebody else might own: the
// judge of the forecasts, not a part of them. It simulates the water in the
// substrate, the food on it, the household that opens the bins, and the words
// that its fingers find; a Keeper decides which bins to open; a Report tells
// what that cost and what it spared the animals.
//
// It imports nothing of this project (a test holds it to that) and was written
// without a look at the packages that forecast: other physics, so that a forecast
// which does well here has not merely met its own assumptions again.
//
// # What it assumes
//
// Values without a source are judgement. They were set with TuningRoom alone, so
// that the facts marked "common practice, no source" in the tests hold, and
// before any forecaster was run against them. Only how sinking water is stepped
// was mended later, because half-hour steps did not solve these equations.
//
//   - Substrate: two columns of ten layers, damp side and dry side. Water moves
//     between layers by a diffusivity that grows tenfold for every 0.10 of
//     water content, and downward by a conductivity that grows with the 20th
//     power of saturation; sideways it seeps into the dry side. Parameters
//     differ from bin to bin. No roots, no hysteresis.
//   - Surface: evaporation through a litter and air film in series with a dry
//     crust whose resistance rises exponentially as the top layer dries (the
//     form of van de Griend and Owe 1994, from memory), driven by saturation
//     pressure after Buck (1996) and a Henderson sorption curve for the air
//     just above the substrate.
//   - Vents: air exchange of an opening is a power 0.74 of its open area; the
//     constants make a 155 cm2 screened cut-out and a 3 mm hole pass what
//     still-air and film estimates give within some 30 %. Each bin's exchange
//     is off by a factor of its own (log-sd 0.45), each room's by another
//     (0.20), each day's by a third (0.20, with a memory of some days).
//   - Climate: hourly means of a real room, tiled by whole days, shifted by a
//     season's offset; a bin follows its room with two hours' lag and an offset
//     of its shelf.
//   - Touch: a finger feels the top 20 mm, the surface most. Two people with
//     different ideas of "damp", noise at each look, a plain mistake in every
//     33rd look. A dose is 20 % off (sd), and poured water partly runs past a dry
//     surface into the depth.
//   - Household: a round is possible in the evening, 18:30 or later, on about
//     six evenings of seven; sometimes nobody is home for days; one planned
//     stop in fifty is overlooked.
//   - Food: each feeding's pieces carry hidden amounts of eating and of
//     moulding work, spread by gamma laws. Eating goes on at a pace of the
//     colony with a Q10 of 2.1, moulding at the square of the distance from -2 C
//     (Ratkowsky 1982, suboptimal range, from memory), slower with springtails.
//     Feeding happens by itself, twice a week, never on leftovers that are known
//     or unknown; it is not counted as an opening. Mouldy food is taken out when
//     found; one look in ten at specks misses them.
//     A Feeder's bins have a taste: how much faster than other food they eat
//     protein (log-sd 0.5), and a calcium source lasts about two months there if
//     it is cuttlebone, six weeks if egg shell, three if crab shell (log-sd 0.3).
//   - Not simulated: leaf litter running out, frass, deaths, breeding, flies.
//
// # Words
//
// Water content is volumetric, 0 to about 0.6. A fair hand says "dry" below
// 0.18, "barely" below 0.245, "damp" below 0.42, "soaked" above. "Felt dry" is
// what a fair hand would call dry. "At risk" is felt dry and no layer of the damp
// side that would still be called damp: nowhere left to retreat to. "Swamped" is
// water standing in the lowest 10 mm of the damp side (95 % saturated) or on it.
//
// # Two rooms
//
// Seeds below FirstReportingSeed belong to TuningRoom, the others to
// ReportingRoom; NewConfig refuses to mix them. A season is a function of its
// Config and its Keeper alone: same seed, same season, to the last bit. What
// happens to a household (climate, evenings, slips of the finger at a given bin
// and hour) does not depend on the policy, so policies are compared like with
// like.
package roomsim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// The two climates, and the seeds that go with each.
const (
	TuningRoom         = "room1" // look at it as often as you like
	ReportingRoom      = "room2" // report it; never tune on it
	FirstReportingSeed = 1000
)

// A Config is one season of one room. Start from NewConfig.
type Config struct {
	Seed        uint64
	Climate     Climate
	ClimateDay  int            // the season starts this many days into the trace
	WarmerC     float64        // added to the trace's temperature, K, -10 to 15
	DamperPct   float64        // added to the trace's relative humidity, points, -30 to 30
	Bins        int            // 1 to 500
	Days        int            // scored days, 1 to 1000
	HistoryDays int            // unscored days before, kept by looks twice a week, 0 to 200
	BlankBook   bool           // leave the entries of the history out of the View
	Start       time.Time      // midnight of the first scored day, in a zone that does not change its clocks
	RoundDays   []time.Weekday // evenings on which a keeper is asked; nil is all
	AlwaysHome  bool           // a round is possible every evening
	SensorHours int            // one climate entry every so many hours; 0 is never
	Feeding     bool
	Tubs        []Bin // that stand there, instead of such as are drawn; as many as Bins
	ClearOut    bool  // a look takes out all leftovers, clean or not; else clean ones stay
	KeepTruth   bool  // keep every bin's hourly state for Room.Truth
	Stress      Stress
}

// Stress is what can go wrong.
type Stress struct {
	WrongVents      bool // all openings of a bin are described with half or twice their area
	WrongReadings   bool // one feel in ten is any other word
	SilentFortnight bool // 14 days in mid-season: looks by habit, nothing logged, nothing scored
	HeatingSeason   bool // from a third of the season on: 2 K warmer, 15 points drier
}

// NewConfig returns a season of 120 days with 60 bins in the named room, its
// weather drawn from the seed. The seed must be one of that room's.
func NewConfig(room string, climate Climate, seed uint64) (Config, error) {
	switch {
	case room != TuningRoom && room != ReportingRoom:
		return Config{}, fmt.Errorf("room %q: give %q or %q", room, TuningRoom, ReportingRoom)
	case room == TuningRoom && seed >= FirstReportingSeed:
		return Config{}, fmt.Errorf("seed %d: %s takes seeds below %d", seed, room, FirstReportingSeed)
	case room == ReportingRoom && seed < FirstReportingSeed:
		return Config{}, fmt.Errorf("seed %d: %s takes seeds from %d on", seed, room, FirstReportingSeed)
	}
	season := []struct{ warmer, damper float64 }{{0, 0}, {-1, -8}, {2.5, 5}}[seed%3] // spring, winter, summer
	return Config{
		Seed: seed, Climate: climate, ClimateDay: int(seed*17) % max(1, climate.Days()),
		WarmerC: season.warmer, DamperPct: season.damper,
		Bins: 60, Days: 120, HistoryDays: 14, BlankBook: true, SensorHours: 6,
		Start: time.Date(2026, 3, 9, 0, 0, 0, 0, time.FixedZone("", 3600)),
	}, nil
}

func (c Config) check() error {
	for _, field := range []struct {
		name             string
		value, low, high float64
	}{
		{"WarmerC", c.WarmerC, -10, 15}, {"DamperPct", c.DamperPct, -30, 30}, {"Bins", float64(c.Bins), 1, 500},
		{"Days", float64(c.Days), 1, 1000}, {"HistoryDays", float64(c.HistoryDays), 0, 200},
		{"SensorHours", float64(c.SensorHours), 0, 1000}, {"ClimateDay", float64(c.ClimateDay), 0, 1e6},
	} {
		if !(field.value >= field.low && field.value <= field.high) {
			return fmt.Errorf("%s %v: give %v to %v", field.name, field.value, field.low, field.high)
		}
	}
	if c.Climate.Days() < 1 {
		return fmt.Errorf("climate of %d hours: give at least 24", len(c.Climate.Hours))
	}
	if c.Tubs != nil && len(c.Tubs) != c.Bins {
		return fmt.Errorf("%d tubs for %d bins: give as many", len(c.Tubs), c.Bins)
	}
	if c.Start.IsZero() {
		return fmt.Errorf("start: give the first day's midnight")
	}
	return nil
}

// Run keeps the room of cfg for its season as k would. It panics with a
// sentence if cfg is out of range; NewRoom returns the same sentence.
func Run(cfg Config, k Keeper) Report {
	room, err := NewRoom(cfg)
	if err != nil {
		panic("roomsim: " + err.Error())
	}
	return room.Run(k)
}

// Every chance in a season is drawn from a generator of its own, named by what
// it is for and by two numbers such as bin and hour: so that it comes out the
// same whatever else has been drawn before.
type chance uint64

const (
	chanceOfRoom chance = iota + 1
	chanceOfBin
	chanceOfEvening
	chanceOfAir
	chanceOfFeel
	chanceOfDose
	chanceOfStop
	chanceOfFood
	chanceOfLook
	chanceOfSensor
	chanceOfTaste
	chanceOfLime
)

func draw(seed uint64, what chance, a, b int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(what)<<56^uint64(a)<<28^uint64(b)))
}

func lognormal(r *rand.Rand, median, logSD float64) float64 {
	return median * math.Exp(logSD*r.NormFloat64())
}

// gamma draws from the gamma law with mean 1 and the whole number shape: a sum
// of exponentials, which is all that this package needs.
func gamma(r *rand.Rand, shape int) float64 {
	sum := 0.0
	for range shape {
		sum += r.ExpFloat64()
	}
	return sum / float64(shape)
}

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

func clamp(x, low, high float64) float64 { return math.Min(math.Max(x, low), high) }
