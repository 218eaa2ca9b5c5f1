package trial

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"underlog/internal/chores"
	"underlog/internal/engine"
	"underlog/internal/example"
	"underlog/internal/husbandry"
	"underlog/internal/roomsim"
)

// Menu is a keeper who feeds what the rota says. Watering is by habit. Take a
// new one for each year.
type Menu struct {
	*roomsim.Routine
	tool  Tool
	Bins  map[string]chores.FeedingBin // as last planned
	foods []string
}

// NewMenu returns a Menu for a household that has all foods that ship but those
// that are off the menu.
func NewMenu() *Menu {
	m := &Menu{Routine: roomsim.TwiceAWeek(), Bins: map[string]chores.FeedingBin{}}
	for _, food := range husbandry.Foods() {
		if !food.OffMenu {
			m.foods = append(m.foods, food.Slug)
		}
	}
	return m
}

// Feed implements roomsim.Feeder.
func (m *Menu) Feed(now time.Time, view roomsim.View) (servings []roomsim.Serving) {
	m.tool.read(view)
	for _, row := range m.tool.engine.Feeding(engine.FeedingOrder{Foods: m.foods}, now).Bins {
		m.Bins[row.Bin] = row
		if row.Pick == nil {
			continue
		}
		if row.Pick.Calcium != "" {
			servings = append(servings, roomsim.Serving{Bin: row.Bin, Food: row.Pick.Calcium, Pieces: 1})
		}
		if row.State == chores.FeedNow {
			servings = append(servings, roomsim.Serving{Bin: row.Bin, Food: row.Pick.Food, Pieces: row.Pick.Pieces})
		}
	}
	return servings
}

// Whim is a keeper who feeds as often, any food that comes to hand and never on
// leftovers that are known, and a calcium source on the first of January and July.
type Whim struct {
	*roomsim.Routine
	random *rand.Rand
	foods  []string
	limed  string
}

// NewWhim returns a Whim with the same foods as a Menu.
func NewWhim(seed uint64) *Whim {
	w := &Whim{Routine: roomsim.TwiceAWeek(), random: rand.New(rand.NewPCG(seed, 'w'))}
	for _, food := range husbandry.Foods() {
		if !food.OffMenu && food.Class != "mineral" {
			w.foods = append(w.foods, food.Slug)
		}
	}
	return w
}

// Feed implements roomsim.Feeder.
func (w *Whim) Feed(now time.Time, view roomsim.View) (servings []roomsim.Serving) {
	half := fmt.Sprint(now.Year(), now.Month() > 6)
	for _, bin := range view.Bins {
		if half != w.limed {
			servings = append(servings, roomsim.Serving{Bin: bin.ID, Food: "cuttlebone", Pieces: 1})
		}
		last, lies := time.Time{}, false
		for _, e := range view.Entries {
			switch {
			case e.Bin != bin.ID:
			case e.What == "feed" && e.Food != "cuttlebone":
				last, lies = e.At, true
			case e.What == "leftovers":
				lies = lies && !e.Removed && e.Left != "all gone"
			}
		}
		if !lies && now.Sub(last) > 60*time.Hour {
			servings = append(servings, roomsim.Serving{Bin: bin.ID, Food: w.foods[w.random.IntN(len(w.foods))], Pieces: 2})
		}
	}
	w.limed = half
	return servings
}

// Fed is what a year of meals came to.
type Fed struct {
	Meals, Repeats int     // and meals of the food of the meal before
	Share          float64 // of meals that were protein
	Distinct       float64 // foods per bin and 30 days
	Agreement      float64 // correlation of a bin's share with its true taste times its kind's share
	Food           roomsim.FoodScore
	BinDays        float64
}

// ExampleYear is a year of the example room: its 24 bins in a simulated room.
func ExampleYear(config roomsim.Config) roomsim.Config {
	start := time.Date(2027, 1, 1, 0, 0, 0, 0, time.FixedZone("", 3600))
	config.Start, config.Days, config.HistoryDays, config.BlankBook = start, 365, 14, false
	config.Feeding, config.SensorHours, config.Tubs = true, 24, nil
	for _, bin := range exampleBins(start) {
		var tub roomsim.Bin
		convert(bin, &tub)
		tub.Type = "bin"
		config.Tubs = append(config.Tubs, tub)
	}
	config.Bins = len(config.Tubs)
	return config
}

func exampleBins(at time.Time) (bins []husbandry.Bin) {
	for _, sheet := range example.Book(at, "metric").Sheets {
		if sheet.Sheet == "bins" {
			bin, err := husbandry.AsBin(sheet)
			if err != nil {
				panic(err)
			}
			bins = append(bins, bin)
		}
	}
	slices.SortFunc(bins, husbandry.WalkingOrder)
	return bins
}

