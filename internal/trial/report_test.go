package trial

import (
	"fmt"
	"os"
	"runtime"
	"sync"
	"testing"
	"time"

	"underlog/internal/roomsim"
)

// Seasons of the report: of each time of the year as many, on the room and the
// seeds that no constant was tuned on.
const (
	reportSeasons = 9
	curveSeasons  = 3
	foodSeasons   = 3
)

// BenchmarkPolicy prints the report. It takes minutes and runs once.
func BenchmarkPolicy(b *testing.B) {
	for range b.N {
		b.Run("Rounds", benchmarkRounds)
		b.Run("Curve", benchmarkCurve)
		b.Run("Stress", benchmarkStress)
		b.Run("Leftovers", benchmarkLeftovers)
	}
}

// policy is a keeper by name.
type policy struct {
	name string
	make func() roomsim.Keeper
}

var (
	twiceAWeek = policy{"twice a week", func() roomsim.Keeper { return roomsim.TwiceAWeek() }}
	tool       = policy{"the tool", func() roomsim.Keeper { return NewTool() }}
	oracle     = policy{"oracle", func() roomsim.Keeper { return &roomsim.Oracle{} }}
)

func plainTool() roomsim.Keeper {
	tool := NewTool()
	tool.Plain = true
	return tool
}

func benchmarkRounds(b *testing.B) {
	configs := mustConfigs(b, roomsim.ReportingRoom, roomsim.FirstReportingSeed, reportSeasons)
	for range b.N {
		rows := seasons(configs, twiceAWeek,
			policy{"weekly", func() roomsim.Keeper { return roomsim.Weekly() }},
			tool,
			policy{"the tool, one dose", plainTool},
			oracle)
		fmt.Printf("\nRounds: %d seasons of %d days, %d bins each\n", len(configs), configs[0].Days, configs[0].Bins)
		mustPrint(b, roomsim.WriteTable(os.Stdout, rows))
		fmt.Println("\nSeason by season: dry h/year of the routine and of the tool, openings x, swamped h/year of both")
		for _, c := range configs {
			routine, own := ofSeed(rows[0].Report, c.Seed), ofSeed(rows[2].Report, c.Seed)
			fmt.Printf("%d  %4.0f %4.0f  %.2f  %3.0f %3.0f\n", c.Seed, routine.PerYear(routine.DryHours), own.PerYear(own.DryHours),
				own.Openings/routine.Openings, routine.PerYear(routine.SwampedHours), own.PerYear(own.SwampedHours))
		}
		routine, own := rows[0].Report.Total, rows[2].Report.Total
		b.ReportMetric(own.Openings/routine.Openings/0.55, "openings-of-the-bar")
		b.ReportMetric(own.DryHours/routine.DryHours/0.10, "dry-hours-of-the-bar")
		b.ReportMetric(own.PerYear(own.SwampedHours)-routine.PerYear(routine.SwampedHours), "more-swamped-h/year")
	}
}

func benchmarkCurve(b *testing.B) {
	configs := mustConfigs(b, roomsim.ReportingRoom, roomsim.FirstReportingSeed, curveSeasons)
	for range b.N {
		policies := []policy{twiceAWeek, oracle}
		for _, tolerance := range []float64{0.01, 0.02, 0.04, 0.08, 0.16, 0.32} {
			policies = append(policies, policy{fmt.Sprintf("dry by tomorrow at %.2f", tolerance), func() roomsim.Keeper {
				tool := NewTool()
				tool.Tolerance = tolerance
				return tool
			}})
		}
		fmt.Printf("\nThe curve of tolerance: %d seasons\n", len(configs))
		mustPrint(b, roomsim.WriteTable(os.Stdout, seasons(configs, policies...)))
	}
}

