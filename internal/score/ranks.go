package score

import "fmt"

// Standard setting of simulation-based calibration: 99 draws give 100 possible
// ranks, which fall evenly into 20 bins.
const (
	StandardDraws = 99
	StandardBins  = 20
	// StandardCritical is the 99 % quantile of chi-square with 19 degrees of
	// freedom (R: qchisq(0.99, 19)).
	StandardCritical = 36.1908691292701
)

// Ranks is the rank histogram of simulation-based calibration (S. Talts, M.
// Betancourt, D. Simpson, A. Vehtari, A. Gelman, arXiv 1804.06788, 2018): draw
// a truth from the prior and data from the truth, compute the posterior, draw
// from it, and note the truth's rank among the draws. If the computation is
// right the ranks are uniform; a hump means too wide a posterior, a U too
// narrow a one, a slope a bias.
type Ranks struct {
	Draws  int   // draws per simulation, so that ranks run 0-Draws
	Counts []int // how many ranks fell into each bin
}

// NewRanks makes an empty histogram. The draws+1 possible ranks must divide
// evenly into the bins, at least two of them; anything else panics.
func NewRanks(draws, bins int) *Ranks {
	if bins < 2 || draws < 1 || (draws+1)%bins != 0 {
		panic(fmt.Sprintf("score: %d ranks do not fall evenly into %d bins", draws+1, bins))
	}
	return &Ranks{Draws: draws, Counts: make([]int, bins)}
}

// NewStandardRanks is NewRanks(StandardDraws, StandardBins).
func NewStandardRanks() *Ranks { return NewRanks(StandardDraws, StandardBins) }

// Add notes where truth ranks among draws, of which there must be r.Draws.
// Posteriors on a grid tie with the truth: such ties are broken by tie, a
// uniform number in 0-1 drawn afresh for each call.
func (r *Ranks) Add(truth float64, draws []float64, tie float64) {
	if len(draws) != r.Draws {
		panic(fmt.Sprintf("score: %d draws where %d were announced", len(draws), r.Draws))
	}
	r.AddRank(Rank(truth, draws, tie))
}

// AddRank notes a rank of 0-r.Draws.
func (r *Ranks) AddRank(rank int) {
	r.Counts[rank*len(r.Counts)/(r.Draws+1)]++
}

// Rank counts the draws below truth; of those equal to it, the share tie (0-1).
func Rank(truth float64, draws []float64, tie float64) int {
	below, equal := 0, 0
	for _, d := range draws {
		switch {
		case d < truth:
			below++
		case d == truth:
			equal++
		}
	}
	return below + min(int(tie*float64(equal+1)), equal)
}

// N is the number of ranks noted.
func (r *Ranks) N() int {
	n := 0
	for _, c := range r.Counts {
		n += c
	}
	return n
}

// ChiSquare is the statistic of uniformity with len(Counts)-1 degrees of
// freedom: compare it with StandardCritical for the standard setting. It is 0
// for an empty histogram; trust it from about five expected ranks per bin on.
func (r *Ranks) ChiSquare() float64 {
	n := r.N()
	if n == 0 {
		return 0
	}
	expected := float64(n) / float64(len(r.Counts))
	sum := 0.0
	for _, c := range r.Counts {
		d := float64(c) - expected
		sum += d * d / expected
	}
	return sum
}
