package fuse

import "math"

// A Room is what has been learnt from the looks at all pieces of a room: how
// fast foods mould, pooled over bins, and each bin's appetite. It does not
// change any more and may be used from several goroutines.
type Room struct {
	priors       Priors
	mould, eaten fuseFit
	foods        map[foodName]foodUse
	bins         map[int]int // bin -> its place among the random effects
	begun        begunReading
	afterMould   float64
	// unfinished are the pieces learnt from whose own fate is open, and what
	// was learnt from each: a forecast for one of them must not count its
	// looks twice.
	unfinished map[pieceName]lesson
	newest     float64
}

type foodName struct {
	name  string
	class Class
}

// A foodUse is a food and its column in both fuses.
type foodUse struct {
	Food
	column int // unseen when nobody has looked at it yet
}

const (
	unseen = -1
	// mostFoods have an effect of their own; later ones, of a household that
	// never feeds the same twice, go by their priors and the room.
	mostFoods = 64
)

type pieceName struct {
	bin    int
	placed float64
	food   string
}

func (p *Piece) identity() pieceName { return pieceName{p.Bin, p.PlacedHours, p.Food} }

// A lesson is what a piece taught each of the fuses.
type lesson struct{ mould, eaten Span }

// A fuseFit is the fit of one of the two fuses.
type fuseFit struct {
	effects   Effects
	posterior *Posterior
	failed    error   // why the posterior is that of the priors alone
	usual     float64 // piece-to-piece sd that Spread 1 stands for
}

// usualWait is the wait whose piece-to-piece spread counts as 1.
var (
	usualMould = Wait{54, 0.45}
	usualEaten = Wait{30, 0.8}
)

// Learn fits the room. Pieces without looks teach nothing. The order of the
// pieces does not matter beyond rounding.
func Learn(pieces []Piece, priors Priors) *Room {
	l := newLearner(pieces, priors)
	r := l.room
	r.mould.posterior = r.mould.learn(l.mouldCases, l.foodWaits(func(f Food) Wait { return f.Mould }), len(r.bins), priors.Slip)
	r.eaten.posterior = r.eaten.learn(l.eatenCases, l.foodWaits(func(f Food) Wait { return f.Eaten }), len(r.bins), priors.Slip)
	r.begun = l.learnBegun()
	r.afterMould = l.learnAfterMould()
	return r
}

// A learner gathers cases from pieces.
type learner struct {
	room                   *Room
	pieces                 []Piece
	stories                []story
	inFood                 []Food // in the order of their columns
	mouldCases, eatenCases []Case
	terms                  []Term // backing of all cases' terms
}

func newLearner(pieces []Piece, priors Priors) *learner {
	if priors.Food == nil {
		priors.Food = FoodPrior
	}
	r := &Room{
		priors:     priors,
		foods:      map[foodName]foodUse{},
		bins:       map[int]int{},
		unfinished: map[pieceName]lesson{},
		newest:     math.Inf(-1),
	}
	r.mould.effects, r.eaten.effects = priors.Mould, priors.Eaten
	_, r.mould.usual = priors.Mould.split(usualMould)
	_, r.eaten.usual = priors.Eaten.split(usualEaten)
	l := &learner{room: r, pieces: pieces, stories: make([]story, len(pieces)),
		mouldCases: make([]Case, 0, len(pieces)), eatenCases: make([]Case, 0, len(pieces)),
		terms: make([]Term, 0, 10*len(pieces))}
	for _, p := range pieces {
		if finite(p.PlacedHours) {
			r.newest = math.Max(r.newest, p.PlacedHours)
		}
	}
	for i := range pieces {
		l.add(i)
	}
	return l
}

func (l *learner) add(i int) {
	p, r := &l.pieces[i], l.room
	s := tell(p.Looks)
	l.stories[i] = s
	if !s.known {
		return
	}
	food := l.foodUse(p)
	place, known := r.bins[p.Bin]
	if !known {
		place = len(r.bins)
		r.bins[p.Bin] = place
	}
	if !s.gone && !s.taken {
		r.unfinished[p.identity()] = lesson{mould: s.mould, eaten: s.eaten}
	}
	if c, ok := l.mouldCase(p, food, place, s); ok {
		l.mouldCases = append(l.mouldCases, c)
	}
	if c, ok := l.eatenCase(p, food, place, s); ok {
		l.eatenCases = append(l.eatenCases, c)
	}
}

func tellsNothing(s Span) bool { return s.After == 0 && math.IsInf(s.By, 1) }

func (l *learner) mouldCase(p *Piece, food foodUse, place int, s story) (Case, bool) {
	if food.Never || tellsNothing(s.mould) {
		return Case{}, false
	}
	c := l.room.mouldCase(p, food, place, l.take())
	c.Span = s.mould
	l.keep(c)
	return c, true
}

func (l *learner) eatenCase(p *Piece, food foodUse, place int, s story) (Case, bool) {
	if tellsNothing(s.eaten) {
		return Case{}, false
	}
	c := l.room.eatenCase(p, food, place, l.take())
	c.Span = s.eaten
	c.Weight = l.room.recency(p)
	l.keep(c)
	return c, true
}

// take lends the free end of the backing of terms; keep takes up what was used.
func (l *learner) take() []Term { return l.terms[len(l.terms):] }

func (l *learner) keep(c Case) {
	if n := len(l.terms) + len(c.Terms); n <= cap(l.terms) {
		l.terms = l.terms[:n]
	}
}

