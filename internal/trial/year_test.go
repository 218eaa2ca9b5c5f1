package trial

import (
	"fmt"
	"math"
	"os"
	"testing"
	"text/tabwriter"

	"underlog/internal/roomsim"
)

// BenchmarkYear prints a year of the example room: its meals under the rota and
// on a whim, its renewals levelled and all at once.
func BenchmarkYear(b *testing.B) {
	const years = 3
	for range b.N {
		configs := mustConfigs(b, roomsim.ReportingRoom, roomsim.FirstReportingSeed, years)
		ways := []struct {
			name string
			make func(seed uint64) roomsim.Keeper
			sum  Fed
		}{
			{name: "on a whim", make: func(seed uint64) roomsim.Keeper { return NewWhim(seed) }},
			{name: "the rota", make: func(uint64) roomsim.Keeper { return NewMenu() }},
		}
		for i := range ways {
			for _, config := range configs {
				ways[i].sum.add(Feast(ExampleYear(config), ways[i].make(config.Seed)))
			}
		}
		fmt.Printf("\nMeals: %d years of the example room's 24 bins\n", years)
		t := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(t, "\tmeals/week\tprotein\tr with taste\tfoods/30 days\ttwice running\ton leftovers\teaten\tend mouldy\tmouldy h/meal\twithout calcium\t")
		for _, w := range ways {
			f, n := w.sum, w.sum.Food
			fmt.Fprintf(t, "%s\t%.2f\t%.1f %%\t%.2f\t%.1f\t%.1f %%\t%.1f %%\t%.0f %%\t%.1f %%\t%.2f\t%.1f %%\t\n", w.name,
				7*float64(f.Meals)/f.BinDays, 100*f.Share, f.Agreement/years, f.Distinct/years, 100*float64(f.Repeats)/float64(f.Meals),
				100*n.OnLeftovers/float64(f.Meals), 100*n.Gone/n.Feedings, 100*n.Mouldy/n.Feedings, n.MouldyHours/n.Feedings,
				100*n.LimelessHours/24/f.BinDays)
		}
		t.Flush()
		fmt.Println("\nRenewals: 53 weeks of the example room's 24 bins")
		t = tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(t, "\trenewals\tfullest week\tweeks with any\tsd of a week\t")
		for _, w := range []struct {
			name  string
			weeks []int
		}{{"first of January and July", Renewed(AllAtOnce)}, {"levelled", Renewed(Levelled)}} {
			all, most, any, sd := spread(w.weeks)
			fmt.Fprintf(t, "%s\t%d\t%d\t%d\t%.2f\t\n", w.name, all, most, any, sd)
		}
		t.Flush()
	}
}

func (f *Fed) add(o Fed) {
	f.Share = (f.Share*float64(f.Meals) + o.Share*float64(o.Meals)) / float64(f.Meals+o.Meals)
	f.Meals += o.Meals
	f.Repeats += o.Repeats
	f.Distinct += o.Distinct
	f.Agreement += o.Agreement
	f.BinDays += o.BinDays
	f.Food = roomsim.Merge(roomsim.Report{Food: f.Food}, roomsim.Report{Food: o.Food}).Food
}

func spread(weeks []int) (all, most, any int, sd float64) {
	for _, n := range weeks {
		all += n
		most = max(most, n)
		if n > 0 {
			any++
		}
	}
	mean := float64(all) / float64(len(weeks))
	for _, n := range weeks {
		sd += (float64(n) - mean) * (float64(n) - mean) / float64(len(weeks))
	}
	return all, most, any, math.Sqrt(sd)
}

// The small form of the above: 80 days.
func TestTheRotaKeepsItsRules(t *testing.T) {
	config := ExampleYear(mustConfigs(t, roomsim.ReportingRoom, roomsim.FirstReportingSeed, 1)[0])
	config.Days = 80
	whim, rota := Feast(config, NewWhim(1)), Feast(config, NewMenu())
	t.Logf("whim %+v\nrota %+v", whim, rota)
	if rota.Repeats > 0 || rota.Food.OnLeftovers > 0 {
		t.Errorf("%d meals twice running, %g on leftovers", rota.Repeats, rota.Food.OnLeftovers)
	}
	if whim.Repeats == 0 {
		t.Error("a whim never repeats itself: the test could not fail")
	}
	if rota.Distinct <= whim.Distinct {
		t.Errorf("%.1f foods in 30 days, %.1f on a whim", rota.Distinct, whim.Distinct)
	}
	if rota.Food.LimelessHours >= whim.Food.LimelessHours {
		t.Errorf("%g hours without calcium, %g on a whim", rota.Food.LimelessHours, whim.Food.LimelessHours)
	}
}

func TestRenewalsAreLevel(t *testing.T) {
	_, most, _, _ := spread(Renewed(Levelled))
	if _, all, _, _ := spread(Renewed(AllAtOnce)); most > 2 || all != 24 {
		t.Errorf("fullest week %d, all at once %d", most, all)
	}
}
