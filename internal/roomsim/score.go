package roomsim

import (
	"fmt"
	"io"
	"text/tabwriter"
)

// A Score is what one bin, or many together, had to bear; sums, with the
// bin-days they were summed over. Truth counts, not what the finger found.
type Score struct {
	BinDays      float64
	Openings     float64 // lids lifted to feel; feeding and leftovers not counted
	Needless     float64 // of these, found damp or soaked and given nothing
	Waterings    float64
	WaterML      float64
	DryHours     float64
	RiskHours    float64
	SwampedHours float64
}

// Add sums scores up.
func (s *Score) Add(o Score) {
	s.BinDays += o.BinDays
	s.Openings += o.Openings
	s.Needless += o.Needless
	s.Waterings += o.Waterings
	s.WaterML += o.WaterML
	s.DryHours += o.DryHours
	s.RiskHours += o.RiskHours
	s.SwampedHours += o.SwampedHours
}

// PerWeek turns one of the counts into its mean per bin and week.
func (s Score) PerWeek(count float64) float64 { return count / s.BinDays * 7 }

// PerYear turns one of the hours into its mean per bin and year.
func (s Score) PerYear(hours float64) float64 { return hours / s.BinDays * 365.25 }

// A BinScore is the Score of one bin of one season.
type BinScore struct {
	Seed uint64
	Bin  Bin // as described
	Score
}

// A FoodScore is the fate of feedings. Those still lying when the season ends
// count as they then are, so that never looking does not hide anything. While
// clean leftovers stay, the share that ends mouldy hardly depends on when one
// looks; what does is how long it lies mouldy, how furry it gets, and how many
// looks that takes. Under Config.ClearOut the share itself depends on it.
type FoodScore struct {
	Feedings    float64
	Looks       float64
	Mouldy      float64 // truly mouldy at the last look, seen or not
	Furry       float64 // of these, truly furry
	Gone        float64 // all gone at the last look
	MouldyHours float64 // lying mouldy, found or not
	LyingHours  float64 // from feeding to last look
	OnLeftovers float64 // meals that a Feeder meant for a bin in which one lay

	LimelessHours float64 // of all bins together, without a calcium source
}

func (f *FoodScore) add(fed *feeding, mould int) {
	f.Feedings++
	f.Looks += float64(fed.looked)
	if mould > 0 {
		f.Mouldy++
	}
	if mould == 2 {
		f.Furry++
	}
	if left, _ := fed.state(); left == 0 {
		f.Gone++
	}
	f.MouldyHours += fed.mouldyHours
	f.LyingHours += fed.upTo.Sub(fed.entry.At).Hours()
}

// A Report tells how a Keeper's season, or several, went.
type Report struct {
	Seasons int
	Total   Score
	Weeks   []Score // week by week of the season, all bins together
	Bins    []BinScore
	Food    FoodScore
}

// Merge adds up the reports of several seasons.
func Merge(reports ...Report) Report {
	var all Report
	for _, r := range reports {
		all.Seasons += r.Seasons
		all.Total.Add(r.Total)
		all.Bins = append(all.Bins, r.Bins...)
		for i, week := range r.Weeks {
			if i == len(all.Weeks) {
				all.Weeks = append(all.Weeks, Score{})
			}
			all.Weeks[i].Add(week)
		}
		all.Food.Feedings += r.Food.Feedings
		all.Food.Looks += r.Food.Looks
		all.Food.Mouldy += r.Food.Mouldy
		all.Food.Furry += r.Food.Furry
		all.Food.Gone += r.Food.Gone
		all.Food.MouldyHours += r.Food.MouldyHours
		all.Food.LyingHours += r.Food.LyingHours
		all.Food.OnLeftovers += r.Food.OnLeftovers
		all.Food.LimelessHours += r.Food.LimelessHours
	}
	return all
}

// RunSeasons runs each season with a new Keeper and merges the reports.
func RunSeasons(cfgs []Config, newKeeper func() Keeper) Report {
	reports := make([]Report, len(cfgs))
	for i, cfg := range cfgs {
		reports[i] = Run(cfg, newKeeper())
	}
	return Merge(reports...)
}

// A Row is one policy in a table.
type Row struct {
	Policy string
	Report Report
}

// WriteTable writes the dampness scores of the policies, per bin, the first
// row being what the others are measured against.
func WriteTable(w io.Writer, rows []Row) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "policy\topenings/week\tneedless/week\tdry h/year\tat risk h/year\tswamped h/year\tmL/week\topenings x\tdry hours x\t")
	for _, row := range rows {
		s, base := row.Report.Total, rows[0].Report.Total
		fmt.Fprintf(t, "%s\t%.2f\t%.2f\t%.0f\t%.1f\t%.1f\t%.1f\t%.2f\t%.3f\t\n", row.Policy,
			s.PerWeek(s.Openings), s.PerWeek(s.Needless), s.PerYear(s.DryHours), s.PerYear(s.RiskHours),
			s.PerYear(s.SwampedHours), s.PerWeek(s.WaterML),
			s.PerWeek(s.Openings)/base.PerWeek(base.Openings), s.PerYear(s.DryHours)/base.PerYear(base.DryHours))
	}
	return t.Flush()
}

// WriteFoodTable writes the leftover scores of the policies.
func WriteFoodTable(w io.Writer, rows []Row) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "policy\tfeedings\tlooks/feeding\tmouldy %\tfurry %\tgone %\tmouldy h/feeding\tlying h/feeding\t")
	for _, row := range rows {
		f := row.Report.Food
		fmt.Fprintf(t, "%s\t%.0f\t%.2f\t%.1f\t%.1f\t%.1f\t%.2f\t%.1f\t\n", row.Policy, f.Feedings, f.Looks/f.Feedings,
			100*f.Mouldy/f.Feedings, 100*f.Furry/f.Feedings, 100*f.Gone/f.Feedings, f.MouldyHours/f.Feedings, f.LyingHours/f.Feedings)
	}
	return t.Flush()
}

// WriteWeeks writes how each policy fared week by week, per bin: openings in
// the week and, after the stroke, hours felt dry in it. A week in which nothing
// was scored shows a dash.
func WriteWeeks(w io.Writer, rows []Row) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "policy\t")
	for week := range rows[0].Report.Weeks {
		fmt.Fprintf(t, "%d\t", week+1)
	}
	for _, row := range rows {
		fmt.Fprintf(t, "\n%s\t", row.Policy)
		for _, s := range row.Report.Weeks {
			if s.BinDays == 0 {
				fmt.Fprint(t, "-\t")
				continue
			}
			fmt.Fprintf(t, "%.1f/%.0f\t", s.PerWeek(s.Openings), s.PerWeek(s.DryHours))
		}
	}
	fmt.Fprintln(t)
	return t.Flush()
}