func (l *learner) foodUse(p *Piece) foodUse {
	r := l.room
	key := foodName{p.Food, p.Class}
	if use, known := r.foods[key]; known {
		return use
	}
	food := r.food(p)
	use := foodUse{food, firstFood + len(l.inFood)}
	// Other words for the same food share its column.
	for i, other := range l.inFood {
		if other.Name == food.Name && other.Class == food.Class {
			use.column = firstFood + i
		}
	}
	if use.column == firstFood+mostFoods {
		use.column = unseen
	} else if use.column == firstFood+len(l.inFood) {
		l.inFood = append(l.inFood, food)
	}
	r.foods[key] = use
	return use
}

// food looks up a piece's food. A wait that is none (a food that never moulds
// has no time to mould) is filled in, so that every sum over foods holds.
func (r *Room) food(p *Piece) Food {
	food := r.priors.Food(p.Food, p.Class)
	if food.Never || !food.Mould.sound() {
		food.Mould = usualMould
	}
	if !food.Eaten.sound() {
		food.Eaten = usualEaten
	}
	return food
}

func (w Wait) sound() bool { return w.Median > 0 && w.LogSD > 0 && finite(w.Median, w.LogSD) }

func (l *learner) foodWaits(wait func(Food) Wait) []Wait {
	waits := make([]Wait, len(l.inFood))
	for i, food := range l.inFood {
		waits[i] = wait(food)
	}
	return waits
}

// recency is how much a look at what was eaten still counts.
func (r *Room) recency(p *Piece) float64 {
	if !(r.priors.AppetiteHalfLife > 0) || !finite(p.PlacedHours) {
		return 1
	}
	return math.Exp2((p.PlacedHours - r.newest) / r.priors.AppetiteHalfLife)
}

// mouldCase and eatenCase say what is known of a piece before any look; terms
// is scratch to append to.
func (r *Room) mouldCase(p *Piece, food foodUse, place int, terms []Term) Case {
	return r.mould.describe(p, food.Mould, food.column, place, math.Log(GenericMould.TimeFactor(p.TemperatureC)), terms)
}

func (r *Room) eatenCase(p *Piece, food foodUse, place int, terms []Term) Case {
	return r.eaten.describe(p, food.Eaten, food.column, place, math.Log(eatingTimeFactor(p.TemperatureC)), terms)
}

func (f *fuseFit) describe(p *Piece, wait Wait, column, place int, cold float64, terms []Term) Case {
	terms = append(terms, Term{roomColumn, 1})
	if p.Springtails {
		terms = append(terms, Term{springtailsColumn, 1})
	}
	if cold != 0 {
		terms = append(terms, Term{warmthColumn, cold})
	}
	if p.DrySide {
		terms = append(terms, Term{drySideColumn, 1})
	}
	if p.Cooked {
		terms = append(terms, Term{cookedColumn, 1})
	}
	if p.Pieces > 1 {
		terms = append(terms, Term{piecesColumn, math.Log(float64(p.Pieces))})
	}
	if column >= firstFood {
		terms = append(terms, Term{column, 1})
	}
	_, pieceSD := f.effects.split(wait)
	return Case{Terms: terms, Bin: place, Offset: math.Log(wait.Median), Spread: pieceSD / f.usual}
}

// learn fits one fuse, then lets the bins and the foods say how much they
// differ, and fits again (twice: the second time hardly moves).
func (f *fuseFit) learn(cases []Case, waits []Wait, bins int, slip float64) *Posterior {
	model := Model{
		Family: Lognormal, Columns: f.effects.columns(), Bins: bins, BinSD: f.effects.BinSD,
		LogScale: Gaussian{math.Log(f.usual), f.effects.ScaleSD}, Slip: slip,
	}
	for _, wait := range waits {
		foodSD, _ := f.effects.split(wait)
		model.Columns = append(model.Columns, Gaussian{0, foodSD})
	}
	fitter, err := newFitter(model, cases)
	if err == nil {
		fitter.start()
		fitter.approach()
		var posterior *Posterior
		for round := 0; ; round++ {
			if posterior, err = fitter.climb(); err != nil {
				break
			}
			if round == 2 || len(cases) == 0 {
				return posterior
			}
			fitter.freedom = posterior.freedom()
			f.respread(&fitter.model, posterior)
		}
	}
	// Proper priors make every fit possible; should rounding defeat one all
	// the same, the priors alone still forecast.
	f.failed = err
	alone, err := model.Fit(nil)
	if err != nil {
		panic("fuse: the priors are no priors: " + err.Error())
	}
	return alone
}

// respread sets the sd of bins and of foods to what the fit shows of them
// (one step of expectation-maximisation), held by the prior.
func (f *fuseFit) respread(model *Model, p *Posterior) {
	hold := f.effects.SpreadWeight
	sum := hold * f.effects.BinSD * f.effects.BinSD
	for b := range p.BinEffect {
		effect, sd := p.Bin(b)
		sum += effect*effect + sd*sd
	}
	model.BinSD = math.Sqrt(sum / (hold + float64(len(p.BinEffect))))

	sum, count := hold, hold
	for column := firstFood; column < len(model.Columns); column++ {
		effect, sd := p.Coefficient(column)
		unit := model.Columns[column].SD
		sum += (effect*effect + sd*sd) / (unit * unit)
		count++
	}
	for column := firstFood; column < len(model.Columns); column++ {
		model.Columns[column].SD *= math.Sqrt(sum / count)
	}
}
