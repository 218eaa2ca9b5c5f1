// Package example invents a household to look around in: 24 bins on two
// racks, colonies of different needs, and four months of entries that end
// yesterday evening, so that something is always due today.
//
// Everything in it is invented, from a fixed seed. It is for the demonstration
// and for benchmarks; nothing that checks a forecast may rest on it.
package example

import (
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"underlog/internal/book"
	"underlog/internal/husbandry"
)

// Days is how far back the example's entries reach.
const Days = 120

// Book invents the example household. now, in the household's time zone,
// decides which day was yesterday; units is "us" or "metric". The same day
// and zone give the same book.
func Book(now time.Time, units string) *book.Book {
	zone := now.Location()
	room := husbandry.UsualRoom()
	room.Name, room.TimeZone, room.Units, room.Example = "Attic at Harbour Row", zone.String(), units, true
	room.MealsPerWeek = 2
	w := &writer{
		random: rand.New(rand.NewPCG(19, 73)),
		book:   &book.Book{TimeZone: zone.String(), At: now},
		start:  midnight(now).AddDate(0, 0, -Days),
		end:    midnight(now),
	}
	w.sheet("rooms", room)
	for _, p := range plots {
		w.bin(p)
	}
	for day := w.start; day.Before(w.end); day = day.AddDate(0, 0, 1) {
		w.evening(day)
	}
	w.larder()
	w.calcium()
	return w.book
}

// calcium puts a calcium source into every bin now and then; one bin in six has
// gone without for too long.
func (w *writer) calcium() {
	for i, c := range w.bins {
		for _, ago := range []int{80 - i, 3 + i} {
			if i%6 == 5 {
				ago += 30
			}
			at := w.end.AddDate(0, 0, -ago).Add(20 * time.Hour)
			w.book.Entries = append(w.book.Entries, husbandry.Entry{
				ID: w.id("entry"), Bin: c.ID, At: at, What: husbandry.Feed, Food: []string{"cuttlebone", "egg shell"}[ago%2], Pieces: 1})
		}
	}
}

func midnight(t time.Time) time.Time {
	year, month, day := t.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, t.Location())
}

// A writer walks through the months day by day and writes down what the
// invented keeper does.
type writer struct {
	random     *rand.Rand
	book       *book.Book
	start, end time.Time
	bins       []*colony
	count      int
}

// A colony is the invented truth behind one bin.
type colony struct {
	husbandry.Bin
	plot
	damp     float64 // 1 freshly watered, 0 dust
	leaves   float64 // 1 plenty, 0 bare
	pace     float64 // of drying, about a share a day
	appetite float64 // of litter, a share a day
	feeding  string  // id of what lies in the bin, or empty
	fed      time.Time
	food     food
}

type food struct {
	slug        string
	goneHours   float64
	mouldyHours float64
}

var menu = []food{
	{"zucchini", 30, 60}, {"carrot", 44, 95}, {"fish flakes", 20, 40}, {"melon", 24, 44},
	{"winter squash", 36, 70}, {"dried shrimp", 26, 50}, {"apple", 32, 62}, {"sweet potato", 40, 95},
}

func (w *writer) id(sort string) string {
	w.count++
	return husbandry.RecordID("example "+sort, w.start.Format(time.DateOnly)+" "+strconv.Itoa(w.count))
}

func (w *writer) sheet(sort string, record any) {
	sheet, err := husbandry.NewSheet(sort, record, husbandry.NextStamp(w.start, "example", ""))
	if err != nil {
		panic(err) // records of ours always marshal
	}
	for name, field := range sheet.Fields {
		if string(field.Value) == `""` || string(field.Value) == "0" {
			delete(sheet.Fields, name)
		}
	}
	w.book.Sheets = append(w.book.Sheets, sheet)
}

func (w *writer) bin(p plot) {
	bin := p.vents.tub()
	bin.ID = w.id("bin")
	bin.Name, bin.Kind, bin.Line = p.name, p.kind, p.line
	bin.Rack, bin.Shelf, bin.Position = p.rack, p.shelf, p.position
	if p.position%2 == 0 {
		bin.DampEnd = "right"
	}
	bin.Springtails = p.vents != airy
	renewed := w.end.AddDate(0, 0, -8*(len(w.bins)+1)+w.random.IntN(8)) // a bin every eight days
	bin.SubstrateRenewed = renewed.Format(time.DateOnly)
	w.bins = append(w.bins, &colony{
		Bin: bin, plot: p, damp: 0.6 + 0.4*w.random.Float64(), leaves: 0.4 + 0.6*w.random.Float64(),
		pace: p.vents.pace() * math.Exp(0.3*w.random.NormFloat64()), appetite: 0.012 + 0.02*w.random.Float64(),
	})
	w.sheet("bins", bin)
}

// evening is one day of the household: rounds on three evenings a week, the
// last of them yesterday; now and then an earlier one is missed.
func (w *writer) evening(day time.Time) {
	left := int(w.end.Sub(day).Hours()/24 + 0.5) // days until the example ends
	round := left%7 == 1 || left%7 == 3 || left%7 == 6
	if left > 7 && w.random.Float64() < 0.08 {
		round = false
	}
	at := day.Add(18*time.Hour + time.Duration(20+w.random.IntN(70))*time.Minute)
	if left%3 == 1 {
		w.climate(at.Add(-time.Hour))
	}
	for _, c := range w.bins {
		season := 1 + 0.2*math.Cos(2*math.Pi*float64(day.YearDay()-20)/365)
		c.damp -= c.pace * season * (0.85 + 0.3*w.random.Float64()) * math.Min(1, c.damp/0.35)
		c.damp = math.Max(c.damp, 0.01)
		c.leaves = math.Max(0, c.leaves-c.appetite)
		lookAgain := c.feeding != "" && at.Sub(c.fed) > 18*time.Hour
		switch {
		case round:
			at = w.stop(c, at, left)
		case lookAgain:
			at = w.lookAgain(c, at)
		}
	}
}

