package renewal

import (
	"slices"
	"time"
)

// Judgement, no source: how much earlier and later than its goal a renewal may
// be moved to even out the weeks, as shares of the interval between renewals.
const (
	earlyShare = 0.25
	lateShare  = 1.0 / 6
)

const (
	day       = 24 * time.Hour
	week      = 7 * day
	fortnight = 2 * week
)

// A Bin is what the calendar must know of one bin. All times are midnights in
// the household's zone.
type Bin struct {
	ID    string
	Wants time.Time     // the goal of its next renewal; may be past
	Every time.Duration // from one renewal to the next, at least a week
	Young time.Time     // young were last seen; zero is never: for a fortnight the substrate is left alone
	On    time.Time     // when the plan that the keeper knows has the next renewal; zero is none
	Moved bool          // the keeper has put it there
}

// A Span is some days, both included, on which nobody should renew anything.
type Span struct{ From, To time.Time }

// A Block is one renewal in the calendar.
type Block struct {
	Bin    string    `json:"bin"`
	Nth    int       `json:"nth"` // 0 is the bin's next
	Week   int       `json:"week"`
	Goal   time.Time `json:"goal"`
	Off    int       `json:"off"` // weeks later than its goal; below 0 earlier
	Moved  bool      `json:"moved"`
	Change bool      `json:"change"` // the plan that the keeper knows has it in another week
}

// A Calendar is the coming year.
type Calendar struct {
	Weeks   []time.Time `json:"weeks"`  // their Mondays
	Away    []bool      `json:"away"`   // weeks that have a day to be kept free
	Blocks  []Block     `json:"blocks"` // by week, then in the order of the bins
	Fullest int         `json:"fullest"`
}

// Weeks of a calendar.
const Weeks = 52

// Year lays out the renewals of the coming year, from the week of today on.
func Year(bins []Bin, away []Span, today time.Time, order Order) (Calendar, error) {
	monday := today.AddDate(0, 0, -(int(today.Weekday())+6)%7)
	cal := Calendar{Weeks: make([]time.Time, Weeks), Away: make([]bool, Weeks), Blocks: []Block{}}
	var kept []int
	for w := range cal.Weeks {
		cal.Weeks[w] = monday.AddDate(0, 0, 7*w)
		for _, span := range away {
			if span.From.Before(cal.Weeks[w].AddDate(0, 0, 7)) && !span.To.Before(cal.Weeks[w]) {
				cal.Away[w] = true
			}
		}
		if cal.Away[w] {
			kept = append(kept, w)
		}
	}
	weekOf := func(at time.Time) int { return floorDiv(daysBetween(monday, at), 7) }

	var jobs []Job
	for _, bin := range bins {
		every := max(bin.Every, week)
		for nth := 0; ; nth++ {
			goal := bin.next(nth, today, every)
			if weekOf(goal) >= Weeks {
				break
			}
			job := Job{
				Goal: weekOf(goal), First: weekOf(goal.Add(-share(every, earlyShare))), Last: weekOf(goal.Add(share(every, lateShare))),
				Avoid: kept, Known: -1,
			}
			job.First, job.Last = clamp(job.First), clamp(job.Last)
			if nth == 0 {
				job.Avoid = append(slices.Clone(kept), bin.guarded(weekOf)...)
				if known := weekOf(bin.On); !bin.On.IsZero() && known >= 0 && known < Weeks {
					job.Known, job.Pinned = known, bin.Moved
				}
			}
			jobs = append(jobs, job)
			cal.Blocks = append(cal.Blocks, Block{Bin: bin.ID, Nth: nth, Goal: goal})
		}
	}
	plan, err := Level(jobs, Weeks, order)
	if err != nil {
		return Calendar{}, err
	}
	for i := range cal.Blocks {
		b := &cal.Blocks[i]
		b.Week, b.Off = plan.Week[i], plan.Week[i]-jobs[i].Goal
		b.Moved, b.Change = jobs[i].Pinned, jobs[i].changed(plan.Week[i]) > 0
	}
	slices.SortStableFunc(cal.Blocks, func(a, b Block) int { return a.Week - b.Week })
	cal.Fullest = plan.Fullest
	return cal, nil
}

// next is the goal of the nth renewal from now. One that is overdue is wanted
// this week, and those that follow count from there.
func (b Bin) next(nth int, today time.Time, every time.Duration) time.Time {
	first := b.Wants
	if first.Before(today) {
		first = today
	}
	return first.AddDate(0, 0, nth*int(every/day))
}

// guarded are the weeks in which young are too fresh to be disturbed.
func (b Bin) guarded(weekOf func(time.Time) int) []int {
	if b.Young.IsZero() {
		return nil
	}
	var weeks []int
	for w := weekOf(b.Young); w <= weekOf(b.Young.Add(fortnight)); w++ {
		weeks = append(weeks, w)
	}
	return weeks
}

func share(every time.Duration, of float64) time.Duration {
	return time.Duration(of * float64(every))
}

func clamp(w int) int { return min(max(w, 0), Weeks-1) }

// daysBetween counts calendar days, whatever the clocks did in between.
func daysBetween(from, to time.Time) int {
	date := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(date(to).Sub(date(from)) / day)
}

func floorDiv(a, b int) int {
	if a < 0 {
		return -((-a + b - 1) / b)
	}
	return a / b
}
