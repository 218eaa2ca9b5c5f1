package alerts

import (
	"slices"
	"time"

	"underlog/backend/store"
	"underlog/internal/habit"
	"underlog/internal/husbandry"
)

// Judgement.
const (
	digestLead   = 30 * time.Minute // before the usual round
	digestUseful = 4 * time.Hour    // after the round should have begun
	reach        = 12 * time.Hour   // what is due within, the round takes along
	habitsFor    = 56 * 24 * time.Hour
	habitsStale  = time.Hour
)

// A learned is a habit and when it was learned.
type learned struct {
	habit habit.Habit
	at    time.Time
}

// habitOf returns when a person usually makes the round, and the household
// where they make none.
func (a *Alerts) habitOf(person string, zone *time.Location, now time.Time) (habit.Habit, error) {
	a.habits.Lock()
	defer a.habits.Unlock()
	found, err := a.learn(person, zone, now)
	if err != nil || found.Known {
		return found, err
	}
	return a.learn("", zone, now)
}

// learn learns a person's habit, or with an empty id the household's, unless
// it has done so lately.
func (a *Alerts) learn(person string, zone *time.Location, now time.Time) (habit.Habit, error) {
	known, is := a.habits.of[person]
	if age := now.Sub(known.at); is && age >= 0 && age < habitsStale {
		return known.habit, nil
	}
	times, err := a.store.EntryTimes(person, now.Add(-habitsFor))
	if err != nil {
		return habit.Habit{}, err
	}
	found := habit.Learn(times, zone, now)
	a.habits.of[person] = learned{found, now}
	return found, nil
}

// A roundTime is when a phone expects the round on some day, and when it is
// told of it.
type roundTime struct {
	day      string // of the round, 2026-05-28
	tell, at time.Time
}

// roundsAround returns the rounds of yesterday, today and tomorrow that a
// phone is told of.
func (a *Alerts) roundsAround(p phone, zone *time.Location, now time.Time) ([]roundTime, error) {
	usual, err := a.habitOf(p.Person, zone, now)
	if err != nil {
		return nil, err
	}
	days, minute, lead := usual.Days, usual.Minute, digestLead
	if chosen, _ := husbandry.Weekdays(p.settings.DigestDays); chosen != [7]bool{} {
		days = chosen
	}
	if chosen, ok := husbandry.ClockMinute(p.settings.DigestAt); ok {
		minute, lead = chosen, 0 // told at that time, whenever the round is
	}
	var rounds []roundTime
	year, month, day := now.In(zone).Date()
	for shift := -1; shift <= 1; shift++ {
		at := civil(year, month, day+shift, minute, zone)
		date := time.Date(year, month, day+shift, 0, 0, 0, 0, time.UTC)
		if !days[date.Weekday()] {
			continue
		}
		tell := at.Add(-lead)
		if end := p.quiet.After(tell, zone); end.After(tell) {
			// Quiet until before the round: then; else before the quiet.
			if tell = end; end.After(at) {
				tell = p.quiet.Before(at.Add(-lead), zone)
			}
		}
		rounds = append(rounds, roundTime{date.Format(time.DateOnly), tell, at})
	}
	return rounds, nil
}

// planDigest plans the digest of the round that is about to begin.
func (a *Alerts) planDigest(p phone, zone *time.Location, now time.Time) ([]store.Delivery, error) {
	if p.settings.Digest != husbandry.AlertOn {
		return nil, nil
	}
	rounds, err := a.roundsAround(p, zone, now)
	if err != nil {
		return nil, err
	}
	var planned []store.Delivery
	for _, round := range rounds {
		until := round.at.Add(digestUseful)
		if round.tell.After(now) || !until.After(now) || round.tell.Before(p.SubscribedAt.Time()) {
			continue
		}
		instance := husbandry.AlertDigest + " " + round.day
		planned = append(planned, store.Delivery{
			Chore: instance, Instance: instance, Sort: husbandry.AlertDigest, Device: p.ID,
			Due: store.Date(round.tell), Until: store.Date(until), NextAt: store.Date(p.free(round.tell, zone)),
		})
	}
	return planned, nil
}

// wanted returns what the round at now is to do and nothing else tells a
// phone, by place: what has an alert of its own is left out as long as that is
// to come or of use.
func (a *Alerts) wanted(p phone, now time.Time) ([]husbandry.Chore, error) {
	chores, err := a.store.Chores()
	if err != nil {
		return nil, err
	}
	until := now.Add(reach)
	return slices.DeleteFunc(chores, func(c husbandry.Chore) bool {
		if c.Opens.After(until) || c.Due.After(until) {
			return true
		}
		switch {
		case c.Chore != husbandry.ChoreLeftovers:
			return false
		case p.settings.Leftovers == husbandry.AlertAlone:
			return c.Closes.After(now)
		default:
			return p.settings.Leftovers == husbandry.AlertOff
		}
	}), nil
}

// bins counts different bins.
func bins(chores []husbandry.Chore) int {
	seen := map[string]bool{}
	for _, chore := range chores {
		seen[chore.Bin] = true
	}
	return len(seen)
}
