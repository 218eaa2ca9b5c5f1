package husbandry

// A Food is something that is fed.
type Food struct {
	ID      string `json:"id"`
	Slug    string `json:"slug"` // what a feeding entry names
	Name    string `json:"name"`
	Class   string `json:"class"`
	Stays   bool   `json:"stays"` // left in for good: minerals, staples
	Caution string `json:"caution,omitempty"`

	Perishable bool    `json:"perishable,omitempty"` // does not keep in the kitchen: used first
	Serving    string  `json:"serving,omitempty"`    // what one is: empty is a piece
	ServingG   float64 `json:"serving_g,omitempty"`  // what one weighs; 0 is not known
	OffMenu    bool    `json:"off_menu,omitempty"`   // the rota never names it

	Deleted bool `json:"deleted,omitempty"`
}

// FoodClasses are the classes that mould at about the same pace. A mineral is a
// calcium source; neither it nor a staple is a meal.
var FoodClasses = []string{"fruit", "vegetable", "root", "grain", "protein", "mineral", "staple"}

// ServingWords are what one piece of a food is.
var ServingWords = []string{"piece", "pinch", "spoon"}

var foodFields = []Field{
	{Name: "slug", Type: Text, Max: 80, Required: true},
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "class", Type: Word, Words: FoodClasses, Required: true},
	{Name: "stays", Type: Truth},
	{Name: "caution", Type: Text, Max: 500},
	{Name: "perishable", Type: Truth},
	{Name: "serving", Type: Word, Words: ServingWords},
	{Name: "serving_g", Type: Number, Min: 0, Max: 200, Unit: "g"},
	{Name: "off_menu", Type: Truth},
}

// unknownServingG is what one serving weighs where nobody says (judgement,
// wide): a slice of carrot, a few flakes.
const unknownServingG = 2.0

// WeightG is what one serving weighs, g.
func (f Food) WeightG() float64 {
	if f.ServingG > 0 {
		return f.ServingG
	}
	return unknownServingG
}

// Foods returns the foods that ship with the tool. Which food belongs to
// which class, what does not keep, what one serving weighs, and the cautions are
// common practice, no source.
func Foods() []Food {
	const (
		shellfish = "Crustacean and fish allergens: wear gloves if you are allergic to shellfish."
		unsprayed = "Unsprayed, or peeled: what kills insects kills these animals too."
		fresh     = true
	)
	rows := []Food{
		{Slug: "apple", Name: "Apple", Class: "fruit", Perishable: fresh, ServingG: 3, Caution: unsprayed},
		{Slug: "banana", Name: "Banana", Class: "fruit", Perishable: fresh, ServingG: 4},
		{Slug: "melon", Name: "Melon", Class: "fruit", Perishable: fresh, ServingG: 4},
		{Slug: "orange", Name: "Orange", Class: "fruit", Perishable: fresh, ServingG: 3, OffMenu: true, Caution: "Citrus: a little, and only unsprayed."},
		{Slug: "cucumber", Name: "Cucumber", Class: "vegetable", Perishable: fresh, ServingG: 4, Caution: unsprayed},
		{Slug: "zucchini", Name: "Zucchini", Class: "vegetable", Perishable: fresh, ServingG: 4, Caution: unsprayed},
		{Slug: "winter squash", Name: "Winter squash", Class: "vegetable", Perishable: fresh, ServingG: 4},
		{Slug: "mushroom", Name: "Mushroom", Class: "vegetable", Perishable: fresh, ServingG: 2},
		{Slug: "carrot", Name: "Carrot", Class: "root", ServingG: 3, Caution: unsprayed},
		{Slug: "potato", Name: "Potato", Class: "root", ServingG: 3},
		{Slug: "sweet potato", Name: "Sweet potato", Class: "root", ServingG: 3},
		{Slug: "oat flakes", Name: "Oat flakes", Class: "grain", Serving: "pinch", ServingG: 0.3, Caution: "Plain ones: nothing salted, sweetened or oiled."},
		{Slug: "fish flakes", Name: "Fish flakes", Class: "protein", Serving: "pinch", ServingG: 0.2, Caution: shellfish},
		{Slug: "dried shrimp", Name: "Dried shrimp", Class: "protein", ServingG: 0.2, Caution: shellfish},
		{Slug: "yeast", Name: "Yeast", Class: "protein", Serving: "pinch", ServingG: 0.2},
		{Slug: "crab shell", Name: "Crab shell", Class: "mineral", ServingG: 2, Caution: shellfish},
		{Slug: "cuttlebone", Name: "Cuttlebone", Class: "mineral", ServingG: 3, Stays: true},
		{Slug: "egg shell", Name: "Egg shell", Class: "mineral", ServingG: 1, Stays: true, Caution: "Baked or boiled first, and crushed."},
	}
	for i := range rows {
		rows[i].ID = RecordID("foods", rows[i].Slug)
	}
	return rows
}

var shippedFoods = func() map[string]Food {
	shipped := map[string]Food{}
	for _, food := range Foods() {
		shipped[food.ID] = food
	}
	return shipped
}()

// AsFood types a sheet of the sort "foods". A field that a food which ships with
// the tool lacks is as it ships: the sheet is from before there was the field.
func AsFood(s Sheet) (Food, error) {
	food := shippedFoods[s.ID]
	return food, retype(s, &food)
}
