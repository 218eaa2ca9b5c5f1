package trial

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"underlog/internal/engine"
	"underlog/internal/husbandry"
	"underlog/internal/roomsim"
	"underlog/internal/trouble"
)

// A history is what a season in a simulated room left in the notebook.
type history struct {
	bins    []husbandry.Bin
	entries []husbandry.Entry
	start   time.Time
	days    int
	isDry   func(bin string, at time.Time) bool // in truth
}

// lived keeps a room twice a week and adds what the simulator does not know:
// broods, a dead one now and then, springtails looked at. All of it is what a
// healthy room shows (judgement).
func lived(config roomsim.Config) history {
	config.Feeding, config.Bins, config.Days, config.BlankBook, config.KeepTruth = true, 12, 120, false, true
	var keeper roomsim.Keeper = roomsim.TwiceAWeek()
	room, err := roomsim.NewRoom(config)
	if err != nil {
		panic(err)
	}
	room.Run(keeper)
	end := config.Start.AddDate(0, 0, config.Days)
	view := room.View(end)
	past := history{start: config.Start, days: config.Days}
	past.isDry = func(bin string, at time.Time) bool {
		truth, _ := room.Truth(bin, at)
		return truth.Dry
	}
	for _, described := range view.Bins {
		var bin husbandry.Bin
		convert(described, &bin)
		bin.SubstrateRenewed = config.Start.AddDate(0, 0, -20).Format(time.DateOnly)
		past.bins = append(past.bins, bin)
	}
	for _, seen := range view.Entries {
		var entry husbandry.Entry
		convert(seen, &entry)
		past.entries = append(past.entries, entry)
	}
	random := rand.New(rand.NewPCG(config.Seed, 5))
	for _, bin := range past.bins {
		for d := random.IntN(30); d < config.Days; d += 25 + random.IntN(20) {
			if random.Float64() < 0.8 { // else nobody tapped it
				past.add(bin.ID, d, husbandry.Entry{What: husbandry.Young})
			}
		}
		for d := range config.Days {
			if random.Float64() < 1.0/40 {
				past.add(bin.ID, d, husbandry.Entry{What: husbandry.Seen, Seen: husbandry.SeenDead, Count: 1})
			}
			if random.Float64() < 1.0/50 {
				past.add(bin.ID, d, husbandry.Entry{What: husbandry.Seen, Seen: husbandry.SeenPlenty})
			}
		}
	}
	return past
}

func (h *history) add(bin string, day int, e husbandry.Entry) {
	e.Bin, e.At = bin, h.start.AddDate(0, 0, day).Add(19*time.Hour)
	e.ID = fmt.Sprintf("added %s %d %s", bin, len(h.entries), e.What)
	h.entries = append(h.entries, e)
}

// asked returns the days on which each rule held, by bin, from one day to
// another. With the engine it is asked as a phone would, with the gauges; else
// by the rules alone, which is quicker.
func (h history) asked(from, to, step int, byEngine bool) map[string]map[string][]int {
	held := map[string]map[string][]int{}
	note := func(bin string, day int, findings []trouble.Finding) {
		for _, f := range findings {
			if held[f.Rule] == nil {
				held[f.Rule] = map[string][]int{}
			}
			held[f.Rule][bin] = append(held[f.Rule][bin], day)
		}
	}
	e := engine.New()
	if byEngine {
		sheets := husbandry.Seeds()
		for _, bin := range h.bins {
			sheet, err := husbandry.NewSheet("bins", bin, husbandry.SeedStamp)
			if err != nil {
				panic(err)
			}
			sheets = append(sheets, sheet)
		}
		e.Put(sheets, h.entries)
	}
	kinds := husbandry.Kinds()
	for day := from; day < to; day += step {
		at := h.start.AddDate(0, 0, day).Add(21 * time.Hour)
		if byEngine {
			for _, troubled := range e.Trouble("", at) {
				note(troubled.Bin, day, troubled.Findings)
			}
			continue
		}
		of := map[string][]*husbandry.Entry{}
		for i := range h.entries {
			if entry := &h.entries[i]; !entry.At.After(at) {
				of[entry.Bin] = append(of[entry.Bin], entry)
			}
		}
		for _, list := range of {
			slices.SortStableFunc(list, func(a, b *husbandry.Entry) int { return a.At.Compare(b.At) })
		}
		for _, bin := range h.bins {
			c := trouble.Case{Bin: bin, Entries: of[bin.ID], Air: of[""], At: at}
			if i := slices.IndexFunc(kinds, func(k husbandry.Kind) bool { return k.Slug == bin.Kind }); i >= 0 {
				c.Kind = kinds[i]
			}
			note(bin.ID, day, trouble.Find(c))
		}
	}
	return held
}

