package chores

import (
	"math"
	"slices"
	"sort"
	"time"

	"underlog/internal/fuse"
	"underlog/internal/husbandry"
)

// Rules of a look at leftovers.
const (
	dayAfterHours  = 24.0 // look again within about a day: common practice, no source
	mouldyLying    = 2.5  // a look is due when the food is expected to have lain mouldy for so many hours
	mouldyCloses   = 0.40 // and late when it is mouldy with these odds
	nextLookHours  = 96.0 // firm clean food gets its next look within four days (judgement)
	soonestHours   = 4.0  // no sooner after a look (judgement)
	mouldLeftHours = 12.0 // food seen mouldy and left in is looked at again (judgement)
	latestHours    = 48.0 // the window stays open at most this long after it is due
	horizonHours   = 14 * 24.0
)

// Of so many pieces of food a room learns, the latest of each bin: more would
// teach hardly more.
const (
	mostLearnt  = 4800 // of all bins together, but
	leastLearnt = 24   // of each bin
)

// learnFood fits what this room's looks at food have taught: how fast foods
// mould here, and each bin's appetite. What counts is what was seen before the
// day of the time asked for.
func (h *Household) learnFood(bins []*binState, before *Room) {
	if before != nil && slices.EqualFunc(bins, before.bins, func(a, b *binState) bool {
		return a == b || slices.EqualFunc(a.pieces, b.pieces, samePiece)
	}) {
		h.food = before.household.food
		return
	}
	var pieces []fuse.Piece
	most := max(leastLearnt, mostLearnt/max(1, len(bins)))
	for _, b := range bins {
		pieces = append(pieces, b.pieces[max(0, len(b.pieces)-most):]...)
	}
	h.food = fuse.Learn(pieces, fuse.DefaultPriors())
}

func samePiece(a, b fuse.Piece) bool {
	return a.Food == b.Food && a.Class == b.Class && a.Bin == b.Bin && a.PlacedHours == b.PlacedHours && a.Pieces == b.Pieces &&
		a.TemperatureC == b.TemperatureC && a.Springtails == b.Springtails && a.DrySide == b.DrySide && a.Cooked == b.Cooked &&
		slices.Equal(a.Looks, b.Looks)
}

// pieces describes the feedings of a bin that were looked at before the day of
// the time asked for, as they were known then.
func (h *Household) pieces(past *history) []fuse.Piece {
	var pieces []fuse.Piece
	for _, f := range past.feedings {
		known := *f
		for n := len(f.looks); n > 0 && !f.looks[n-1].At.Before(h.day); n-- {
			known.looks = f.looks[:n-1]
		}
		if len(known.looks) > 0 {
			pieces = append(pieces, h.piece(past, &known))
		}
	}
	return pieces
}

// pieceAnywhere is one piece of a food, put at an instant into no bin in particular.
func (h *Household) pieceAnywhere(food husbandry.Food, at time.Time, celsius float64, springtails bool) fuse.Piece {
	return fuse.Piece{
		Food: food.Slug, Class: fuse.Class(food.Class), Bin: fuse.NoBin, Pieces: 1,
		PlacedHours: h.hours(at), TemperatureC: celsius, Springtails: springtails,
	}
}

// piece describes a feeding to the fuses.
func (h *Household) piece(past *history, f *feeding) fuse.Piece {
	piece := fuse.Piece{
		Food: f.food.Slug, Class: fuse.Class(f.food.Class), Bin: past.number, Pieces: f.Pieces,
		PlacedHours:  h.hours(f.At),
		TemperatureC: h.drying.temperature(f.At.Add(12 * time.Hour)),
		Springtails:  past.bin.Springtails, DrySide: f.Side == husbandry.SideWords[1], Cooked: f.Cooked,
	}
	for _, look := range f.looks {
		piece.Looks = append(piece.Looks, fuse.Look{
			Hours: look.At.Sub(f.At).Hours(), Left: fuse.Left(look.Left), Mould: fuse.Mould(look.Mould), Removed: look.Removed,
		})
	}
	return piece
}

