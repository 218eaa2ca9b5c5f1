// Package habit learns from what was logged when a household usually makes
// its round: on which days of the week, and at what time of the day.
package habit

import (
	"math"
	"slices"
	"time"
)

// Judgement.
const (
	window    = 56 * 24 * time.Hour // habits older than that are no longer habits
	apart     = 3 * time.Hour       // between entries of different rounds
	leastLogs = 3                   // fewer entries in a row are no round
	leastDays = 3                   // fewer rounds show no habit
	share     = 1.0 / 3             // of a weekday's occurrences that had a round
)

// usualMinute is when a day's round is expected where nothing says otherwise:
// 18:00. Judgement.
const usualMinute = 18 * 60

// A Habit is when the round usually begins.
type Habit struct {
	Days   [7]bool // by time.Weekday
	Minute int     // of the wall clock, after midnight, a multiple of 5
	Known  bool    // learned; otherwise every day at the usual time
}

// Usual is the habit of somebody of whom nothing is known.
func Usual() Habit {
	return Habit{Days: [7]bool{true, true, true, true, true, true, true}, Minute: usualMinute}
}

// Learn finds the habit behind the times of entries, as known at now, on the
// wall clock of zone. Entries of the last eight weeks count, three or more
// in a row make a round.
func Learn(entries []time.Time, zone *time.Location, now time.Time) Habit {
	rounds := roundsOf(entries, now)
	if len(rounds) < leastDays {
		return Usual()
	}
	minutes := make([]int, len(rounds))
	perDay := [7]map[string]bool{}
	first := now
	for i, at := range rounds {
		local := at.In(zone)
		minutes[i] = local.Hour()*60 + local.Minute()
		day := local.Weekday()
		if perDay[day] == nil {
			perDay[day] = map[string]bool{}
		}
		perDay[day][local.Format(time.DateOnly)] = true // two rounds on one day are one day
		if at.Before(first) {
			first = at
		}
	}
	weeks := math.Max(1, now.Sub(first).Hours()/(7*24))
	habit := Habit{Minute: middle(minutes), Known: true}
	for day, dates := range perDay {
		habit.Days[day] = float64(len(dates)) >= share*weeks
	}
	if habit.Days == [7]bool{} { // now and then, on no day in particular
		habit.Days = Usual().Days
	}
	return habit
}

// roundsOf returns when each run of entries began.
func roundsOf(entries []time.Time, now time.Time) []time.Time {
	recent := slices.DeleteFunc(slices.Clone(entries), func(t time.Time) bool {
		return t.After(now) || now.Sub(t) > window
	})
	slices.SortFunc(recent, time.Time.Compare)
	var rounds []time.Time
	for from := 0; from < len(recent); {
		to := from + 1
		for to < len(recent) && recent[to].Sub(recent[to-1]) <= apart {
			to++
		}
		if to-from >= leastLogs {
			rounds = append(rounds, recent[from])
		}
		from = to
	}
	return rounds
}

// middle returns the median of minutes of the day, which go in a circle: the
// circle is cut where the minutes leave the widest gap. It is rounded to five
// minutes.
func middle(minutes []int) int {
	const day = 24 * 60
	sorted := slices.Sorted(slices.Values(minutes))
	cut, widest := 0, sorted[0]+day-sorted[len(sorted)-1]
	for i := 1; i < len(sorted); i++ {
		if gap := sorted[i] - sorted[i-1]; gap > widest {
			cut, widest = i, gap
		}
	}
	around := append(slices.Clone(sorted[cut:]), sorted[:cut]...)
	return (around[len(around)/2] + 2) / 5 * 5 % day
}