// stop is one bin on a round; it returns when the keeper goes on.
func (w *writer) stop(c *colony, at time.Time, left int) time.Time {
	at = w.lookAgain(c, at)
	feeds := c.feeding == "" && w.feeds(c, at, left)
	thirsty := c.damp < 0.62
	inAHurry := left == 1 && c.position%4 == 3
	if !feeds && (inAHurry || !thirsty && w.random.Float64() < 0.6) {
		return at // the keeper walks by
	}
	feel := husbandry.FeelWords[w.word(c.damp, 0.16, 0.40, 1.02)]
	w.log(&at, husbandry.Entry{Bin: c.ID, What: husbandry.Feel, Feel: feel})
	if feel == "dry" || feel == "barely" {
		dose := math.Round((1-c.damp)*c.vents.dose()/7.393) * 7.393 // half US tablespoons
		dose = math.Max(dose, 7.393)
		w.log(&at, husbandry.Entry{Bin: c.ID, What: husbandry.Water, WaterML: math.Round(dose*10) / 10})
		c.damp = math.Min(1.1, c.damp+dose/c.vents.dose()*(0.9+0.2*w.random.Float64()))
	}
	if c.leaves < 0.5 {
		w.log(&at, husbandry.Entry{Bin: c.ID, What: husbandry.Leaves, Leaves: husbandry.LeavesWords[w.word(c.leaves, 0.2, 0.6)]})
		if c.leaves < 0.45 {
			w.log(&at, husbandry.Entry{Bin: c.ID, What: husbandry.AddLeaves, Handfuls: 2, Batch: w.batch(at)})
			c.leaves = math.Min(1, c.leaves+0.6)
			w.checked(c, at)
		}
	}
	if feeds {
		c.food = menu[w.random.IntN(len(menu))]
		c.feeding = w.log(&at, husbandry.Entry{Bin: c.ID, What: husbandry.Feed, Food: c.food.slug, Pieces: 1 + w.random.IntN(3)})
		c.fed = at
	}
	return at
}

// checked is the glance at rim, mesh and lid after leaves came in.
func (w *writer) checked(c *colony, at time.Time) {
	w.book.Entries = append(w.book.Entries, husbandry.Entry{ID: w.id("entry"), Bin: c.ID, At: at.Truncate(time.Second).Add(-2 * time.Second),
		What: husbandry.Escape, Rim: "clear", Mesh: "whole", Lid: "shut"})
}

// feeds says whether the keeper feeds a bin on a round: about twice a week,
// and on the last evening only every fourth bin.
func (w *writer) feeds(c *colony, at time.Time, left int) bool {
	if left == 1 {
		return c.position%4 == 1 || at.Sub(c.fed) > 4*24*time.Hour
	}
	return at.Sub(c.fed) > 40*time.Hour && w.random.Float64() < 0.9
}

// lookAgain checks what is left of the last feeding.
func (w *writer) lookAgain(c *colony, at time.Time) time.Time {
	hours := at.Sub(c.fed).Hours()
	if c.feeding == "" || hours < 12 {
		return at
	}
	gone := hours > c.food.goneHours*math.Exp(0.5*w.random.NormFloat64())
	mouldy := !gone && hours > c.food.mouldyHours*math.Exp(0.4*w.random.NormFloat64())
	look := husbandry.Entry{Bin: c.ID, What: husbandry.Leftovers, Of: c.feeding, Left: "some left", Mould: "none"}
	if gone {
		look.Left = "all gone"
	}
	if mouldy {
		look.Mould = husbandry.MouldWords[1+w.random.IntN(2)]
	}
	look.Removed = mouldy || !gone && hours > 30
	w.log(&at, look)
	if gone || look.Removed {
		c.feeding = ""
	}
	return at
}

func (w *writer) climate(at time.Time) {
	wave := math.Cos(2 * math.Pi * float64(at.YearDay()-209) / 365)
	temperature := math.Round(10*(20.6+1.4*wave+0.5*w.random.NormFloat64())) / 10
	humidity := math.Round(46 + 7*wave + 2.5*w.random.NormFloat64())
	w.log(&at, husbandry.Entry{What: husbandry.Climate, TemperatureC: &temperature, HumidityPct: &humidity})
}

// word is what a keeper's fingers make of a level: cut points, with noise.
func (w *writer) word(level float64, cuts ...float64) int {
	felt := level + 0.05*w.random.NormFloat64()
	word := 0
	for _, cut := range cuts {
		if felt > cut {
			word++
		}
	}
	return word
}

// log writes an entry at the time and moves it on by some seconds.
func (w *writer) log(at *time.Time, e husbandry.Entry) string {
	e.ID, e.At = w.id("entry"), at.Truncate(time.Second)
	w.book.Entries = append(w.book.Entries, e)
	*at = at.Add(time.Duration(8+w.random.IntN(20)) * time.Second)
	return e.ID
}
