package rota

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func drawLooks(t *rapid.T) []Look {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Look {
		return Look{
			Protein: rapid.Bool().Draw(t, "protein"), Days: rapid.Float64Range(0, 400).Draw(t, "days"),
			Eaten: rapid.SampledFrom([]float64{0, 0.5, 1}).Draw(t, "eaten"), Expected: rapid.Float64Range(0.01, 1).Draw(t, "expected"),
		}
	}), 0, 40).Draw(t, "looks")
}

func TestNobodyHasLookedYetMeansTheKindsShare(t *testing.T) {
	for _, appetite := range []float64{0, 1, 1.5, 2, 3, 5} {
		a := Learn(KindShare(appetite), nil)
		low, high := a.Span()
		if math.Abs(a.Share()-KindShare(appetite)) > 1e-12 || !(low <= a.Share() && a.Share() < high) {
			t.Errorf("appetite %g: share %g, from %g to %g, want %g", appetite, a.Share(), low, high, KindShare(appetite))
		}
	}
}

// What is found eaten of protein never lowers its share, what is found eaten of
// anything else never raises it, and what is offered says nothing.
func TestShareFollowsWhatIsEaten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind, looks := KindShare(rapid.Float64Range(0, 5).Draw(t, "appetite")), drawLooks(t)
		share := Learn(kind, looks).Share()
		if !(share >= LeastShare && share <= MostShare) {
			t.Fatalf("share %g", share)
		}
		for i := range looks {
			if looks[i].Eaten == 1 {
				continue
			}
			more := append([]Look{}, looks...)
			more[i].Eaten += 0.5
			then := Learn(kind, more).Share()
			if looks[i].Protein && then < share-1e-12 || !looks[i].Protein && then > share+1e-12 {
				t.Fatalf("look %d eaten better: share %g from %g", i, then, share)
			}
		}
		usual := append([]Look{}, looks...)
		for i := range usual {
			usual[i].Eaten = usual[i].Expected
		}
		if then := Learn(kind, usual).Share(); math.Abs(then-clamp(kind, LeastShare, MostShare)) > 1e-9 {
			t.Fatalf("eaten as usual, offered %d times: share %g, want %g", len(looks), then, kind)
		}
	})
}

// The span is that of two Gammas drawn at random, and the more looks the
// narrower it is.
func TestSpanIsThatOfTheGammas(t *testing.T) {
	looks := []Look{{true, 3, 1, 0.5}, {true, 10, 1, 0.7}, {false, 5, 0.5, 0.7}, {false, 20, 0, 0.6}, {false, 1, 1, 0.4}}
	a := Learn(0.25, looks)
	eaten, expected := [2]float64{priorLooks, priorLooks}, [2]float64{priorLooks, priorLooks}
	for _, l := range looks {
		i := 0
		if l.Protein {
			i = 1
		}
		weight := math.Pow(0.5, l.Days/halfLife)
		eaten[i] += weight * l.Eaten
		expected[i] += weight * l.Expected
	}
	r := rand.New(rand.NewPCG(1, 2))
	low, high := a.Span()
	below, above, n := 0.0, 0.0, 200_000
	for range n {
		protein, other := gammaOf(r, eaten[1])/expected[1], gammaOf(r, eaten[0])/expected[0]
		share := 0.25 * protein / (0.25*protein + 0.75*other)
		if share < low {
			below++
		}
		if share > high {
			above++
		}
	}
	if below, above := below/float64(n), above/float64(n); math.Abs(below-0.05) > 0.003 || math.Abs(above-0.05) > 0.003 {
		t.Errorf("%.4f below %.3f and %.4f above %.3f, want 0.05 each", below, low, above, high)
	}
	many := Learn(0.25, append(append([]Look{}, looks...), looks...))
	if manyLow, manyHigh := many.Span(); manyHigh-manyLow >= high-low {
		t.Errorf("twice the looks: from %g to %g, before %g to %g", manyLow, manyHigh, low, high)
	}
}

// gammaOf draws from Gamma(shape, 1) (Marsaglia and Tsang 2000, from memory).
func gammaOf(r *rand.Rand, shape float64) float64 {
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := math.Pow(1+c*x, 3)
		if v > 0 && math.Log(r.Float64()) < 0.5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// A piece that is eaten evenly, its time drawn at random.
func TestExpectedIsTheMeanOfManyPieces(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, c := range []struct{ hours, median, logSD float64 }{{24, 30, 0.8}, {24, 24, 0.8}, {90, 38, 0.85}, {12, 400, 1.2}} {
		sum, n := 0.0, 200_000
		for range n {
			sum += math.Min(1, c.hours/(c.median*math.Exp(c.logSD*r.NormFloat64())))
		}
		if got := Expected(c.hours, c.median, c.logSD); math.Abs(got-sum/float64(n)) > 0.005 {
			t.Errorf("%+v: %g, drawn %g", c, got, sum/float64(n))
		}
	}
	if Expected(0, 30, 0.8) != 0 || Expected(math.NaN(), 30, 0.8) != 0 {
		t.Error("something eaten in no time")
	}
}

func TestPortions(t *testing.T) {
	for name, c := range map[string]struct {
		area float64
		past []Serving
		want int
	}{
		"a common tub":                {0.068, nil, 2},
		"a cup":                       {0.01, nil, 1},
		"a hall":                      {4, nil, MostPieces},
		"as last time":                {0.068, []Serving{{4, 0.5}}, 4},
		"thrice gone":                 {0.068, []Serving{{2, 0}, {2, 0}, {2, 0}}, 3},
		"gone, but it was less":       {0.068, []Serving{{3, 0}, {2, 0}, {2, 0}}, 3},
		"half left twice":             {0.068, []Serving{{3, 0.5}, {3, 1}}, 2},
		"never nothing":               {0.068, []Serving{{1, 1}, {1, 1}}, 1},
		"nor more than is reasonable": {0.068, []Serving{{12, 0}, {12, 0}, {12, 0}}, MostPieces},
		"a piece is one if not told":  {0.068, []Serving{{0, 0}, {0, 0}, {0, 0}}, 2},
	} {
		if got := Portion(c.area, c.past); got != c.want {
			t.Errorf("%s: %d pieces, want %d", name, got, c.want)
		}
	}
}
