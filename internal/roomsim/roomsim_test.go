package roomsim

import (
	"os"
	"strings"
	"testing"
)

func MustClimate(tb testing.TB, room string) Climate {
	tb.Helper()
	file, err := os.Open("../../testdata/climate/" + room + ".csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	climate, err := ParseClimate(file)
	if err != nil {
		tb.Fatal(err)
	}
	return climate
}

// MustConfigs returns n seasons of the room, from its first seed on.
func MustConfigs(tb testing.TB, room string, n int) []Config {
	tb.Helper()
	climate := MustClimate(tb, room)
	first := uint64(0)
	if room == ReportingRoom {
		first = FirstReportingSeed
	}
	cfgs := make([]Config, n)
	for i := range cfgs {
		cfg, err := NewConfig(room, climate, first+uint64(i))
		if err != nil {
			tb.Fatal(err)
		}
		cfgs[i] = cfg
	}
	return cfgs
}

// TestBaselines prints the tables of the policies that need no forecaster:
//
//	go test -run TestBaselines -v ./internal/roomsim
func TestBaselines(t *testing.T) {
	for _, room := range []string{TuningRoom, ReportingRoom} {
		t.Run(room, func(t *testing.T) { testBaselines(t, room) })
	}
}

func testBaselines(t *testing.T, room string) {
	cfgs := MustConfigs(t, room, 2)
	for i := range cfgs {
		cfgs[i].Bins = testBins
	}
	rows := []Row{
		{"twice a week", RunSeasons(cfgs, func() Keeper { return TwiceAWeek() })},
		{"twice a week, plain doses", RunSeasons(cfgs, func() Keeper {
			k := TwiceAWeek()
			k.Plain = true
			return k
		})},
		{"weekly", RunSeasons(cfgs, func() Keeper { return Weekly() })},
		{"oracle", RunSeasons(cfgs, func() Keeper { return &Oracle{} })},
	}
	var table strings.Builder
	if err := WriteTable(&table, rows); err != nil {
		t.Fatal(err)
	}
	t.Logf("%s, %d seasons of %d days, %d bins\n%s", room, len(cfgs), cfgs[0].Days, cfgs[0].Bins, table.String())

	twice, weekly, oracle := rows[0].Report.Total, rows[2].Report.Total, rows[3].Report.Total
	if per := twice.PerWeek(twice.Openings); per < 1.85 || per > 2.05 {
		t.Errorf("twice a week opens %.2f times a week", per)
	}
	if x := oracle.Openings / twice.Openings; x > 0.30 {
		t.Errorf("the oracle needs %.2f of the openings of twice a week", x)
	}
	if x := oracle.DryHours / twice.DryHours; x > 0.10 {
		t.Errorf("the oracle leaves %.3f of the dry hours of twice a week", x)
	}
	if per := oracle.PerYear(oracle.SwampedHours); per > 10 {
		t.Errorf("the oracle swamps bins for %.1f h a year", per)
	}
	if weekly.DryHours <= twice.DryHours || weekly.RiskHours <= twice.RiskHours {
		t.Error("weekly looks leave no more dry hours than looks twice a week")
	}
	if share := twice.DryHours / 24 / twice.BinDays; share < 0.02 || share > 0.25 {
		t.Errorf("twice a week leaves bins dry %.0f %% of the time", 100*share)
	}
}

// TestStress prints what goes wrong under each stress, week by week:
//
//	go test -run TestStress -v ./internal/roomsim
func TestStress(t *testing.T) {
	run := func(stress Stress) ([]Row, string) {
		cfgs := MustConfigs(t, TuningRoom, 1)
		cfgs[0].Bins, cfgs[0].Stress = testBins, stress
		rows := []Row{
			{"twice a week", RunSeasons(cfgs, func() Keeper { return TwiceAWeek() })},
			{"oracle", RunSeasons(cfgs, func() Keeper { return &Oracle{} })},
		}
		var table strings.Builder
		if err := WriteTable(&table, rows); err != nil {
			t.Fatal(err)
		}
		if err := WriteWeeks(&table, rows); err != nil {
			t.Fatal(err)
		}
		return rows, table.String()
	}
	calm, _ := run(Stress{})
	for name, c := range map[string]struct {
		stress Stress
		hurts  bool // looks twice a week leave more dry hours
	}{
		"wrong vents":      {Stress{WrongVents: true}, false}, // only a forecast can be misled by these
		"wrong readings":   {Stress{WrongReadings: true}, true},
		"silent fortnight": {Stress{SilentFortnight: true}, false},
		"heating season":   {Stress{HeatingSeason: true}, true},
	} {
		rows, table := run(c.stress)
		t.Logf("%s\n%s", name, table)
		before, after := calm[0].Report.Total, rows[0].Report.Total
		if c.hurts && after.PerYear(after.DryHours) <= 1.05*before.PerYear(before.DryHours) {
			t.Errorf("%s: %.0f dry hours a year, %.0f without", name, after.PerYear(after.DryHours), before.PerYear(before.DryHours))
		}
		if c.stress.WrongVents && after != before {
			t.Errorf("%s changes what a household does that does not look at them", name)
		}
	}
}

func TestSameSeedSameSeason(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Days, cfg.Feeding = 30, true
	write := func(seed uint64) (Report, string) {
		cfg.Seed = seed
		room, err := NewRoom(cfg)
		if err != nil {
			t.Fatal(err)
		}
		report := room.Run(TwiceAWeek())
		var book strings.Builder
		if err := room.WriteBook(&book, cfg.Start.AddDate(0, 0, 30)); err != nil {
			t.Fatal(err)
		}
		return report, book.String()
	}
	report, book := write(1)
	again, bookAgain := write(1)
	if report.Total != again.Total || report.Food != again.Food || book != bookAgain {
		t.Error("the same seed gives another season")
	}
	if other, bookOther := write(2); report.Total == other.Total || book == bookOther {
		t.Error("another seed gives the same season")
	}
}

func TestNewConfigKeepsRoomsApart(t *testing.T) {
	climate := SteadyClimate(21, 45)
	for _, c := range []struct {
		room string
		seed uint64
		ok   bool
	}{
		{TuningRoom, 0, true}, {TuningRoom, 999, true}, {TuningRoom, 1000, false},
		{ReportingRoom, 999, false}, {ReportingRoom, 1000, true}, {"room3", 5, false},
	} {
		if _, err := NewConfig(c.room, climate, c.seed); (err == nil) != c.ok {
			t.Errorf("%s with seed %d: %v", c.room, c.seed, err)
		}
	}
}

func BenchmarkSeason(b *testing.B) {
	cfg := MustConfigs(b, TuningRoom, 1)[0]
	cfg.Feeding = true
	for b.Loop() {
		Run(cfg, TwiceAWeek())
	}
}
