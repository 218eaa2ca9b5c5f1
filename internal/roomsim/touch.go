package roomsim

import (
	"math"
	"math/rand/v2"
)

// Words of a reading, from least to most.
var (
	feelWords  = []string{"dry", "barely", "damp", "soaked"}
	leftWords  = []string{"all gone", "some left", "untouched"}
	mouldWords = []string{"none", "specks", "furry"}
)

// A person says "dry" at other contents than the next one.
type person struct {
	name  string
	share float64 // of the visits
	bias  float64 // added to what they feel
}

func people(seed uint64) []person {
	r := draw(seed, chanceOfRoom, 1, 0)
	return []person{
		{"owner", 0.8, 0.015 * r.NormFloat64()},
		{"helper", 0.2, 0.025 * r.NormFloat64()},
	}
}

func whoComes(people []person, r *rand.Rand) person {
	x := r.Float64()
	for _, p := range people {
		if x < p.share {
			return p
		}
		x -= p.share
	}
	return people[0]
}

// feel is the word that a person finds for a bin's felt content.
func feel(felt float64, p person, wrong float64, r *rand.Rand) string {
	const noise, mistakes = 0.018, 0.03
	word := wordFor(felt + p.bias + noise*r.NormFloat64())
	slip, other := r.Float64(), r.IntN(3)
	up := r.Float64() < 0.5
	switch {
	case slip < wrong: // any other word
		word = (word + 1 + other) % 4
	case slip < wrong+mistakes: // the word beside it
		if up && word < 3 || word == 0 {
			word++
		} else {
			word--
		}
	}
	return feelWords[word]
}

func wordFor(felt float64) int {
	switch {
	case felt < feltDry:
		return 0
	case felt < feltBarely:
		return 1
	case felt < feltSoaked:
		return 2
	}
	return 3
}

// poured is what goes in when a person means to give ml.
func poured(ml float64, r *rand.Rand) float64 {
	return ml * math.Max(0.3, 1+0.2*r.NormFloat64())
}
