package husbandry

// A Food is something that is fed.
type Food struct {
	ID      string `json:"id"`
	Slug    string `json:"slug"` // what a feeding entry names
	Name    string `json:"name"`
	Class   string `json:"class"`
	Stays   bool   `json:"stays"` // left in for good: minerals, staples
	Caution string `json:"caution,omitempty"`
	Deleted bool   `json:"deleted,omitempty"`
}

// FoodClasses are the classes that mould at about the same pace.
var FoodClasses = []string{"fruit", "vegetable", "root", "protein", "mineral", "staple"}

var foodFields = []Field{
	{Name: "slug", Type: Text, Max: 80, Required: true},
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "class", Type: Word, Words: FoodClasses, Required: true},
	{Name: "stays", Type: Truth},
	{Name: "caution", Type: Text, Max: 500},
}

// Foods returns the foods that ship with the tool. Which food belongs to
// which class, and the cautions, are common practice, no source.
func Foods() []Food {
	const shellfish = "Crustacean and fish allergens: wear gloves if you are allergic to shellfish."
	rows := []Food{
		{Slug: "apple", Name: "Apple", Class: "fruit"},
		{Slug: "banana", Name: "Banana", Class: "fruit"},
		{Slug: "melon", Name: "Melon", Class: "fruit"},
		{Slug: "orange", Name: "Orange", Class: "fruit", Caution: "Citrus: a little, and only unsprayed."},
		{Slug: "cucumber", Name: "Cucumber", Class: "vegetable"},
		{Slug: "zucchini", Name: "Zucchini", Class: "vegetable"},
		{Slug: "winter squash", Name: "Winter squash", Class: "vegetable"},
		{Slug: "mushroom", Name: "Mushroom", Class: "vegetable"},
		{Slug: "carrot", Name: "Carrot", Class: "root"},
		{Slug: "potato", Name: "Potato", Class: "root"},
		{Slug: "sweet potato", Name: "Sweet potato", Class: "root"},
		{Slug: "fish flakes", Name: "Fish flakes", Class: "protein", Caution: shellfish},
		{Slug: "dried shrimp", Name: "Dried shrimp", Class: "protein", Caution: shellfish},
		{Slug: "yeast", Name: "Yeast", Class: "protein"},
		{Slug: "crab shell", Name: "Crab shell", Class: "mineral", Caution: shellfish},
		{Slug: "cuttlebone", Name: "Cuttlebone", Class: "mineral", Stays: true},
		{Slug: "egg shell", Name: "Egg shell", Class: "mineral", Stays: true},
	}
	for i := range rows {
		rows[i].ID = RecordID("foods", rows[i].Slug)
	}
	return rows
}

// AsFood types a sheet of the sort "foods".
func AsFood(s Sheet) (Food, error) {
	var food Food
	return food, retype(s, &food)
}