// onsets returns the days on which something was told anew.
func onsets(days []int) (anew []int) {
	for i, d := range days {
		if i == 0 || d-days[i-1] > askedEvery {
			anew = append(anew, d)
		}
	}
	return anew
}

const askedEvery = 3 // days

// An injury is a trouble written into a healthy history from a day on, as a
// keeper would log it, blurred: not every sign is tapped.
type injury struct {
	rule   string
	within int     // days in which it should be seen
	least  float64 // share of bins: signs are tapped by chance, and some keepers tap few
	into   func(h *history, from int, random *rand.Rand)
}

func after(h *history, from int, change func(e *husbandry.Entry)) {
	begin := h.start.AddDate(0, 0, from)
	for i := range h.entries {
		if h.entries[i].At.After(begin) {
			change(&h.entries[i])
		}
	}
}

func everyBin(h *history, from, every int, chance float64, random *rand.Rand, e husbandry.Entry) {
	for _, bin := range h.bins {
		for d := from + random.IntN(every); d < h.days; d += every {
			if random.Float64() < chance {
				h.add(bin.ID, d, e)
			}
		}
	}
}

var injuries = []injury{
	{trouble.Uneaten, 28, 0.75, func(h *history, from int, random *rand.Rand) {
		after(h, from, func(e *husbandry.Entry) {
			if e.What == husbandry.Leftovers && random.Float64() < 0.9 {
				e.Left = "untouched"
			}
		})
	}},
	{trouble.Mouldy, 28, 0.9, func(h *history, from int, random *rand.Rand) {
		after(h, from, func(e *husbandry.Entry) {
			if e.What == husbandry.Leftovers && random.Float64() < 0.9 {
				e.Left, e.Mould, e.Removed = "some left", "furry", true
			}
		})
	}},
	{trouble.Dry, 28, 0.85, func(h *history, from int, random *rand.Rand) {
		after(h, from, func(e *husbandry.Entry) {
			if e.What == husbandry.Feel && random.Float64() < 0.8 {
				e.Feel = "dry"
			}
		})
	}},
	{trouble.Soaked, 28, 0.9, func(h *history, from int, random *rand.Rand) {
		after(h, from, func(e *husbandry.Entry) {
			if e.What == husbandry.Feel && random.Float64() < 0.9 {
				e.Feel = "soaked"
			}
		})
	}},
	{trouble.Hot, 28, 0.85, func(h *history, from int, _ *rand.Rand) {
		after(h, from, func(e *husbandry.Entry) {
			if e.TemperatureC != nil {
				warmer := *e.TemperatureC + 13 // a heater that sticks
				e.TemperatureC = &warmer
			}
		})
	}},
	{trouble.Deaths, 28, 0.9, func(h *history, from int, random *rand.Rand) {
		everyBin(h, from, 3, 0.7, random, husbandry.Entry{What: husbandry.Seen, Seen: husbandry.SeenDead, Count: 2})
	}},
	{trouble.Springtails, 28, 0.6, func(h *history, from int, random *rand.Rand) {
		after(h, from, func(e *husbandry.Entry) {
			if e.Seen == husbandry.SeenPlenty {
				e.Seen = husbandry.SeenNone
			}
		})
		everyBin(h, from, 8, 0.5, random, husbandry.Entry{What: husbandry.Seen, Seen: husbandry.SeenFew})
	}},
	{trouble.Escapes, 28, 0.8, func(h *history, from int, random *rand.Rand) {
		everyBin(h, from, 5, 0.6, random, husbandry.Entry{What: husbandry.Seen, Seen: husbandry.SeenEscaped, Count: 1})
	}},
	{trouble.Mites, 28, 0.9, func(h *history, from int, random *rand.Rand) {
		everyBin(h, from, 6, 0.6, random, husbandry.Entry{What: husbandry.Seen, Seen: husbandry.SeenMites})
	}},
	{trouble.Frass, 46, 0.8, func(h *history, from int, random *rand.Rand) {
		everyBin(h, from, 10, 0.7, random, husbandry.Entry{What: husbandry.Substrate, Substrate: "mostly frass"})
	}},
}

