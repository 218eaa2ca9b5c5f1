package chores

import (
	"fmt"
	"math"
	"strings"
	"time"

	"underlog/internal/husbandry"
)

// because gives a chore its reason, as data and as a sentence said at now.
func because(chore *husbandry.Chore, why husbandry.Why, now time.Time) {
	becauseOf(chore, why, husbandry.Food{}, now)
}

// becauseOf is because for a reason that names a food.
func becauseOf(chore *husbandry.Chore, why husbandry.Why, food husbandry.Food, now time.Time) {
	chore.Why = why
	chore.Reason = sentence(why, food, now)
}

func sentence(why husbandry.Why, food husbandry.Food, now time.Time) string {
	name := strings.ToLower(food.Name)
	age := "since nobody knows when"
	if !why.At.IsZero() {
		age = fmt.Sprintf("%.1f months old", now.Sub(why.At).Hours()/24/monthDays)
	}
	switch why.Code {
	case husbandry.WhyNeverFelt:
		return "never felt yet"
	case husbandry.WhyDry:
		return fmt.Sprintf("%s dry %s", likely(why.Odds), when(why.At, now))
	case husbandry.WhyMouldLeft:
		return fmt.Sprintf("%s left in with mould (%s) %s ago", name, why.Word, ago(why.At, now))
	case husbandry.WhyLies:
		if why.Odds < 0.02 {
			return fmt.Sprintf("%s since %s, hardly mouldy yet", name, ago(why.At, now))
		}
		return fmt.Sprintf("%s since %s, %s mouldy by now", name, ago(why.At, now), chance(why.Odds))
	case husbandry.WhyNeverFed:
		return "nothing fed yet"
	case husbandry.WhyFed:
		return fmt.Sprintf("last fed %s ago: %s", ago(why.At, now), food.Name)
	case husbandry.WhyLeaves:
		return fmt.Sprintf("leaves added %s ago, %s bare", ago(why.At, now), chance(why.Odds))
	case husbandry.WhyNoLeaves:
		return fmt.Sprintf("no leaves logged yet, %s bare", chance(why.Odds))
	case husbandry.WhyAge:
		return fmt.Sprintf("substrate %s, goal %g months", age, why.Months)
	case husbandry.WhyFrass:
		return fmt.Sprintf("substrate %s, %s mostly frass", age, chance(why.Odds))
	case husbandry.WhyTrip:
		return fmt.Sprintf("you leave on %s, %s dry in depth before you are back", why.At.In(now.Location()).Format("2 January"), chance(why.Odds))
	case husbandry.WhyPlanned:
		return "planned for the week of " + why.At.In(now.Location()).Format("2 January")
	case husbandry.WhyEscaped:
		return fmt.Sprintf("found outside %s ago, ways out not looked for since", ago(why.At, now))
	case husbandry.WhyWayOut:
		return fmt.Sprintf("%s %s ago: see that it is mended", wayOut[why.Word], ago(why.At, now))
	case husbandry.WhyRamp:
		return fmt.Sprintf("leaves, wood or substrate came in %s ago, may reach the rim", ago(why.At, now))
	case husbandry.WhyUnchecked:
		return fmt.Sprintf("ways out last looked for %s ago", ago(why.At, now))
	case husbandry.WhyUnopened:
		return fmt.Sprintf("not opened for %s", ago(why.At, now))
	default:
		return "nothing logged yet"
	}
}

var wayOut = map[string]string{"ramp": "a way to the rim", "torn": "torn mesh", "missing": "missing mesh", "ajar": "the lid ajar"}

// when names an instant as a person at now would: "by tonight", "by tomorrow
// noon", "by Friday evening". Both times are read in now's offset.
func when(t, now time.Time) string {
	t = t.In(now.Location())
	days := int(dayOf(t).Sub(dayOf(now)).Hours()/24 + 0.5)
	switch {
	case !t.After(now):
		return "by now"
	case days == 0 && t.Hour() >= 17:
		return "by tonight"
	case days == 0:
		return "by this " + partOfDay(t)
	case days == 1:
		return "by tomorrow " + partOfDay(t)
	case days < 7:
		return "by " + t.Weekday().String() + " " + partOfDay(t)
	default:
		return "by " + t.Format("2 January")
	}
}

func dayOf(t time.Time) time.Time {
	year, month, day := t.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

func partOfDay(t time.Time) string {
	switch hour := t.Hour(); {
	case hour < 5:
		return "night"
	case hour < 11:
		return "morning"
	case hour < 14:
		return "noon"
	case hour < 17:
		return "afternoon"
	case hour < 22:
		return "evening"
	default:
		return "night"
	}
}

// chance says odds the way people say them: "1 in 6", "2 in 3", "almost
// surely".
func chance(p float64) string {
	switch {
	case p < 0.02:
		return "hardly any chance"
	case p < 0.45:
		return fmt.Sprintf("1 in %d", int(math.Round(1/p)))
	case p < 0.58:
		return "1 in 2"
	case p < 0.71:
		return "2 in 3"
	case p < 0.78:
		return "3 in 4"
	case p < 0.85:
		return "4 in 5"
	case p < 0.96:
		return "9 in 10"
	default:
		return "almost surely"
	}
}

// ago says how long ago something was: "5 h", "3 days".
func ago(since, now time.Time) string {
	hours := now.Sub(since).Hours()
	switch {
	case hours < 1:
		return "less than an hour"
	case hours < 48:
		return fmt.Sprintf("%.0f h", hours)
	default:
		return fmt.Sprintf("%.0f days", hours/24)
	}
}