// leftoversChore says when to look at what is left of a feeding: the day
// after, or when mould gets likely, whichever comes first. Firm clean food
// after a look gets a next look.
func (h *Household) leftoversChore(past *history, f *feeding, at time.Time, withForecast bool) husbandry.Chore {
	piece := h.piece(past, f)
	reached := h.reached(f, &piece)
	looked, mouldSeen := 0.0, ""
	if n := len(f.looks); n > 0 {
		looked = f.looks[n-1].At.Sub(f.At).Hours()
		mouldSeen = f.looks[n-1].Mould
	}
	var due float64
	switch {
	case mouldSeen == husbandry.MouldWords[1] || mouldSeen == husbandry.MouldWords[2]:
		due = looked + mouldLeftHours
	case looked > 0:
		due = math.Max(looked+soonestHours, math.Min(reached.due, looked+nextLookHours))
	default:
		due = math.Min(dayAfterHours, reached.due)
	}
	closes := math.Min(math.Max(reached.closes, due+soonestHours), due+latestHours)
	after := func(hours float64) time.Time { return f.At.Add(time.Duration(hours * float64(time.Hour))) }
	chore := window(past.bin.ID, husbandry.ChoreLeftovers, after(math.Max(looked+1, due-8)), after(due), after(closes))
	chore.Of, chore.Food = f.ID, f.food.Slug
	odds := h.oddsOf(f, &piece, at)
	chore.Odds = odds.Mouldy
	why := husbandry.Why{Code: husbandry.WhyLies, At: f.At, Odds: odds.Mouldy, Food: f.food.Slug}
	if mouldSeen == husbandry.MouldWords[1] || mouldSeen == husbandry.MouldWords[2] {
		seen := f.looks[len(f.looks)-1].At
		why = husbandry.Why{Code: husbandry.WhyMouldLeft, At: seen, Word: mouldSeen, Food: f.food.Slug}
	}
	becauseOf(&chore, why, f.food, at)
	if withForecast {
		chore.Forecast = h.foodForecast(piece, f.At, at)
	}
	return chore
}

// ask forgets what was asked about a feeding under another belief.
func (h *Household) ask(f *feeding, piece *fuse.Piece) *asked {
	if f.asked.room != h.food || f.asked.celsius != piece.TemperatureC {
		f.asked = asked{room: h.food, celsius: piece.TemperatureC}
	}
	return &f.asked
}

// reached says, in hours after the feeding, when mould makes a look due and
// when it makes it late.
type reached struct{ due, closes float64 }

func (h *Household) reached(f *feeding, piece *fuse.Piece) reached {
	a := h.ask(f, piece)
	if a.reached == (reached{}) {
		a.reached = reached{h.mouldyFor(piece, mouldyLying), h.food.MouldyReaches(*piece, horizonHours, mouldyCloses)[0]}
	}
	return a.reached
}

// mouldyFor returns when, in hours after the feeding and within a week of the
// last look, a piece is expected to have lain mouldy for limit hours since it was
// last looked at. Where one look costs the same whatever the food, that is what
// makes each look worth as much as any other: odds alone would send for quick
// foods too often and for slow ones too late.
func (h *Household) mouldyFor(piece *fuse.Piece, limit float64) float64 {
	const step, days = 2.0, 7.0
	from := 0.0
	if n := len(piece.Looks); n > 0 {
		from = piece.Looks[n-1].Hours
	}
	hours := make([]float64, int(days*24/step))
	for i := range hours {
		hours[i] = from + step*float64(i+1)
	}
	lain, before := 0.0, 0.0
	for i, odds := range h.food.Forecast(*piece, hours) {
		more := step * (before + odds.Mouldy) / 2
		if lain+more >= limit {
			return hours[i] - step*(1-(limit-lain)/more)
		}
		lain, before = lain+more, odds.Mouldy
	}
	return hours[len(hours)-1]
}

func (h *Household) oddsOf(f *feeding, piece *fuse.Piece, at time.Time) fuse.Odds {
	a := h.ask(f, piece)
	if !a.at.Equal(at) {
		a.at, a.odds = at, h.food.Forecast(*piece, []float64{at.Sub(f.At).Hours()})[0]
	}
	return a.odds
}

// foodForecast is the odds every three hours for four days.
func (h *Household) foodForecast(piece fuse.Piece, fed, at time.Time) []husbandry.OddsPoint {
	const points, step = 33, 3
	hours := make([]float64, points)
	for i := range hours {
		hours[i] = at.Sub(fed).Hours() + float64(i*step)
	}
	forecast := make([]husbandry.OddsPoint, points)
	for i, odds := range h.food.Forecast(piece, hours) {
		forecast[i] = husbandry.OddsPoint{
			At: at.Add(time.Duration(i*step) * time.Hour), Gone: &odds.Gone, Mouldy: &odds.Mouldy,
		}
	}
	return forecast
}

// lyingNow is what the drawing shows on top of the substrate.
func (h *Household) lyingNow(past *history, at time.Time) []Lying {
	list := []Lying{}
	for _, f := range lying(past.feedings, at) {
		piece := h.piece(past, f)
		odds := h.oddsOf(f, &piece, at)
		list = append(list, Lying{
			Of: f.ID, Food: f.food.Slug, Since: f.At, Pieces: max(1, f.Pieces), Gone: odds.Gone, Mouldy: odds.Mouldy,
		})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Since.Before(list[j].Since) })
	return list
}
