package score

import "math"

// A Call is a probability that was stated beforehand, and what came of it.
type Call struct {
	Probability float64 // 0-1
	Happened    bool
}

// A ReliabilityBin gathers the calls whose probability lies in From-To.
type ReliabilityBin struct {
	From, To      float64
	N             int
	MeanCalled    float64 // mean probability called; 0 if N is 0
	ObservedShare float64 // share that happened; 0 if N is 0
}

// Reliability sorts calls into bins of equal width over 0-1: "of the bins
// called 80 % dry, 78 % were". A bin includes its lower edge, the last one
// also 1. Calls that are not probabilities are left out. All bins are
// returned, empty ones too; bins below 1 panics.
func Reliability(calls []Call, bins int) []ReliabilityBin {
	if bins < 1 {
		panic("score: Reliability needs at least one bin")
	}
	table := make([]ReliabilityBin, bins)
	for i := range table {
		table[i].From = float64(i) / float64(bins)
		table[i].To = float64(i+1) / float64(bins)
	}
	for _, c := range calls {
		if !isProbability(c.Probability) {
			continue
		}
		b := &table[binOf(c.Probability, table)]
		b.N++
		b.MeanCalled += c.Probability
		if c.Happened {
			b.ObservedShare++
		}
	}
	for i := range table {
		if n := float64(table[i].N); n > 0 {
			table[i].MeanCalled /= n
			table[i].ObservedShare /= n
		}
	}
	return table
}

// binOf corrects the product by the printed edges, so that 0.3 of ten bins
// lands in 0.3-0.4 whatever its last bit.
func binOf(p float64, table []ReliabilityBin) int {
	last := len(table) - 1
	i := min(int(p*float64(len(table))), last)
	for i < last && p >= table[i].To {
		i++
	}
	for i > 0 && p < table[i].From {
		i--
	}
	return i
}

// A Band is a forecast's interval and the outcome that followed, known only
// to lie in SeenFrom-SeenTo (both the same if it was seen exactly; SeenTo may
// be +Inf if it has not come yet).
type Band struct {
	Lower, Upper     float64
	SeenFrom, SeenTo float64
}

// A Covered says how many of N outcomes lay within their bands: surely, or
// possibly because the outcome's bracket only overlaps the band. Shares are 0-1
// (NaN if N is 0); the true coverage lies between the two.
type Covered struct {
	N                int
	Surely, Possibly float64
}

// Coverage counts bands that held their outcome.
func Coverage(bands []Band) Covered {
	surely, possibly := 0, 0
	for _, b := range bands {
		if b.SeenFrom >= b.Lower && b.SeenTo <= b.Upper {
			surely++
		}
		if b.SeenTo >= b.Lower && b.SeenFrom <= b.Upper {
			possibly++
		}
	}
	n := float64(len(bands))
	if n == 0 {
		return Covered{Surely: math.NaN(), Possibly: math.NaN()}
	}
	return Covered{N: len(bands), Surely: float64(surely) / n, Possibly: float64(possibly) / n}
}
