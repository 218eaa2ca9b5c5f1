package gauge

import "math"

// WordOdds is the probability of word w (0 is the lowest) at a felt level s:
// a cumulative probit with the gauge's cut points, mixed with a lapse.
// s is a share of a full store, any value; w outside the words gives 0.
func (p *Params) WordOdds(w int, s float64) float64 {
	if w < 0 || w >= p.Words {
		return 0
	}
	return p.Lapse/float64(p.Words) + (1-p.Lapse)*p.probit(w, s)
}

// probit is Phi((cut above - s)/spread) - Phi((cut below - s)/spread), taken
// from the tail that keeps its digits.
func (p *Params) probit(w int, s float64) float64 {
	lo, hi := math.Inf(-1), math.Inf(1)
	if w > 0 {
		lo = (p.Cuts[w-1] - s) / p.TouchSpread
	}
	if w < p.Words-1 {
		hi = (p.Cuts[w] - s) / p.TouchSpread
	}
	if lo > 0 {
		lo, hi = -hi, -lo
	}
	return normalCDF(hi) - normalCDF(lo)
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// Likelihoods of words are kept on a fine scale of felt levels, so that the
// grid is read without calling erfc.
const (
	touchPerCell = 4               // entries per cell of the store's grid
	touchBelow   = -2 * levelCells // lowest felt level, in cells
	touchAbove   = 3 * levelCells  // highest felt level, in cells
	touchEntries = (touchAbove-touchBelow)*touchPerCell + 1
	fineWord     = MaxWords // the censored look "seemed fine": not the lowest word
)

// likelihoods of each word at each felt level: entry i of the scale is at
// [i%touchPerCell][i/touchPerCell], so that a row of the grid reads neighbours.
type likelihoods [MaxWords + 1][touchPerCell][touchEntries/touchPerCell + 1]float64

// Tables hold what filters with the same words have in common. They must not
// be used by two goroutines at once. The zero value is ready.
type Tables struct {
	made    []table
	scratch *Filter

	latest state

	// What is asked of one state again and again is worked out once.
	ahead     *Filter // where aheadOf is at aheadAt, ready to read a word
	aheadOf   state
	aheadAt   Future
	allRows   ladder // of all kept rows of allRowsOf
	allRowsOf state
}

// A state of a filter that shares its tables; 0 is none.
type state uint64

func (f *Filter) changed() {
	f.tables.latest++
	f.state = f.tables.latest
}

type table struct {
	words  int
	cuts   [MaxWords - 1]float64
	spread float64
	lapse  float64
	like   *likelihoods
}

// Scratch is a filter for a moment's use, the same one at every call.
func (t *Tables) Scratch() *Filter {
	if t.scratch == nil {
		t.scratch = t.New()
	}
	return t.scratch
}

// of returns the likelihoods of p's words, made when they are first wanted.
func (t *Tables) of(p *Params) *likelihoods {
	for i := range t.made {
		m := &t.made[i]
		if m.words == p.Words && m.cuts == p.Cuts && m.spread == p.TouchSpread && m.lapse == p.Lapse {
			return m.like
		}
	}
	like := new(likelihoods)
	for i := range touchEntries {
		s := (float64(touchBelow) + float64(i)/touchPerCell) * cell
		fine := 0.0
		for w := range p.Words {
			odds := p.WordOdds(w, s)
			like[w][i%touchPerCell][i/touchPerCell] = odds
			if w > 0 {
				fine += odds
			}
		}
		like[fineWord][i%touchPerCell][i/touchPerCell] = fine
	}
	t.made = append(t.made, table{p.Words, p.Cuts, p.TouchSpread, p.Lapse, like})
	return like
}
