package trial

import (
	"fmt"
	"math"
	"os"
	"runtime"
	"strconv"
	"sync"
	"testing"
	"text/tabwriter"

	"underlog/internal/away"
	"underlog/internal/roomsim"
	"underlog/internal/score"
)

// mustAbsences draws trips of a room, the seasons' seeds one after the other.
func mustAbsences(tb testing.TB, room string, first uint64, count int) []Absence {
	tb.Helper()
	absences := make([]Absence, count)
	for i, config := range mustConfigs(tb, room, first, count) {
		absences[i] = NewAbsence(config)
	}
	return absences
}

// A minded is a way to mind the bins, by name, and what it came to.
type minded struct {
	name  string
	make  func(Absence) *Minding
	fate  Fate
	calls []score.Call // the odds told before leaving, and whether harm came
}

func waysToMind() []*minded {
	return []*minded{
		{name: "left alone", make: func(a Absence) *Minding { return with(a, func(m *Minding) { m.Nobody, m.Alone = true, true }) }},
		{name: "nobody comes", make: func(a Absence) *Minding { return with(a, func(m *Minding) { m.Nobody = true }) }},
		{name: "set up, nobody comes", make: func(a Absence) *Minding {
			return with(a, func(m *Minding) { m.SetUp, m.Nobody = true, true })
		}},
		{name: "every third day, all", make: func(a Absence) *Minding { return with(a, func(m *Minding) { m.Every = 3 }) }},
		{name: "the plan", make: func(a Absence) *Minding { return with(a, func(m *Minding) { m.SetUp = true }) }},
	}
}

func with(a Absence, change func(*Minding)) *Minding {
	m := NewMinding(a)
	change(m)
	return m
}

// live lives through every absence in every way, as many at a time as there
// are processors.
func live(absences []Absence, ways []*minded) {
	type lived struct {
		fate  Fate
		calls []score.Call
	}
	all := make([][]lived, len(ways))
	var running sync.WaitGroup
	gate := make(chan struct{}, runtime.GOMAXPROCS(0))
	for w, way := range ways {
		all[w] = make([]lived, len(absences))
		for i, absence := range absences {
			gate <- struct{}{}
			running.Go(func() {
				m := way.make(absence)
				fate := absence.Live(m)
				all[w][i] = lived{fate, m.calls(fate)}
				<-gate
			})
		}
	}
	running.Wait()
	for w, way := range ways {
		for _, one := range all[w] {
			way.fate.Add(one.fate)
			way.calls = append(way.calls, one.calls...)
		}
	}
}

// calls pairs the odds of harm told before leaving with what came.
func (m *Minding) calls(fate Fate) (calls []score.Call) {
	for i, bin := range m.Told {
		odds := bin.Planned
		if m.Nobody {
			if odds = bin.Untouched; bin.Ready != nil && m.SetUp {
				odds = bin.Ready
			}
		}
		calls = append(calls, score.Call{Probability: odds[len(odds)-1], Happened: fate.ByBin[i]})
	}
	return calls
}

func printMinded(ways []*minded, trips int) {
	fmt.Printf("\nAway: %d trips of 3 to 21 days, 40 bins each; per trip but for the hours\n", trips)
	t := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tvisits\tlids\tlids before\tbins harmed\tat risk h/year\tdry h/year\tswamped h/year\t")
	for _, w := range ways {
		f, n := w.fate, float64(trips)
		year := 365.25 / f.BinDays
		fmt.Fprintf(t, "%s\t%.2f\t%.1f\t%.1f\t%.2f\t%.1f\t%.0f\t%.0f\t\n", w.name, float64(f.Visits)/n, float64(f.Lids)/n,
			float64(f.SetUpLids)/n, float64(f.Harmed)/n, f.RiskHours*year, f.DryHours*year, f.SwampedHours*year)
	}
	t.Flush()
	for _, w := range ways {
		if len(w.calls) == 0 {
			continue
		}
		expected := 0.0
		for _, c := range w.calls {
			expected += c.Probability
		}
		fmt.Printf("\nOdds told before leaving, %s: %.1f harmed expected, %d were\n", w.name, expected, w.fate.Harmed)
		for _, bin := range []struct{ from, to float64 }{{0, 0.001}, {0.001, 0.005}, {0.005, 0.02}, {0.02, 0.05}, {0.05, 0.1}, {0.1, 0.2}, {0.2, 0.4}, {0.4, 0.7}, {0.7, 1.01}} {
			n, called, happened := 0, 0.0, 0.0
			for _, c := range w.calls {
				if c.Probability >= bin.from && c.Probability < bin.to {
					n++
					called += c.Probability
					if c.Happened {
						happened++
					}
				}
			}
			if n > 0 {
				fmt.Printf("  called %6.2f %%, were %6.2f %% of %d bins\n", 100*called/float64(n), 100*happened/float64(n), n)
			}
		}
	}
}

// The small form of the benchmark below: a few trips of the reporting room.
func TestThePlanHarmsNoMoreForFewerLids(t *testing.T) {
	ways := waysToMind()[3:]
	live(mustAbsences(t, roomsim.ReportingRoom, roomsim.FirstReportingSeed, 6), ways)
	third, plan := ways[0].fate, ways[1].fate
	t.Logf("lids x %.2f, at risk %.0f and %.0f h, dry %.0f and %.0f h", float64(plan.Lids)/float64(third.Lids),
		plan.RiskHours, third.RiskHours, plan.DryHours, third.DryHours)
	if plan.Lids*2 > third.Lids {
		t.Errorf("%d lids of the %d of every third day", plan.Lids, third.Lids)
	}
	if plan.Harmed > third.Harmed+2 { // luck of a few trips
		t.Errorf("%d bins harmed, %d of every third day", plan.Harmed, third.Harmed)
	}
}

// BenchmarkAway prints what a plan is worth on 200 trips, or on as many as TRIPS
// says.
func BenchmarkAway(b *testing.B) {
	trips := 200
	if n, err := strconv.Atoi(os.Getenv("TRIPS")); err == nil {
		trips = n
	}
	for range b.N {
		ways := waysToMind()
		live(mustAbsences(b, roomsim.ReportingRoom, roomsim.FirstReportingSeed, trips), ways)
		printMinded(ways, trips)
		third, plan := ways[3].fate, ways[4].fate
		b.ReportMetric(float64(plan.Lids)/float64(third.Lids)/0.5, "lids-of-the-bar")
		b.ReportMetric(plan.RiskHours/math.Max(third.RiskHours, 1), "harm-of-every-third-day")
		b.ReportMetric(away.Tolerance, "tolerance")
	}
}

// BenchmarkAwayTuning is the same on the tuning room, for looking at as often
// as one likes.
func BenchmarkAwayTuning(b *testing.B) {
	if os.Getenv("TUNING") == "" {
		b.Skip("set TUNING to look at the tuning room")
	}
	for range b.N {
		ways := waysToMind()
		const trips = 40
		live(mustAbsences(b, roomsim.TuningRoom, 0, trips), ways)
		printMinded(ways, trips)
	}
}
