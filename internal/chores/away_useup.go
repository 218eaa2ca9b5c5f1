package chores

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"underlog/internal/husbandry"
)

// An AwayUseUp is food in the larder that would not last until the return.
type AwayUseUp struct {
	Item  string `json:"item"` // of the larder
	Food  string `json:"food"`
	UseBy string `json:"use_by,omitempty"` // as it is written in the larder; empty: the food does not keep
	Past  bool   `json:"past,omitempty"`   // that day is over already
}

// useUp lists what has to be used up before leaving, the first day first.
func (h *Household) useUp(j *journey) []AwayUseUp {
	list := []AwayUseUp{}
	if j.setUp.IsZero() {
		return list
	}
	today := h.at.Format(time.DateOnly)
	for _, stock := range h.Stock {
		if !stock.Deleted && stock.Finished == "" && h.spoilsBy(stock, j.trip.Returns) {
			list = append(list, AwayUseUp{stock.ID, husbandry.Slug(stock.Food), stock.UseBy, stock.UseBy != "" && stock.UseBy < today})
		}
	}
	slices.SortFunc(list, func(a, b AwayUseUp) int {
		return cmp.Or(strings.Compare(cmp.Or(a.UseBy, j.trip.Leaves), cmp.Or(b.UseBy, j.trip.Leaves)), strings.Compare(a.Item, b.Item))
	})
	return list
}

// spoilsBy reports whether stock has to be used by a day: its own use-by says
// so, or it has none and is of a food that does not keep. What is frozen keeps.
func (h *Household) spoilsBy(stock husbandry.Stock, day string) bool {
	if stock.UseBy != "" {
		return stock.UseBy <= day
	}
	return stock.Kept != frozen && h.Foods[husbandry.Slug(stock.Food)].Perishable
}

const frozen = "freezer"

// usedBy is the day by which stock has to be used, empty for none: its use-by,
// or the day of leaving where it would not last through a trip that is ahead.
func (h *Household) usedBy(stock husbandry.Stock) string {
	by, today := stock.UseBy, h.at.Format(time.DateOnly)
	for _, trip := range h.Trips {
		if today <= trip.Leaves && h.spoilsBy(stock, trip.Returns) && (by == "" || trip.Leaves < by) {
			by = trip.Leaves
		}
	}
	return by
}
