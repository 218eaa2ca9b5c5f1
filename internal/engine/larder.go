package engine

import (
	"slices"
	"time"

	"underlog/internal/husbandry"
	"underlog/internal/larder"
)

// A Larder is what the household keeps for its bins.
type Larder = larder.Larder

// Larder works out what is left of leaves, mixes, food and supplies at an
// instant, and when each runs out at the room's pace. Days are of the time's
// zone. Entries count however old they are.
func (e *Engine) Larder(at time.Time) Larder {
	e.settle(at)
	return larder.Of(larder.Records{
		Batches: typed(e.records.sheetsOf("batches"), husbandry.AsBatch), Mixes: typed(e.records.sheetsOf("mixes"), husbandry.AsMix),
		Stock: typed(e.records.sheetsOf("stock"), husbandry.AsStock), Supplies: typed(e.records.sheetsOf("supplies"), husbandry.AsSupply),
		Bins: e.shared.bins, Foods: e.shared.settings.Foods, Entries: e.records.ofLarder(at),
		LeavesPerDay: e.room.LeavesPerDay(), SubstratePerDay: e.room.SubstratePerDay(),
	}, at)
}

// piecesLeft is how many pieces are in stock of each food of which the larder
// knows that.
func (e *Engine) piecesLeft(at time.Time) map[string]float64 {
	units, foods := map[string]string{}, map[string]string{}
	for _, stock := range e.shared.settings.Stock {
		units[stock.ID], foods[stock.ID] = stock.Unit, stock.Food
	}
	if len(units) == 0 {
		return nil
	}
	left, unknown := map[string]float64{}, map[string]bool{}
	for _, held := range e.Larder(at).Stock {
		pieces := held.Left.Mean
		if units[held.ID] == husbandry.StockUnits[1] {
			pieces /= e.shared.settings.Foods[husbandry.Slug(foods[held.ID])].WeightG()
		}
		left[foods[held.ID]] += pieces
		unknown[foods[held.ID]] = unknown[foods[held.ID]] || !held.Known && held.Turn >= 0
	}
	for food := range unknown {
		if unknown[food] {
			delete(left, food)
		}
	}
	return left
}

// ofLarder returns the entries that use something up to an instant, in the
// order in which they happened.
func (r *records) ofLarder(at time.Time) []*husbandry.Entry {
	var found []*husbandry.Entry
	for _, entry := range r.entries {
		switch entry.What {
		case husbandry.AddLeaves, husbandry.Renew, husbandry.Feed, husbandry.Larder:
			if !entry.At.After(at) && !r.struck[entry.ID] {
				found = append(found, entry)
			}
		}
	}
	slices.SortFunc(found, inOrder)
	return found
}
