package rota

import "math"

// The classes of food that count for themselves.
const (
	Protein = "protein"
	Mineral = "mineral" // a calcium source: no meal, and never weighed
)

// A Food is one that is at hand.
type Food struct {
	Slug       string
	Class      string
	Perishable bool
	UseBy      float64 // days from now in which it has to be used up, below 0 if that is past; NaN: no such day
	Portions   int     // that are left; below 0: enough
}

// A Meal is one that a bin had.
type Meal struct {
	Food, Class string
	Days        float64 // ago
	Left        float64 // share that was left at the last look; NaN: nobody looked
}

// A Bin is one to be fed.
type Bin struct {
	Share  float64   // of its meals that should be protein
	Past   []Meal    // the latest first
	Mouldy []float64 // odds of each food to be mouldy at its next look
	Limit  float64   // odds of mould from which a food is not given
	Hand   int       // the food that a hand has chosen; below 0: none
}

// What keeps a food from a bin.
const (
	BanLast   = "last meal"   // it was the last meal
	BanMould  = "would mould" // it would be mouldy at its next look
	BanUseBy  = "past use-by"
	BanNoMore = "none left"
)

// The parts of a weight.
type part int

const (
	partProtein part = iota
	partVariety
	partUse
	partMould
	partLeft
	parts
)

// Weights, in thousandths of a point; judgement. A meal too many or too few of
// protein counts most, then having had the same food lately.
const (
	perMealOff    = 2000.0 // by which the meals are off their share
	sameFood      = 1500.0 // the same food just now, half as much after varietyDays
	varietyDays   = 7.0
	sameClass     = 350.0 // as the last meal
	useNow        = 1300.0
	useDays       = 7.0   // before its use-by day food begins to be preferred
	perishable    = 120.0 // in favour of what does not keep
	perMouldy     = 3000.0
	leftLying     = 900.0 // all of it, last time
	leftForgotten = 60.0  // days
	perFood       = 600   // another food on the board
	unfed         = 1_000_000
)

// fade is by how much a meal counts less than the one after it, for the share
// of protein: by half after twelve. With a share of 1 in 20 it takes so many to
// see that one is missing.
var fade = math.Exp2(-1.0 / 12)

// A Weight is what speaks against a food in a bin.
type Weight struct {
	Ban   string // not empty: it is not given
	Sum   int
	parts [parts]int
}

// Weigh weighs every food for a bin.
func Weigh(foods []Food, bin *Bin) []Weight {
	meals, protein := 1.0, 0.0
	for i, meal := range bin.Past {
		counts := math.Pow(fade, float64(i+1))
		meals += counts
		if meal.Class == Protein {
			protein += counts
		}
	}
	weights := make([]Weight, len(foods))
	for i, food := range foods {
		weights[i] = weigh(food, bin, bin.Mouldy[i], meals, protein)
	}
	return weights
}

func weigh(food Food, bin *Bin, mouldy, meals, protein float64) (w Weight) {
	switch {
	case len(bin.Past) > 0 && bin.Past[0].Food == food.Slug:
		w.Ban = BanLast
	case food.UseBy < 0:
		w.Ban = BanUseBy
	case food.Portions == 0:
		w.Ban = BanNoMore
	case mouldy > bin.Limit:
		w.Ban = BanMould
	}
	if food.Class == Protein {
		protein++
	}
	var part [parts]float64
	part[partProtein] = perMealOff * math.Abs(protein-bin.Share*meals)
	if len(bin.Past) > 0 && bin.Past[0].Class == food.Class {
		part[partVariety] = sameClass
	}
	for _, meal := range bin.Past {
		if meal.Food != food.Slug {
			continue
		}
		part[partVariety] += sameFood * math.Exp2(-meal.Days/varietyDays)
		if meal.Left >= 0 && meal.Days < leftForgotten {
			part[partLeft] = leftLying * meal.Left
		}
		break // the last time it had this food
	}
	if food.UseBy < useDays {
		part[partUse] -= useNow * (useDays - math.Max(0, food.UseBy)) / useDays
	}
	if food.Perishable {
		part[partUse] -= perishable
	}
	part[partMould] = perMouldy * mouldy
	for i, x := range part {
		w.parts[i] = int(math.Round(x))
		w.Sum += w.parts[i]
	}
	return w
}

// Why a food was chosen.
const (
	WhyHand    = "by hand"
	WhyProtein = "protein"    // the bin's meals lack protein
	WhyPlants  = "plants"     // they have had enough of it
	WhyVariety = "variety"    // it has not had this food for long
	WhyUse     = "use first"  // it has to be used up
	WhyKeeps   = "keeps"      // it stays clean the longest
	WhyLiked   = "liked"      // others were left lying
	WhyBoard   = "same board" // it is cut up for other bins anyway, or another food runs short
	WhyInTurn  = "in turn"    // nothing speaks for it in particular
)

// telling is from when on a part is worth telling.
const telling = 150

// why names what speaks for the chosen food, the strongest first, two at most.
func why(foods []Food, weights []Weight, chosen int) (codes []string) {
	var others [parts]float64
	n, cheaper := 0.0, false
	for i, w := range weights {
		if i == chosen || w.Ban != "" {
			continue
		}
		n++
		cheaper = cheaper || w.Sum < weights[chosen].Sum
		for p := range others {
			others[p] += float64(w.parts[p])
		}
	}
	if cheaper {
		return []string{WhyBoard}
	}
	for n > 0 && len(codes) < 2 {
		best, most := part(-1), float64(telling)
		for p := range others {
			if by := others[p]/n - float64(weights[chosen].parts[p]); by > most {
				best, most = part(p), by
			}
		}
		if best < 0 {
			break
		}
		others[best] = math.Inf(-1)
		switch best {
		case partProtein:
			codes = append(codes, WhyPlants)
			if foods[chosen].Class == Protein {
				codes[len(codes)-1] = WhyProtein
			}
		case partVariety:
			codes = append(codes, WhyVariety)
		case partUse:
			codes = append(codes, WhyUse)
		case partMould:
			codes = append(codes, WhyKeeps)
		case partLeft:
			codes = append(codes, WhyLiked)
		}
	}
	if len(codes) == 0 {
		codes = []string{WhyInTurn}
	}
	return codes
}
