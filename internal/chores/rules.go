package chores

import (
	"time"

	"underlog/internal/husbandry"
)

const (
	day = 24 * time.Hour
	// roundHour is when a day's round is expected where nothing says otherwise.
	roundHour = 18 * time.Hour
)

// minute rounds an instant to the minute, where all windows lie, so that
// server and phone show the same.
func minute(t time.Time) time.Time { return t.Round(time.Minute) }

// window makes a chore with its times in order and on minutes.
func window(bin, sort string, opens, due, closes time.Time) husbandry.Chore {
	due = minute(due)
	opens, closes = minute(opens), minute(closes)
	if opens.After(due) {
		opens = due
	}
	if closes.Before(due) {
		closes = due
	}
	return husbandry.Chore{Bin: bin, Chore: sort, Opens: opens, Due: due, Closes: closes}
}

// feedChore says when to feed next, and what: the bin's meals a week or the
// household's, counted from the last meal, and never while leftovers lie. ok is
// false where the bin gets no meals or something still lies in it.
func (r *Room) feedChore(b *binState, waiting []*feeding) (chore husbandry.Chore, ok bool) {
	h, past := r.household, b.past
	due, meals := h.mealDue(past)
	if !meals || len(waiting) > 0 {
		return chore, false
	}
	between := time.Duration(float64(7*day) / h.mealsPerWeek(past.bin))
	why, meal := husbandry.Why{Code: husbandry.WhyNeverFed}, husbandry.Food{}
	for i := len(past.feedings) - 1; i >= 0; i-- {
		if f := past.feedings[i]; isMeal(f.food) {
			meal = f.food
			why = husbandry.Why{Code: husbandry.WhyFed, At: f.At, Food: meal.Slug}
			break
		}
	}
	chore = window(past.bin.ID, husbandry.ChoreFeed, due.Add(-between/4), due, due.Add(2*between))
	becauseOf(&chore, why, meal, h.at)
	chore.Pick = r.pick(b)
	chore.Food = chore.Pick.Food
	return chore, true
}

// lookChore says when to look in at the latest though nothing else asks for
// it: the household's cadence after the bin was last opened.
func lookChore(bin husbandry.Bin, entries []*husbandry.Entry, room husbandry.Room, at time.Time) husbandry.Chore {
	cadence := time.Duration(room.LookInDays * float64(day))
	opened := lastOpened(entries)
	if opened == nil {
		due := dayStart(at).Add(roundHour)
		chore := window(bin.ID, husbandry.ChoreLook, dayStart(at), due, due.Add(cadence))
		because(&chore, husbandry.Why{Code: husbandry.WhyNeverOpened}, at)
		return chore
	}
	due := opened.Add(cadence)
	chore := window(bin.ID, husbandry.ChoreLook, due.Add(-cadence/4), due, due.Add(cadence))
	because(&chore, husbandry.Why{Code: husbandry.WhyUnopened, At: *opened}, at)
	return chore
}

func dayStart(t time.Time) time.Time {
	year, month, date := t.Date()
	return time.Date(year, month, date, 0, 0, 0, 0, t.Location())
}
