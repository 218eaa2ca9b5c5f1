package fuse

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
)

// A world is a way in which food might really fare. None of them is the
// forecaster's own model; the tests ask whether the forecasts hold up in all.
type world struct {
	name string
	// fate draws when a piece will be gone and when mouldy, hours after it was
	// placed, +Inf for never, and when it would be gone if mould put nobody off.
	fate func(random *rand.Rand, truth roomTruth, p Piece) (gone, mouldy, appetite float64)
	// begins is the share of the time to gone at which a piece stops looking
	// untouched.
	begins  func(random *rand.Rand) float64
	misread float64 // chance that a look's words are drawn at random
	growth  float64 // how much faster the animals eat after 100 days (log)
	bar     float64 // Brier score to reach, as a share of the usual frequencies'
}

// roomTruth is what a forecaster would love to know of a room.
type roomTruth struct {
	appetite []float64          // log, per bin
	mould    map[string]float64 // log shift per food
	eaten    map[string]float64 // log centre per food
	spring   float64
}

func drawTruth(random *rand.Rand, bins int) roomTruth {
	truth := roomTruth{mould: map[string]float64{}, eaten: map[string]float64{}, spring: math.Log(1.3) + 0.25*random.NormFloat64()}
	room, mould := 0.35*random.NormFloat64(), 0.15*random.NormFloat64()
	for range bins {
		truth.appetite = append(truth.appetite, room+0.5*random.NormFloat64())
	}
	for _, food := range worldFoods {
		truth.mould[food] = mould + 0.2*random.NormFloat64()
		truth.eaten[food] = math.Log(30) + 0.3*random.NormFloat64()
	}
	return truth
}

var worldFoods = []string{"banana", "melon", "cucumber", "zucchini", "apple", "carrot", "fish flakes", "dried shrimp", "sweet potato"}

func (w roomTruth) mouldCentre(p Piece, rosso bool) float64 {
	m := math.Log(FoodPrior(p.Food, AnyFood).Mould.Median) + w.mould[p.Food]
	if rosso {
		m += math.Log(GenericMould.TimeFactor(p.TemperatureC))
	} else {
		m += 0.09 * (22 - p.TemperatureC)
	}
	if p.Springtails {
		m += w.spring
	}
	return m
}

func (w roomTruth) eatenCentre(p Piece) float64 { return w.eaten[p.Food] + w.appetite[p.Bin] }

// weibull draws from a Weibull with this median and shape.
func weibull(random *rand.Rand, median, shape float64) float64 {
	return median * math.Pow(random.ExpFloat64()/math.Ln2, 1/shape)
}

func worlds() []world {
	tenth := func(*rand.Rand) float64 { return 0.1 }
	independent := func(random *rand.Rand, truth roomTruth, p Piece) (float64, float64, float64) {
		gone := math.Exp(truth.eatenCentre(p) + 0.5*random.NormFloat64())
		return gone, math.Exp(truth.mouldCentre(p, true) + 0.35*random.NormFloat64()), gone
	}
	spoils := func(random *rand.Rand, truth roomTruth, p Piece) (float64, float64, float64) {
		gone, mouldy, appetite := independent(random, truth, p)
		if mouldy < gone {
			gone = math.Inf(1)
		}
		return gone, mouldy, appetite
	}
	return []world{
		{name: "both go on", bar: 0.95, fate: independent, begins: tenth},
		{name: "mould ends eating", bar: 0.95, fate: spoils, begins: tenth},
		{name: "grazers", bar: 0.95, begins: func(random *rand.Rand) float64 { return 0.6 * random.Float64() },
			// Weibull feeding, mould as lag plus growth, half speed after mould.
			fate: func(random *rand.Rand, truth roomTruth, p Piece) (float64, float64, float64) {
				appetite := weibull(random, math.Exp(truth.eatenCentre(p)), 1.6)
				centre := math.Exp(truth.mouldCentre(p, false))
				mouldy := 0.5*centre + weibull(random, 0.5*centre, 2)
				if mouldy < appetite {
					return mouldy + 2*(appetite-mouldy), mouldy, appetite
				}
				return appetite, mouldy, appetite
			}},
		{name: "growing colonies, careless words", bar: 1.02, fate: independent, misread: 0.1, growth: 0.8,
			begins: func(random *rand.Rand) float64 { return random.Float64() }},
		{name: "whims", bar: 0.95, begins: tenth, // foods refused for good now and then
			fate: func(random *rand.Rand, truth roomTruth, p Piece) (float64, float64, float64) {
				gone, mouldy, _ := independent(random, truth, p)
				if random.Float64() < 0.15 {
					gone *= 10
				}
				return gone, mouldy, gone
			}},
	}
}

