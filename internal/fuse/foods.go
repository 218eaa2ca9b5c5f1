package fuse

import "strings"

// A Class groups foods that behave alike, for foods without a prior of their own.
type Class string

const (
	Fruit     Class = "fruit"
	Vegetable Class = "vegetable"
	Root      Class = "root"
	Grain     Class = "grain"
	Protein   Class = "protein"
	Staple    Class = "staple" // leaf litter, rotten wood
	Mineral   Class = "mineral"
	AnyFood   Class = "" // unknown
)

// A Wait is the prior of a time in one piece of food: its median in hours and
// the sd of its log over all rooms, bins and pieces.
type Wait struct{ Median, LogSD float64 }

// A Food is what is believed of a food before anybody has looked: at 22 °C, in
// an established damp bin without springtails.
type Food struct {
	Name  string
	Class Class
	Mould Wait // until mould can be seen; ignored when Never
	Never bool // mould does not matter: leave it in
	Eaten Wait // until nothing is left
}

// The mould medians of the named foods are judgement (no controlled data for
// food pieces in such bins were found): ordering of moderate confidence,
// absolute hours of low. Eaten medians are judgement, wider still; a bin's
// appetite moves them most.
var foods = []Food{
	{Name: "banana", Class: Fruit, Mould: Wait{36, 0.40}, Eaten: Wait{28, 0.8}},
	{Name: "soft fruit", Class: Fruit, Mould: Wait{36, 0.40}, Eaten: Wait{28, 0.8}},
	{Name: "melon", Class: Fruit, Mould: Wait{44, 0.45}, Eaten: Wait{28, 0.8}},
	{Name: "apple", Class: Fruit, Mould: Wait{60, 0.40}, Eaten: Wait{34, 0.8}},
	{Name: "orange", Class: Fruit, Mould: Wait{72, 0.50}, Eaten: Wait{48, 0.9}},
	{Name: "fish flakes", Class: Protein, Mould: Wait{36, 0.45}, Eaten: Wait{24, 0.8}},
	{Name: "yeast", Class: Protein, Mould: Wait{36, 0.50}, Eaten: Wait{24, 0.8}},
	{Name: "dried shrimp", Class: Protein, Mould: Wait{48, 0.45}, Eaten: Wait{28, 0.8}},
	{Name: "cucumber", Class: Vegetable, Mould: Wait{48, 0.40}, Eaten: Wait{28, 0.8}},
	{Name: "zucchini", Class: Vegetable, Mould: Wait{54, 0.40}, Eaten: Wait{30, 0.8}},
	{Name: "winter squash", Class: Vegetable, Mould: Wait{72, 0.45}, Eaten: Wait{34, 0.8}},
	{Name: "carrot", Class: Root, Mould: Wait{96, 0.50}, Eaten: Wait{40, 0.8}},
	{Name: "sweet potato", Class: Root, Mould: Wait{96, 0.50}, Eaten: Wait{38, 0.8}},
	{Name: "potato", Class: Root, Mould: Wait{96, 0.50}, Eaten: Wait{38, 0.8}},
	{Name: "crab shell", Class: Mineral, Mould: Wait{120, 0.60}, Eaten: Wait{400, 1.2}},
	{Name: "leaf litter", Class: Staple, Mould: Wait{168, 0.70}, Eaten: Wait{1000, 1.0}},
	{Name: "egg shell", Class: Mineral, Never: true, Eaten: Wait{2000, 1.2}},
	{Name: "cuttlebone", Class: Mineral, Never: true, Eaten: Wait{2000, 1.2}},
}

// Foods of no name here take their class's prior: the middle of the class,
// wider (judgement).
var classes = map[Class]Food{
	Fruit:     {Class: Fruit, Mould: Wait{46, 0.50}, Eaten: Wait{30, 0.85}},
	Vegetable: {Class: Vegetable, Mould: Wait{56, 0.50}, Eaten: Wait{30, 0.85}},
	Grain:     {Class: Grain, Mould: Wait{60, 0.60}, Eaten: Wait{30, 0.85}},
	Root:      {Class: Root, Mould: Wait{90, 0.55}, Eaten: Wait{38, 0.85}},
	Protein:   {Class: Protein, Mould: Wait{40, 0.50}, Eaten: Wait{26, 0.85}},
	Staple:    {Class: Staple, Mould: Wait{168, 0.70}, Eaten: Wait{1000, 1.0}},
	Mineral:   {Class: Mineral, Never: true, Eaten: Wait{2000, 1.2}},
	AnyFood:   {Class: AnyFood, Mould: Wait{54, 0.60}, Eaten: Wait{30, 0.9}},
}

