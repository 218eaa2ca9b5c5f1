package rota

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Judgement: what is believed of a line before anybody has looked is worth so
// many looks, and a look counts half after so many days, as in package fuse.
const (
	priorLooks = 4.0
	halfLife   = 90.0
)

// A share of protein outside of these is not believed, whatever was eaten: no
// bin lives without plants, none quite without protein (common practice, no
// source).
const (
	LeastShare = 0.05
	MostShare  = 0.60
)

// A Look is what was found of a meal at its first look.
type Look struct {
	Protein  bool
	Days     float64 // ago
	Eaten    float64 // share: 1 all gone, 0 untouched
	Expected float64 // share that a usual colony would have eaten by then: see Expected
}

// An Appetite is what is believed of the share of a line's meals that should
// be protein.
//
// How fast a line eats protein, compared with a usual colony, is a factor with
// the prior Gamma(4, 4), mean 1; so is how fast it eats anything else. What
// looks found eaten is taken as Poisson around the factor times what was to be
// expected, which makes the posterior a Gamma again: observed over expected,
// drawn to 1 while there is little of either (the standardised ratio of Clayton
// and Kaldor 1987, from memory). What was offered more often is thereby not
// taken for what is liked more.
//
// Meals are then shared out as the kind's share is tilted by the ratio of both
// factors (matching: Herrnstein 1961, from memory). Of two Gammas the share of
// one in the sum is a Beta, so the belief about the share is a Beta seen through
// a rising function, and its quantiles are exact.
type Appetite struct {
	protein, other float64 // shapes of the two Gammas
	tilt           float64 // odds of protein where both factors are as likely
	Looks          float64 // that have counted, by their age
}

// KindShare is the share of protein that a kind's appetite stands for: 1 a
// little, 2 some, 3 much. The ranking of kinds is common practice, no source;
// the shares are judgement: one meal in seven, in four, in three.
func KindShare(appetite float64) float64 {
	return clamp(0.05+0.10*appetite, LeastShare, MostShare)
}

// Learn returns the appetite of a line whose kind wants this share, 0 to 1,
// after its looks. Looks whose numbers are none are passed over.
func Learn(kindShare float64, looks []Look) Appetite {
	share := clamp(kindShare, LeastShare, MostShare)
	eaten, expected := [2]float64{priorLooks, priorLooks}, [2]float64{priorLooks, priorLooks}
	a := Appetite{}
	for _, l := range looks {
		if !(l.Days >= 0) || !(l.Eaten >= 0 && l.Eaten <= 1) || !(l.Expected > 0 && l.Expected <= 1) {
			continue
		}
		i := 0
		if l.Protein {
			i = 1
		}
		weight := math.Exp2(-l.Days / halfLife)
		eaten[i] += weight * l.Eaten
		expected[i] += weight * l.Expected
		a.Looks += weight
	}
	a.other, a.protein = eaten[0], eaten[1]
	a.tilt = share / (1 - share) * expected[0] / expected[1]
	return a
}

// Share is the share to go by.
func (a Appetite) Share() float64 { return a.through(a.protein / (a.protein + a.other)) }

// Span returns the bounds between which the share lies with odds of 9 in 10.
func (a Appetite) Span() (low, high float64) {
	at := func(p float64) float64 { return a.through(mathext.InvRegIncBeta(a.protein, a.other, p)) }
	return at(0.05), at(0.95)
}

func (a Appetite) through(beta float64) float64 {
	odds := a.tilt * beta
	return clamp(odds/(odds+1-beta), LeastShare, MostShare)
}

// Expected is the share of a piece that is eaten after some hours, to be
// expected where the time until it is gone is log-normal with this median
// (hours) and sd of its log, and a piece is eaten evenly until it is gone.
func Expected(hours, median, logSD float64) float64 {
	if !(hours > 0) {
		return 0
	}
	z := math.Log(hours/median) / logSD
	still := hours / median * math.Exp(logSD*logSD/2) * normal(-z-logSD)
	return clamp(normal(z)+still, 0, 1)
}

func normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func clamp(x, low, high float64) float64 { return math.Min(math.Max(x, low), high) }