// A fed piece is one with its fate and the looks that a keeper took.
type fed struct {
	Piece
	gone, mouldy, appetite float64
}

func (f fed) state(t float64) (gone, mouldy bool) {
	gone = t >= f.gone
	return gone, !gone && t >= f.mouldy
}

// keep runs a room for days: a feeding in each bin every other or third
// evening, a look on the day after, a second one if firm food was left in.
func (w world) keep(random *rand.Rand, bins, days int) ([]fed, roomTruth) {
	truth := drawTruth(random, bins)
	var all []fed
	for bin := range bins {
		for at := 24 * float64(random.IntN(3)); at < 24*float64(days); at += 24 * float64(2+random.IntN(2)) {
			f := fed{Piece: Piece{
				Food: worldFoods[random.IntN(len(worldFoods))], Bin: bin, PlacedHours: at + 19 + random.NormFloat64(),
				TemperatureC: 20.5 + 2*math.Sin(at/300) + 0.5*random.NormFloat64(), Springtails: bin%2 == 0,
			}}
			now := truth
			now.appetite = append([]float64(nil), truth.appetite...)
			now.appetite[bin] -= w.growth * at / 2400
			f.gone, f.mouldy, f.appetite = w.fate(random, now, f.Piece)
			f.Looks = w.look(random, f)
			all = append(all, f)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].PlacedHours < all[j].PlacedHours })
	return all, truth
}

func (w world) look(random *rand.Rand, f fed) []Look {
	var looks []Look
	begins := f.appetite * w.begins(random)
	for t := 24 + 4*random.NormFloat64(); len(looks) < 3; t += 22 + 4*random.Float64() {
		t = math.Max(t, 4)
		look := Look{Hours: t, Left: SomeLeft, Mould: NoMould}
		gone, mouldy := f.state(t)
		switch {
		case gone:
			look.Left = AllGone
		case t < begins:
			look.Left = Untouched
		}
		if mouldy {
			look.Mould = Specks
		}
		if random.Float64() < w.misread {
			look.Left = []Left{AllGone, SomeLeft, Untouched}[random.IntN(3)]
			look.Mould = []Mould{NoMould, Specks}[random.IntN(2)]
		}
		look.Removed = look.Left != AllGone && (look.mouldy() || len(looks) == 2)
		looks = append(looks, look)
		if look.Left == AllGone || look.Removed {
			break
		}
	}
	return looks
}

// A tally sums Brier scores of gone and mouldy over moments.
type tally struct {
	gone, mouldy float64
	n            int
}

func (s *tally) score(o Odds, gone, mouldy bool) {
	truth := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	s.gone += (o.Gone - truth(gone)) * (o.Gone - truth(gone))
	s.mouldy += (o.Mouldy - truth(mouldy)) * (o.Mouldy - truth(mouldy))
	s.n++
}

func (s tally) sum() float64 { return (s.gone + s.mouldy) / float64(s.n) }

func (s tally) String() string {
	return fmt.Sprintf("%.4f gone + %.4f mouldy = %.4f", s.gone/float64(s.n), s.mouldy/float64(s.n), s.sum())
}

// judged are the tallies of one world.
type judged struct{ learnt, prior, usual, knowing tally }

