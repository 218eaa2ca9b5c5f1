package roomsim

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"
)

// spy is twice a week, and looks at everything it is shown.
type spy struct {
	*Routine
	see func(now time.Time, room View)
}

func (s spy) Plan(now time.Time, room View) []Visit {
	s.see(now, room)
	return s.Routine.Plan(now, room)
}

func MustRun(tb testing.TB, cfg Config, k Keeper) (*Room, Report) {
	tb.Helper()
	room, err := NewRoom(cfg)
	if err != nil {
		tb.Fatal(err)
	}
	return room, room.Run(k)
}

func TestKeeperSeesOnlyThePast(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Feeding, cfg.Days = true, 40
	evenings, shown := 0, 0
	MustRun(t, cfg, spy{TwiceAWeek(), func(now time.Time, room View) {
		evenings++
		shown = len(room.Entries)
		if hour := now.Hour(); hour < 18 || hour > 21 {
			t.Errorf("asked at %v", now)
		}
		for i, e := range room.Entries {
			if e.At.After(now) || i > 0 && e.At.Before(room.Entries[i-1].At) {
				t.Fatalf("at %v entry %d is of %v", now, i, e.At)
			}
			if e.At.Before(cfg.Start) {
				t.Fatalf("a blank book shows %v", e.At)
			}
		}
	}})
	if evenings < 28 || evenings > 39 {
		t.Errorf("%d possible rounds in 40 days", evenings)
	}
	if shown < 1000 {
		t.Errorf("only %d entries by the end", shown)
	}
}

func TestRoundDays(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Days, cfg.RoundDays = 40, []time.Weekday{time.Tuesday}
	MustRun(t, cfg, spy{TwiceAWeek(), func(now time.Time, _ View) {
		if now.Weekday() != time.Tuesday {
			t.Errorf("asked on %v", now)
		}
	}})
}

func TestPolicyDoesNotChangeTheHousehold(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Bins, cfg.Days = testBins, 40
	asked := func(routine *Routine) (times []time.Time) {
		MustRun(t, cfg, spy{routine, func(now time.Time, _ View) { times = append(times, now) }})
		return times
	}
	a, b := asked(TwiceAWeek()), asked(Weekly())
	if len(a) != len(b) {
		t.Fatalf("%d evenings under one policy, %d under another", len(a), len(b))
	}
	for i := range a {
		if !a[i].Equal(b[i]) {
			t.Errorf("evening %d: %v and %v", i, a[i], b[i])
		}
	}
}

func TestSilentFortnight(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Feeding, cfg.Stress.SilentFortnight = true, true
	room, report := MustRun(t, cfg, TwiceAWeek())
	from := cfg.Start.AddDate(0, 0, cfg.Days/2-7)
	until := from.AddDate(0, 0, 14)
	for _, e := range room.View(until.AddDate(1, 0, 0)).Entries {
		if !e.At.Before(from) && e.At.Before(until) {
			t.Fatalf("an entry of %v in the silent fortnight", e.At)
		}
	}
	if days := report.Total.BinDays / 60; math.Abs(days-106) > 1e-6 {
		t.Errorf("%.2f days scored of 120 with a silent fortnight", days)
	}
}

func TestHeatingSeason(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	usual := weather(cfg)
	cfg.Stress.HeatingSeason = true
	heated := weather(cfg)
	before, after := (cfg.HistoryDays+cfg.Days/3-1)*24, (cfg.HistoryDays+cfg.Days/3+4)*24
	if usual[before] != heated[before] {
		t.Error("heated too early")
	}
	if d := heated[after].TemperatureC - usual[after].TemperatureC; math.Abs(d-2) > 1e-9 {
		t.Errorf("%.2f K warmer", d)
	}
	if d := heated[after].HumidityPct - usual[after].HumidityPct; math.Abs(d+15) > 1e-9 {
		t.Errorf("%.2f points damper", d)
	}
}

func TestWrongVentsAreOnlyToldWrong(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	right, _ := NewRoom(cfg)
	cfg.Stress.WrongVents = true
	wrong, _ := NewRoom(cfg)
	half, twice := 0, 0
	for i := range right.bins {
		if right.bins[i].vents != wrong.bins[i].vents {
			t.Fatal("the true vents changed")
		}
		for j, o := range right.told[i].Openings {
			switch x := wrong.told[i].Openings[j].areaMM2() / o.areaMM2(); {
			case x > 0.45 && x < 0.55:
				half++
			case x > 1.85 && x < 2.15:
				twice++
			default:
				t.Errorf("an opening is told %.2f times its area", x)
			}
		}
	}
	if half < 10 || twice < 10 {
		t.Errorf("%d openings halved, %d doubled", half, twice)
	}
}

