package renewal

import "fmt"

// A Job is one renewal of one bin's substrate. Weeks count from 0, the week of
// today.
type Job struct {
	Goal        int   // week in which it is wanted; may lie outside First to Last
	First, Last int   // it may be done from First to Last, both included
	Avoid       []int // weeks in which it should not be done
	Known       int   // week in which the plan that the keeper knows has it; -1 is none
	Pinned      bool  // the keeper has put it into Known, and there it stays
}

// An Order says what counts for more once no week is fuller than it must be.
type Order int

// The two orders.
const (
	Punctual Order = iota // renewals near their goal, then few changes
	Steady                // few changes, then near their goal
)

// A Plan places jobs on weeks.
type Plan struct {
	Week    []int // of each job, in the order of the jobs
	Fullest int   // jobs in the fullest week
	Off     int   // weeks by which jobs are early or late, in sum
	Changed int   // jobs that the keeper knew to be in another week
}

// Level places jobs on the weeks 0 to weeks-1. A job whose whole span is to be
// avoided may be done on the nearest weeks around the span that are not, and if
// there are none at all then in its span after all: nothing is left out of the
// plan. It fails if a number is out of range, naming the job.
func Level(jobs []Job, weeks int, order Order) (Plan, error) {
	if weeks < 1 {
		return Plan{}, fmt.Errorf("%d weeks: give at least 1", weeks)
	}
	p := newPlanner(len(jobs), weeks)
	for i, job := range jobs {
		if err := job.check(weeks); err != nil {
			return Plan{}, fmt.Errorf("job %d: %w", i, err)
		}
		p.allow(i, job.allowed(weeks))
	}
	off, changed := weights(jobs, weeks, order)
	for i, job := range jobs {
		p.cost[i] = make([]int, weeks)
		for w := range weeks {
			p.cost[i][w] = off*job.off(w) + changed*job.changed(w)
		}
	}
	p.fit()
	p.settle()
	plan := Plan{Week: p.week}
	for i, job := range jobs {
		plan.Fullest = max(plan.Fullest, len(p.in[p.week[i]]))
		plan.Off += job.off(p.week[i])
		plan.Changed += job.changed(p.week[i])
	}
	return plan, nil
}

func (j Job) check(weeks int) error {
	switch {
	case j.First < 0 || j.Last >= weeks || j.First > j.Last:
		return fmt.Errorf("span of weeks %d to %d: give first to last within 0 to %d", j.First, j.Last, weeks-1)
	case j.Known < -1 || j.Known >= weeks:
		return fmt.Errorf("known week %d: give 0 to %d, or -1 for none", j.Known, weeks-1)
	case j.Pinned && j.Known < 0:
		return fmt.Errorf("pinned to no week: give the known week")
	}
	return nil
}

// allowed says for each week whether the job may be done in it; some week is.
func (j Job) allowed(weeks int) []bool {
	may := make([]bool, weeks)
	if j.Pinned {
		may[j.Known] = true
		return may
	}
	avoid := make([]bool, weeks)
	for _, w := range j.Avoid {
		if w >= 0 && w < weeks {
			avoid[w] = true
		}
	}
	for _, unless := range [][]bool{avoid, make([]bool, weeks)} {
		for out := 0; out < weeks; out++ {
			found := false
			for w := max(0, j.First-out); w <= min(weeks-1, j.Last+out); w++ {
				if !unless[w] {
					may[w], found = true, true
				}
			}
			if found {
				return may
			}
		}
	}
	return may
}

func (j Job) off(week int) int { return max(j.Goal-week, week-j.Goal) }

func (j Job) changed(week int) int {
	if j.Known >= 0 && week != j.Known {
		return 1
	}
	return 0
}

// weights make one number of both aims: the sum of the lesser one over all jobs
// stays below one unit of the greater.
func weights(jobs []Job, weeks int, order Order) (off, changed int) {
	if order == Punctual {
		return len(jobs) + 1, 1
	}
	sum := 1
	for _, job := range jobs {
		sum += max(job.off(0), job.off(weeks-1))
	}
	return 1, sum
}