// dryShare is the share of the hours of the last three weeks in which a bin's
// damp side was dry in truth.
func (h history) dryShare(bin string, day int) float64 {
	dry, hours := 0, 21*24
	end := h.start.AddDate(0, 0, day).Add(21 * time.Hour)
	for i := range hours {
		if h.isDry(bin, end.Add(-time.Duration(i)*time.Hour)) {
			dry++
		}
	}
	return float64(dry) / float64(hours)
}

// How often a healthy room is told of trouble, and how soon a sick one is, on
// rooms and seeds that no threshold was set on. Two sorts of telling are no
// false alarms and are counted apart: of the air, since a room may well be
// colder than a kind likes, and of bins that were dry in truth for a tenth of
// the last three weeks, which a routine of twice a week lets happen.
func TestTroubleIsSeldomFalseAndSoonSeen(t *testing.T) {
	const from, truly = 60, 0.1
	configs := mustConfigs(t, roomsim.ReportingRoom, roomsim.FirstReportingSeed, 3)
	binYears, wrong, air, dry := 0.0, 0, 0, 0
	byRule, seenOf, binsOf := map[string]int{}, map[string]int{}, map[string]int{}
	delays := map[string][]int{}
	for _, config := range configs {
		healthy := lived(config)
		binYears += float64(len(healthy.bins)*healthy.days) / 365
		for rule, bins := range healthy.asked(1, healthy.days, askedEvery, true) {
			for bin, days := range bins {
				for _, day := range onsets(days) {
					switch {
					case rule == trouble.Cold || rule == trouble.Hot:
						air++
					case rule == trouble.Dry && healthy.dryShare(bin, day) >= truly:
						dry++
					default:
						wrong++
						byRule[rule]++
					}
				}
			}
		}
		for _, hurt := range injuries {
			sick := healthy
			sick.entries = slices.Clone(healthy.entries)
			hurt.into(&sick, from, rand.New(rand.NewPCG(config.Seed, 11)))
			held := sick.asked(from, from+hurt.within, 2, false)[hurt.rule]
			for _, bin := range sick.bins {
				if hurt.rule == trouble.Springtails && !bin.Springtails {
					continue
				}
				binsOf[hurt.rule]++
				if days := held[bin.ID]; len(days) > 0 {
					delays[hurt.rule] = append(delays[hurt.rule], days[0]-from)
					seenOf[hurt.rule]++
				}
			}
		}
	}
	rate := float64(wrong) / binYears
	var told []string
	for _, rule := range trouble.Rules() {
		if byRule[rule] > 0 {
			told = append(told, fmt.Sprintf("%s %d", rule, byRule[rule]))
		}
	}
	t.Logf("healthy: %.1f bin-years, %d false tellings, %.2f a bin and year (%s); of the air %d, of bins that were dry %d",
		binYears, wrong, rate, strings.Join(told, ", "), air, dry)
	if rate > 1 {
		t.Errorf("a healthy bin is told of trouble %.2f times a year", rate)
	}
	for _, hurt := range injuries {
		slices.Sort(delays[hurt.rule])
		median := -1
		if n := len(delays[hurt.rule]); n > 0 {
			median = delays[hurt.rule][n/2]
		}
		share := float64(seenOf[hurt.rule]) / float64(binsOf[hurt.rule])
		t.Logf("%-12s seen in %3.0f %% of %d bins within %d days, median after %d", hurt.rule, 100*share, binsOf[hurt.rule], hurt.within, median)
		if share < hurt.least {
			t.Errorf("%s is seen in %.0f %% of bins", hurt.rule, 100*share)
		}
	}
}