func TestFeel(t *testing.T) {
	for _, c := range []struct {
		name      string
		felt      float64
		wrong     float64
		word      string
		low, high float64 // share of looks that say so
	}{
		{"plainly damp", 0.33, 0, "damp", 0.95, 0.99},
		{"plainly damp, one in ten wrong", 0.33, 0.1, "damp", 0.85, 0.90},
		{"between barely and damp", 0.245, 0, "barely", 0.45, 0.55},
		{"bone dry", 0.05, 0, "dry", 0.95, 0.99},
		{"bone dry, called soaked", 0.05, 0, "soaked", 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			said := 0
			const looks = 4000
			for i := range looks {
				if feel(c.felt, person{}, c.wrong, draw(1, chanceOfFeel, i, 0)) == c.word {
					said++
				}
			}
			if share := float64(said) / looks; share < c.low || share > c.high {
				t.Errorf("%q in %.3f of the looks, want %.2f to %.2f", c.word, share, c.low, c.high)
			}
		})
	}
}

func TestWriteBook(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Feeding, cfg.Days = true, 20
	room, _ := MustRun(t, cfg, TwiceAWeek())
	lines := func(at time.Time) map[string]int {
		var book strings.Builder
		if err := room.WriteBook(&book, at); err != nil {
			t.Fatal(err)
		}
		count := make(map[string]int)
		scanner := bufio.NewScanner(strings.NewReader(book.String()))
		for first := true; scanner.Scan(); first = false {
			var line struct {
				Type, What string
				TimeZone   string `json:"time_zone"`
				At         time.Time
			}
			if err := json.Unmarshal(scanner.Bytes(), &line); err != nil {
				t.Fatalf("%v in %s", err, scanner.Text())
			}
			if first {
				if _, err := time.LoadLocation(line.TimeZone); line.Type != "book" || err != nil || !line.At.Equal(at) {
					t.Errorf("first line %s: %v", scanner.Text(), err)
				}
			}
			if line.At.After(at) {
				t.Errorf("%v in a book of %v", line.At, at)
			}
			count[line.Type+line.What]++
		}
		return count
	}
	early, late := lines(cfg.Start.AddDate(0, 0, 5)), lines(cfg.Start.AddDate(0, 0, 20))
	if early["bin"] != 60 || late["bin"] != 60 || late["book"] != 1 {
		t.Errorf("%v, then %v", early, late)
	}
	for _, what := range []string{"feel", "water", "feed", "leftovers", "climate"} {
		if n := late["entry"+what]; n == 0 || early["entry"+what] >= n {
			t.Errorf("%s: %d lines, then %d", what, early["entry"+what], n)
		}
	}
}

func TestTruthIsKept(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Days, cfg.KeepTruth = 20, true
	room, report := MustRun(t, cfg, Weekly())
	dry := 0.0
	for h := range 20 * 24 {
		truth, known := room.Truth("b05", cfg.Start.Add(time.Duration(h)*time.Hour))
		if !known {
			t.Fatalf("hour %d is not known", h)
		}
		if truth.Dry {
			dry++
		}
	}
	if scored := report.Bins[4].DryHours; dry != scored {
		t.Errorf("%v dry hours kept, %v scored", dry, scored)
	}
	if _, known := room.Truth("b05", cfg.Start.AddDate(0, 0, 20)); known {
		t.Error("knows the state after the season")
	}
}

func TestBadInput(t *testing.T) {
	climate := SteadyClimate(21, 45)
	for name, c := range map[string]struct {
		spoil func(*Config)
		says  string
	}{
		"no bins":    {func(c *Config) { c.Bins = 0 }, "Bins 0: give 1 to 500"},
		"too warm":   {func(c *Config) { c.WarmerC = 40 }, "WarmerC 40: give -10 to 15"},
		"no climate": {func(c *Config) { c.Climate = Climate{} }, "climate of 0 hours: give at least 24"},
		"no start":   {func(c *Config) { c.Start = time.Time{} }, "start: give the first day's midnight"},
	} {
		cfg, err := NewConfig(TuningRoom, climate, 1)
		if err != nil {
			t.Fatal(err)
		}
		c.spoil(&cfg)
		if _, err := NewRoom(cfg); err == nil || err.Error() != c.says {
			t.Errorf("%s: %v, want %s", name, err, c.says)
		}
	}
	for name, csv := range map[string]string{
		"a word":     "h\n2017-03-10T00:00Z,warm,45\n",
		"two fields": "h\n2017-03-10T00:00Z,21\n",
		"too damp":   "h\n2017-03-10T00:00Z,21,145\n",
		"empty":      "",
	} {
		if _, err := ParseClimate(strings.NewReader(csv)); err == nil {
			t.Errorf("climate with %s was read", name)
		}
	}
}

// The climates carry the attribution that their licence asks for.
func TestClimateIsAttributed(t *testing.T) {
	readme, err := os.ReadFile("../../testdata/climate/README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{"Fraunhofer Institute for Building Physics", "CC BY-SA 4.0", "Derived data"} {
		if !strings.Contains(string(readme), words) {
			t.Errorf("the README beside the climates does not say %q", words)
		}
	}
	for _, room := range []string{TuningRoom, ReportingRoom} {
		if days := MustClimate(t, room).Days(); days != 88 {
			t.Errorf("%s: %d whole days", room, days)
		}
	}
}
