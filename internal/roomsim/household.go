package roomsim

import "time"

// An evening is one day of the household.
type evening struct {
	home  bool
	round time.Duration // after midnight, when a round may begin
}

// evenings draws the household's days: a round may begin at 18:30 or some time
// later; one evening in nine nobody has time, and now and then nobody is home
// for two to four days.
func evenings(cfg Config) []evening {
	days := make([]evening, cfg.HistoryDays+cfg.Days+spareDays)
	gone := 0
	for d := range days {
		r := draw(cfg.Seed, chanceOfEvening, d, 0)
		starts, length := r.Float64() < 0.012, 2+r.IntN(3)
		busy, late := r.Float64() < 0.11, r.ExpFloat64()*25
		if r.Float64() < 0.1 {
			late += 60
		}
		if starts && gone == 0 {
			gone = length
		}
		days[d] = evening{home: cfg.AlwaysHome || gone == 0 && !busy, round: 18*time.Hour + 30*time.Minute + time.Duration(clamp(late, 0, 180))*time.Minute}
		if gone > 0 {
			gone--
		}
	}
	return days
}

// roundOn tells whether a keeper is asked on day d.
func (r *Room) roundOn(d int) bool {
	return r.evenings[d].home && r.isRoundDay(d)
}

func (r *Room) isRoundDay(d int) bool {
	if r.cfg.RoundDays == nil {
		return true
	}
	weekday := r.midnight(d).Weekday()
	for _, w := range r.cfg.RoundDays {
		if w == weekday {
			return true
		}
	}
	return false
}

// nextRound is the hour by whose end the next round after day d has begun.
func (r *Room) nextRound(d int) int {
	for d++; d < len(r.evenings)-1 && !r.roundOn(d); d++ {
	}
	return d*24 + int(r.evenings[d].round/time.Hour) + 1
}

// atHome is the first time at or after t when somebody is up and about to look
// at leftovers: 7:00 to 22:30, but not after 16:00 on an evening when nobody
// has time.
func (r *Room) atHome(t time.Time) time.Time {
	const wake, leave, bed = 7 * time.Hour, 16 * time.Hour, 22*time.Hour + 30*time.Minute
	for d := r.day(t); d < len(r.evenings); d++ {
		midnight := r.midnight(d)
		from, until := midnight.Add(wake), midnight.Add(bed)
		if !r.evenings[d].home {
			until = midnight.Add(leave)
		}
		if t.Before(from) {
			return from
		}
		if t.Before(until) {
			return t
		}
	}
	return t
}

func (r *Room) midnight(d int) time.Time { return r.begin.Add(time.Duration(d) * 24 * time.Hour) }
func (r *Room) day(t time.Time) int      { return int(t.Sub(r.begin) / (24 * time.Hour)) }
func (r *Room) hour(t time.Time) int     { return int(t.Sub(r.begin) / time.Hour) }

// silent tells whether t lies in the fortnight without entries.
func (r *Room) silent(t time.Time) bool {
	if !r.cfg.Stress.SilentFortnight {
		return false
	}
	from := r.cfg.HistoryDays + r.cfg.Days/2 - 7
	d := r.day(t)
	return d >= from && d < from+14
}
