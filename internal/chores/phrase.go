package chores

import (
	"fmt"
	"math"
	"time"
)

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
