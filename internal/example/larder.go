package example

import (
	"time"

	"underlog/internal/husbandry"
)

// secondBatch is how many days before the end the keeper began the second
// batch of leaves.
const secondBatch = 50

const (
	firstSlug  = "beech from the mill lane"
	secondSlug = "oak and hornbeam, quarry path"
)

// batch is the batch of leaves in use at an instant.
func (w *writer) batch(at time.Time) string {
	if at.Before(w.end.AddDate(0, 0, -secondBatch)) {
		return firstSlug
	}
	return secondSlug
}

// larder puts down what the invented keeper keeps: leaves in use, leaves that
// were not heated yet, a mix, food of which some wants using, supplies.
func (w *writer) larder() {
	day := func(from int) string { return w.end.AddDate(0, 0, from).Format(time.DateOnly) }
	for _, b := range []husbandry.Batch{
		{Slug: firstSlug, Name: "Leaves 10, beech", Tree: "Beech", Place: "Mill lane", Gathered: day(-190), Sprayed: "no", HeatedC: 93.33, HeatedMinutes: 30,
			Amount: 50, Unit: "handfuls", Finished: day(-secondBatch)},
		{Slug: secondSlug, Name: "Leaves 11, oak and hornbeam", Tree: "Oak, hornbeam", Place: "Quarry path", Gathered: day(-secondBatch - 6), Sprayed: "no",
			HeatedC: 93.33, HeatedMinutes: 30, Amount: 150, Unit: "handfuls", Note: "A second tray went in for ten minutes more, it was still damp."},
		{Slug: "leaves 12", Name: "Leaves 12, maple", Tree: "Maple", Place: "Churchyard", Gathered: day(-3), Sprayed: "unknown", Amount: 20, Unit: "litres"},
	} {
		b.ID = w.id("batch")
		w.sheet("batches", b)
	}
	w.sheet("mixes", husbandry.Mix{ID: w.id("mix"), Slug: "house mix", Name: "House mix", Mixed: day(-40), Litres: 40, Parts: []husbandry.Part{
		{Ingredient: "Flake soil", Share: 4}, {Ingredient: "Rotten white wood", Share: 2},
		{Ingredient: "Leaves, crushed", Share: 2, Batch: firstSlug}, {Ingredient: "Crushed limestone", Share: 0.25},
	}})
	for _, s := range []husbandry.Stock{
		{Food: "carrot", Amount: 40, Unit: "pieces", Kept: "fridge", Got: day(-10), UseBy: day(9)},
		{Food: "melon", Amount: 12, Unit: "pieces", Kept: "fridge", Got: day(-2), UseBy: day(1)},
		{Food: "fish flakes", Amount: 500, Unit: "grams", Kept: "shelf", Got: day(-Days), UseBy: day(240)},
	} {
		s.ID = w.id("stock")
		w.sheet("stock", s)
	}
	supplies := map[string]string{}
	for _, s := range []husbandry.Supply{
		{Name: "Springtail culture", Class: "springtails", Amount: 4, Unit: "cultures", LastsDays: 120, Got: day(-70)},
		{Name: "Cuttlebone", Class: "calcium", Amount: 6, Unit: "pieces", LastsDays: 180, Got: day(-100)},
		{Name: "Spare bins", Class: "bins", Amount: 5, Unit: "pieces", Got: day(-Days)},
	} {
		s.ID = w.id("supply")
		supplies[s.Name] = s.ID
		w.sheet("supplies", s)
	}
	at := w.end.AddDate(0, 0, -9).Add(19 * time.Hour)
	w.log(&at, husbandry.Entry{What: husbandry.Larder, Item: supplies["Cuttlebone"], Found: "low", Note: "Cuttlebone"})
	w.log(&at, husbandry.Entry{What: husbandry.Larder, Item: supplies["Springtail culture"], Bin: w.bins[2].ID, Used: 1, Note: "Springtail culture"})
}
