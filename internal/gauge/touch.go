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

// Touch tables hold the likelihood of every word on a fine scale of felt levels, so that the grid is read without calling erfc.
const (
	touchPerCell = 4               // entries per cell of the store's grid
	touchBelow   = -2 * levelCells // lowest felt level, in cells
	touchAbove   = 3 * levelCells  // highest felt level, in cells
	touchEntries = (touchAbove-touchBelow)*touchPerCell + 1
	fineWord     = MaxWords // the censored look "seemed fine": not the lowest word
)

type touchTables struct {
	words  int
	cuts   [MaxWords - 1]float64
	spread float64
	lapse  float64
	like   [MaxWords + 1][touchEntries]float64
}

// fit fills the tables for p unless they already hold them.
func (t *touchTables) fit(p *Params) {
	if t.words == p.Words && t.cuts == p.Cuts && t.spread == p.TouchSpread && t.lapse == p.Lapse {
		return
	}
	t.words, t.cuts, t.spread, t.lapse = p.Words, p.Cuts, p.TouchSpread, p.Lapse
	for i := range touchEntries {
		s := (float64(touchBelow) + float64(i)/touchPerCell) * cell
		fine := 0.0
		for w := range p.Words {
			odds := p.WordOdds(w, s)
			t.like[w][i] = odds
			if w > 0 {
				fine += odds
			}
		}
		t.like[fineWord][i] = fine
	}
}
