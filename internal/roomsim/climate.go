package roomsim

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// A Climate is a trace of hourly means, from some midnight on.
type Climate struct{ Hours []Air }

// Air is the room's air during one hour.
type Air struct {
	TemperatureC float64
	HumidityPct  float64
}

// Days is the number of whole days in the trace.
func (c Climate) Days() int { return len(c.Hours) / 24 }

// ParseClimate reads lines of hour_utc,temperature_c,humidity_pct after one
// heading line and drops the hours before the first midnight.
func ParseClimate(r io.Reader) (Climate, error) {
	var climate Climate
	scanner := bufio.NewScanner(r)
	for line := 1; scanner.Scan(); line++ {
		fields := strings.Split(strings.TrimSpace(scanner.Text()), ",")
		if line == 1 || len(fields) == 1 && fields[0] == "" {
			continue
		}
		if len(fields) != 3 {
			return Climate{}, fmt.Errorf("climate line %d has %d fields: give hour_utc,temperature_c,humidity_pct", line, len(fields))
		}
		if len(climate.Hours) == 0 && !strings.Contains(fields[0], "T00:") {
			continue
		}
		temperature, errT := strconv.ParseFloat(fields[1], 64)
		humidity, errH := strconv.ParseFloat(fields[2], 64)
		if errT != nil || !(temperature >= -20 && temperature <= 60) {
			return Climate{}, fmt.Errorf("climate line %d, temperature_c %q: give -20 to 60", line, fields[1])
		}
		if errH != nil || !(humidity >= 0 && humidity <= 100) {
			return Climate{}, fmt.Errorf("climate line %d, humidity_pct %q: give 0 to 100", line, fields[2])
		}
		climate.Hours = append(climate.Hours, Air{temperature, humidity})
	}
	if err := scanner.Err(); err != nil {
		return Climate{}, err
	}
	if climate.Days() < 1 {
		return Climate{}, fmt.Errorf("climate of %d hours from midnight on: give at least 24", len(climate.Hours))
	}
	return climate, nil
}

// SteadyClimate is one day of unchanging air, for tests by hand.
func SteadyClimate(temperatureC, humidityPct float64) Climate {
	day := make([]Air, 24)
	for i := range day {
		day[i] = Air{temperatureC, humidityPct}
	}
	return Climate{day}
}

// weather lays the trace over the season, tiled by whole days so that noon
// stays noon, and adds the season's offset and the heating.
func weather(cfg Config) []Air {
	days := cfg.HistoryDays + cfg.Days + spareDays
	period := cfg.Climate.Days() * 24
	hours := make([]Air, days*24)
	heatFrom := (cfg.HistoryDays + cfg.Days/3) * 24
	for h := range hours {
		air := cfg.Climate.Hours[(cfg.ClimateDay*24+h)%period]
		air.TemperatureC += cfg.WarmerC
		air.HumidityPct += cfg.DamperPct
		if cfg.Stress.HeatingSeason && h >= heatFrom {
			warmedUp := math.Min(1, float64(h-heatFrom)/72)
			air.TemperatureC += 2 * warmedUp
			air.HumidityPct -= 15 * warmedUp
		}
		air.HumidityPct = clamp(air.HumidityPct, 12, 92)
		hours[h] = air
	}
	return hours
}

// spareDays of weather follow the season, for an oracle that looks ahead.
const spareDays = 30

// drafts is how freely each day's air moves past the vents, around 1: an
// autoregression of log-sd 0.20 whose memory fades by half in two days.
func drafts(cfg Config) []float64 {
	const logSD, memory = 0.20, 0.7
	days := make([]float64, cfg.HistoryDays+cfg.Days+spareDays)
	level := 0.0
	for d := range days {
		z := draw(cfg.Seed, chanceOfAir, d, 0).NormFloat64()
		if d == 0 {
			level = logSD * z
		} else {
			level = memory*level + logSD*math.Sqrt(1-memory*memory)*z
		}
		days[d] = math.Exp(level)
	}
	return days
}