// Feast lives through a year.
func Feast(config roomsim.Config, keeper roomsim.Keeper) Fed {
	room, err := roomsim.NewRoom(config)
	if err != nil {
		panic("trial: " + err.Error())
	}
	report := room.Run(keeper)
	fed := Fed{Food: report.Food, BinDays: float64(config.Bins * config.Days)}
	classes, appetites := map[string]string{}, map[string]float64{}
	for _, food := range husbandry.Foods() {
		classes[food.Slug] = food.Class
	}
	for _, kind := range husbandry.Kinds() {
		appetites[kind.Slug] = kind.Appetite
	}
	view := room.View(config.Start.AddDate(0, 0, config.Days))
	var shares, tastes []float64
	protein, months := 0, 0.0
	for _, bin := range view.Bins {
		before, own, ownProtein := "", 0, 0
		seen := map[int]map[string]bool{}
		for _, e := range view.Entries {
			if e.Bin != bin.ID || e.What != "feed" || classes[e.Food] == "mineral" {
				continue
			}
			same := e.Food == before
			before = e.Food
			if e.At.Before(config.Start) {
				continue
			}
			own++
			if same {
				fed.Repeats++
			}
			if classes[e.Food] == "protein" {
				ownProtein++
			}
			month := int(e.At.Sub(config.Start).Hours() / 24 / 30)
			if seen[month] == nil {
				seen[month] = map[string]bool{}
			}
			seen[month][e.Food] = true
		}
		for month, foods := range seen {
			if month < config.Days/30 {
				fed.Distinct += float64(len(foods))
				months++
			}
		}
		fed.Meals += own
		protein += ownProtein
		shares = append(shares, float64(ownProtein)/float64(max(1, own)))
		tastes = append(tastes, room.Taste(bin.ID)*(0.05+0.1*appetites[bin.Kind]))
	}
	fed.Share = float64(protein) / float64(max(1, fed.Meals))
	fed.Distinct /= max(1, months)
	fed.Agreement = correlation(shares, tastes)
	return fed
}

// Renewed is how many bins were renewed in each week of a year.
func Renewed(steps func(e *engine.Engine, bins []husbandry.Bin, monday time.Time) []string) []int {
	start := time.Date(2026, 12, 28, 0, 0, 0, 0, time.FixedZone("", 3600)) // a Monday
	bins := exampleBins(start)
	e := engine.New()
	e.Put(husbandry.Seeds(), nil)
	for _, bin := range bins {
		putBin(e, bin, husbandry.SeedStamp)
	}
	weeks := make([]int, 53)
	for week := range weeks {
		monday := start.AddDate(0, 0, 7*week)
		for n, id := range steps(e, bins, monday.Add(9*time.Hour)) {
			weeks[week]++
			e.Put(nil, []husbandry.Entry{{ID: fmt.Sprint("r", week, "-", n), Bin: id, At: monday.Add(10 * time.Hour), What: husbandry.Renew}})
		}
	}
	return weeks
}

func putBin(e *engine.Engine, bin husbandry.Bin, stamp husbandry.Stamp) {
	sheet, err := husbandry.NewSheet("bins", bin, stamp)
	if err != nil {
		panic(err)
	}
	e.Put([]husbandry.Sheet{sheet}, nil)
}

// Levelled renews what the calendar has in this week, and keeps its plan.
func Levelled(e *engine.Engine, bins []husbandry.Bin, monday time.Time) (today []string) {
	calendar, err := e.Renewals(monday, false)
	if err != nil {
		panic(err)
	}
	for _, block := range calendar.Blocks {
		if block.Nth != 0 {
			continue
		}
		if block.Week == 0 {
			today = append(today, block.Bin)
		}
		i := slices.IndexFunc(bins, func(b husbandry.Bin) bool { return b.ID == block.Bin })
		bins[i].RenewOn = calendar.Weeks[block.Week].Format(time.DateOnly)
		putBin(e, bins[i], husbandry.NextStamp(monday, "year", ""))
	}
	return today
}

// AllAtOnce renews everything on the first of January and of July.
func AllAtOnce(_ *engine.Engine, bins []husbandry.Bin, monday time.Time) (today []string) {
	for day := range 7 {
		if at := monday.AddDate(0, 0, day); at.Day() == 1 && (at.Month() == time.January || at.Month() == time.July) && at.Year() == 2027 {
			for _, bin := range bins {
				today = append(today, bin.ID)
			}
		}
	}
	return today
}

// correlation is Pearson's.
func correlation(x, y []float64) float64 {
	n := float64(len(x))
	var sx, sy, sxx, syy, sxy float64
	for i := range x {
		sx, sy = sx+x[i], sy+y[i]
		sxx, syy, sxy = sxx+x[i]*x[i], syy+y[i]*y[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / math.Sqrt((n*sxx-sx*sx)*(n*syy-sy*sy))
}