// Other plain words for the same foods, or for foods that should fare like
// them (judgement).
var otherWords = map[string]string{
	"courgette": "zucchini", "marrow": "zucchini", "summer squash": "zucchini",
	"squash": "winter squash", "pumpkin": "winter squash", "butternut": "winter squash",
	"watermelon": "melon", "cantaloupe": "melon",
	"berry": "soft fruit", "strawberry": "soft fruit", "blueberry": "soft fruit",
	"raspberry": "soft fruit", "peach": "soft fruit", "plum": "soft fruit", "grape": "soft fruit",
	"mango": "soft fruit", "kiwi": "soft fruit", "fig": "soft fruit", "apricot": "soft fruit",
	"pear": "apple", "mandarin": "orange", "tangerine": "orange", "citrus": "orange",
	"fish food": "fish flakes", "fish pellet": "fish flakes", "flake": "fish flakes",
	"pellet": "fish flakes", "fish": "fish flakes",
	"shrimp": "dried shrimp", "gammarus": "dried shrimp",
	"shrimp shell": "crab shell", "crab": "crab shell",
	"eggshell": "egg shell", "cuttlefish bone": "cuttlebone", "cuttle bone": "cuttlebone",
	"leaf": "leaf litter", "leaves": "leaf litter", "litter": "leaf litter",
	"nutritional yeast": "yeast", "yam": "sweet potato",
}

// The plain kinds of mineral and staple that need no class to be told.
var plainClasses = map[string]Class{
	"limestone": Mineral, "chalk": Mineral, "oyster shell": Mineral, "calcium": Mineral, "bone": Mineral,
	"wood": Staple, "bark": Staple, "moss": Staple,
}

// FoodPrior returns the prior of a food by its plain name, in any case, with
// any further words ("Banana, a slice"); an unknown name takes the prior of
// its class, and an unknown class that of any food.
func FoodPrior(name string, class Class) Food {
	words := plainWords(name)
	if best := longestIn(words); best != "" {
		for _, food := range foods {
			if food.Name == best {
				return food
			}
		}
	}
	if class == AnyFood {
		class = plainClassOf(words)
	}
	food, known := classes[class]
	if !known {
		food = classes[AnyFood]
	}
	food.Name = words
	return food
}

// longestIn returns the food whose name or other word is the longest to occur
// as whole words, "" for none.
func longestIn(words string) string {
	best, longest := "", 0
	consider := func(phrase, food string) {
		// Of two phrases of one length the food that sorts first: a map has
		// no order of its own.
		if len(phrase) > longest || len(phrase) == longest && food < best {
			if wordIn(words, phrase) {
				best, longest = food, len(phrase)
			}
		}
	}
	for _, food := range foods {
		consider(food.Name, food.Name)
	}
	for phrase, food := range otherWords {
		consider(phrase, food)
	}
	return best
}

func plainClassOf(words string) Class {
	best := AnyFood
	for phrase, class := range plainClasses {
		if wordIn(words, phrase) && (best == AnyFood || class < best) {
			best = class
		}
	}
	return best
}

// wordIn says whether phrase, or its plural, occurs in words at word
// boundaries.
func wordIn(words, phrase string) bool {
	padded := " " + words + " "
	plurals := phrase
	if stem, isY := strings.CutSuffix(phrase, "y"); isY {
		plurals = stem + "ie"
	}
	for _, form := range [...]string{phrase, phrase + "s", phrase + "es", plurals + "s"} {
		if strings.Contains(padded, " "+form+" ") {
			return true
		}
	}
	return false
}

// plainWords lowers the case and turns everything but letters and digits into
// single spaces.
func plainWords(name string) string {
	fields := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127)
	})
	return strings.Join(fields, " ")
}