func benchmarkStress(b *testing.B) {
	for range b.N {
		for _, stress := range []struct {
			name   string
			stress roomsim.Stress
		}{
			{"nothing wrong", roomsim.Stress{}},
			{"vents described with half or twice their area", roomsim.Stress{WrongVents: true}},
			{"one reading in ten wrong", roomsim.Stress{WrongReadings: true}},
			{"a fortnight without entries, in mid-season", roomsim.Stress{SilentFortnight: true}},
			{"heating from a third of the season on", roomsim.Stress{HeatingSeason: true}},
		} {
			configs := mustConfigs(b, roomsim.ReportingRoom, roomsim.FirstReportingSeed, curveSeasons)
			for i := range configs {
				configs[i].Stress = stress.stress
			}
			rows := seasons(configs, twiceAWeek, tool, oracle)
			fmt.Printf("\nStress: %s; %d seasons; week by week openings/hours felt dry\n", stress.name, len(configs))
			mustPrint(b, roomsim.WriteTable(os.Stdout, rows))
			mustPrint(b, roomsim.WriteWeeks(os.Stdout, rows))
		}
	}
}

func benchmarkLeftovers(b *testing.B) {
	for range b.N {
		for _, clearOut := range []bool{false, true} {
			configs := mustConfigs(b, roomsim.ReportingRoom, roomsim.FirstReportingSeed, foodSeasons)
			for i := range configs {
				configs[i].Feeding, configs[i].ClearOut, configs[i].Bins = true, clearOut, 20
			}
			rows := seasons(configs, lookAfterADay, toolLooks)
			left := "stay"
			if clearOut {
				left = "are taken out"
			}
			fmt.Printf("\nLeftovers, clean ones %s: %d seasons, %d bins each\n", left, len(configs), configs[0].Bins)
			mustPrint(b, roomsim.WriteFoodTable(os.Stdout, rows))
		}
	}
}

var (
	lookAfterADay = policy{"after 24 h", func() roomsim.Keeper {
		return roomsim.Looks{Keeper: roomsim.TwiceAWeek(), Next: roomsim.LookAfter(24 * time.Hour)}
	}}
	toolLooks = policy{"the tool", func() roomsim.Keeper {
		return roomsim.Looks{Keeper: roomsim.TwiceAWeek(), Next: NewTool().NextLook}
	}}
)

// seasons runs each policy through each season, as many at a time as there are
// processors.
func seasons(configs []roomsim.Config, policies ...policy) []roomsim.Row {
	reports := make([][]roomsim.Report, len(policies))
	var running sync.WaitGroup
	gate := make(chan struct{}, runtime.GOMAXPROCS(0))
	for p := range policies {
		reports[p] = make([]roomsim.Report, len(configs))
		for i := range configs {
			gate <- struct{}{}
			running.Go(func() {
				reports[p][i] = roomsim.Run(configs[i], policies[p].make())
				<-gate
			})
		}
	}
	running.Wait()
	rows := make([]roomsim.Row, len(policies))
	for p := range policies {
		rows[p] = roomsim.Row{Policy: policies[p].name, Report: roomsim.Merge(reports[p]...)}
	}
	return rows
}

// ofSeed is the score of one season of a merged report.
func ofSeed(report roomsim.Report, seed uint64) roomsim.Score {
	var sum roomsim.Score
	for _, bin := range report.Bins {
		if bin.Seed == seed {
			sum.BinDays += bin.BinDays
			sum.Openings += bin.Openings
			sum.DryHours += bin.DryHours
			sum.SwampedHours += bin.SwampedHours
		}
	}
	return sum
}

func mustPrint(tb testing.TB, err error) {
	tb.Helper()
	if err != nil {
		tb.Fatal(err)
	}
}

func mustConfigs(tb testing.TB, room string, first uint64, count int) []roomsim.Config {
	tb.Helper()
	name := map[string]string{roomsim.TuningRoom: "room1", roomsim.ReportingRoom: "room2"}[room]
	file, err := os.Open("../../testdata/climate/" + name + ".csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	climate, err := roomsim.ParseClimate(file)
	if err != nil {
		tb.Fatal(err)
	}
	var configs []roomsim.Config
	for i := range count {
		config, err := roomsim.NewConfig(room, climate, first+uint64(i))
		if err != nil {
			tb.Fatal(err)
		}
		configs = append(configs, config)
	}
	return configs
}