// judge lets the forecaster follow a room and scores every forecast made at
// placing, and at every look that left the piece in, at 3-hour steps over four
// days. usual is the forecast of somebody who knows only how often, over the
// whole world, a piece is gone or mouldy so many hours after placing (and
// after the look). knowing, when given, is scored beside them.
func (w world) judge(seed uint64, rooms, bins, days int, knowing func(*rand.Rand, roomTruth, Piece) []Odds) judged {
	random := rand.New(rand.NewPCG(seed, 7))
	var out judged
	unlearnt := Learn(nil, DefaultPriors())
	type asked struct {
		f     fed
		piece Piece
		odds  []Odds
		prior []Odds
	}
	for range rooms {
		all, truth := w.keep(random, bins, days)
		var questions []asked
		for day := 5; day < days; day += 5 {
			var known []Piece
			for _, f := range all {
				seen := f.Piece
				seen.Looks = nil
				for _, l := range f.Looks {
					if f.PlacedHours+l.Hours < float64(24*day) {
						seen.Looks = append(seen.Looks, l)
					}
				}
				if len(seen.Looks) > 0 {
					known = append(known, seen)
				}
			}
			room := Learn(known, DefaultPriors())
			if room.mould.failed != nil || room.eaten.failed != nil {
				panic(fmt.Sprint("a fit failed: ", room.mould.failed, room.eaten.failed))
			}
			for _, f := range all {
				if f.PlacedHours < float64(24*day) || f.PlacedHours >= float64(24*(day+5)) {
					continue
				}
				for k := 0; k <= len(f.Looks); k++ {
					if k > 0 && (f.Looks[k-1].Left == AllGone || f.Looks[k-1].Removed) {
						break
					}
					piece := f.Piece
					piece.Looks = f.Looks[:k]
					from := 0.0
					if k > 0 {
						from = f.Looks[k-1].Hours
					}
					at := hours(from, 3, 32)
					questions = append(questions, asked{f, piece, room.Forecast(piece, at), unlearnt.Forecast(piece, at)})
				}
			}
		}
		var often [4][32]tallyOf
		for _, q := range questions {
			k := len(q.piece.Looks)
			for i, t := range momentsOf(q.piece) {
				gone, mouldy := q.f.state(t)
				often[k][i].add(gone, mouldy)
			}
		}
		for _, q := range questions {
			k := len(q.piece.Looks)
			for i, t := range momentsOf(q.piece) {
				gone, mouldy := q.f.state(t)
				out.learnt.score(q.odds[i], gone, mouldy)
				out.prior.score(q.prior[i], gone, mouldy)
				out.usual.score(often[k][i].odds(), gone, mouldy)
			}
			if knowing == nil {
				continue
			}
			for i, o := range knowing(random, truth, q.piece) {
				gone, mouldy := q.f.state(momentsOf(q.piece)[i])
				out.knowing.score(o, gone, mouldy)
			}
		}
	}
	return out
}

func momentsOf(p Piece) []float64 {
	from := 0.0
	if len(p.Looks) > 0 {
		from = p.Looks[len(p.Looks)-1].Hours
	}
	return hours(from, 3, 32)
}

type tallyOf struct{ gone, mouldy, n float64 }

func (t *tallyOf) add(gone, mouldy bool) {
	t.n++
	if gone {
		t.gone++
	}
	if mouldy {
		t.mouldy++
	}
}

func (t tallyOf) odds() Odds { return Odds{t.gone / t.n, t.mouldy / t.n} }

// In every world what was learnt beats the priors alone, and one who knows
// all frequencies of that world but not the piece, the food and the bin.
func TestForecastsHoldUpInForeignWorlds(t *testing.T) {
	for _, w := range worlds() {
		t.Run(w.name, func(t *testing.T) {
			j := w.judge(11, 3, 24, 60, nil)
			t.Log("Brier: learnt", j.learnt, "priors alone", j.prior, "usual", j.usual)
			if j.learnt.sum() > 0.95*j.prior.sum() {
				t.Errorf("learning gained too little: Brier %.4f, priors alone %.4f", j.learnt.sum(), j.prior.sum())
			}
			if j.learnt.sum() > w.bar*j.usual.sum() {
				t.Errorf("Brier %.4f, above %.2f of the usual frequencies' %.4f", j.learnt.sum(), w.bar, j.usual.sum())
			}
		})
	}
}
