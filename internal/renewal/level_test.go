package renewal

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func drawJobs(t *rapid.T, most, weeks int) []Job {
	jobs := make([]Job, rapid.IntRange(0, most).Draw(t, "jobs"))
	for i := range jobs {
		first := rapid.IntRange(0, weeks-1).Draw(t, "first")
		job := Job{
			Goal: rapid.IntRange(-3, weeks+3).Draw(t, "goal"), First: first, Last: rapid.IntRange(first, weeks-1).Draw(t, "last"),
			Avoid: rapid.SliceOfN(rapid.IntRange(-1, weeks), 0, weeks).Draw(t, "avoid"), Known: rapid.IntRange(-1, weeks-1).Draw(t, "known"),
		}
		job.Pinned = job.Known >= 0 && rapid.IntRange(0, 4).Draw(t, "pinned") == 0
		jobs[i] = job
	}
	return jobs
}

// best tries every plan there is.
func best(jobs []Job, weeks int, order Order) Plan {
	found := Plan{Fullest: -1}
	week := make([]int, len(jobs))
	var try func(i int)
	try = func(i int) {
		if i < len(jobs) {
			for w, may := range jobs[i].allowed(weeks) {
				if may {
					week[i] = w
					try(i + 1)
				}
			}
			return
		}
		plan := Plan{Week: slices.Clone(week)}
		load := make([]int, weeks)
		for i, w := range week {
			load[w]++
			plan.Fullest = max(plan.Fullest, load[w])
			plan.Off += jobs[i].off(w)
			plan.Changed += jobs[i].changed(w)
		}
		if found.Fullest < 0 || slices.Compare(aims(plan, order), aims(found, order)) < 0 {
			found = plan
		}
	}
	try(0)
	return found
}

// aims are what counts, the first most.
func aims(p Plan, order Order) []int {
	if order == Steady {
		return []int{p.Fullest, p.Changed, p.Off}
	}
	return []int{p.Fullest, p.Off, p.Changed}
}

func TestNoPlanIsBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(1, 5).Draw(t, "weeks")
		jobs := drawJobs(t, 6, weeks)
		order := rapid.SampledFrom([]Order{Punctual, Steady}).Draw(t, "order")
		plan, err := Level(jobs, weeks, order)
		if err != nil {
			t.Fatal(err)
		}
		if most := best(jobs, weeks, order); !slices.Equal(aims(plan, order), aims(most, order)) {
			t.Fatalf("Level found %+v, trying all plans %+v", plan, most)
		}
		for i, w := range plan.Week {
			if !jobs[i].allowed(weeks)[w] {
				t.Fatalf("job %d %+v is in week %d", i, jobs[i], w)
			}
		}
	})
}

// Who accepts a plan and asks again is given the same.
func TestAPlanThatIsKnownDoesNotJump(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const weeks = 20
		jobs := drawJobs(t, 40, weeks)
		order := rapid.SampledFrom([]Order{Punctual, Steady}).Draw(t, "order")
		plan, err := Level(jobs, weeks, order)
		if err != nil {
			t.Fatal(err)
		}
		for i := range jobs {
			jobs[i].Known = plan.Week[i]
		}
		again, err := Level(jobs, weeks, order)
		if err != nil {
			t.Fatal(err)
		}
		if order == Punctual && again.Changed > 0 {
			t.Fatalf("%d of %d jobs jumped", again.Changed, len(jobs))
		}
	})
}

func TestASpanThatIsAllToBeAvoidedGivesWay(t *testing.T) {
	for _, c := range []struct {
		name string
		job  Job
		want int
	}{
		{"to the nearest week that is free", Job{Goal: 5, First: 4, Last: 6, Avoid: []int{3, 4, 5, 6}, Known: -1}, 7},
		{"to its span if no week is free", Job{Goal: 5, First: 4, Last: 6, Avoid: []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, Known: -1}, 5},
		{"but a hand counts for more", Job{Goal: 5, First: 4, Last: 6, Avoid: []int{2}, Known: 2, Pinned: true}, 2},
	} {
		plan, err := Level([]Job{c.job}, 10, Punctual)
		if err != nil || plan.Week[0] != c.want {
			t.Errorf("%s: week %v, %v; want %d", c.name, plan.Week, err, c.want)
		}
	}
}

func TestNumbersOutOfRangeAreNamed(t *testing.T) {
	for _, c := range []struct {
		job  Job
		says string
	}{
		{Job{First: 3, Last: 2, Known: -1}, "job 0: span of weeks 3 to 2"},
		{Job{First: 0, Last: 10, Known: -1}, "give first to last within 0 to 9"},
		{Job{Last: 1, Known: 10}, "known week 10"},
		{Job{Last: 1, Known: -1, Pinned: true}, "pinned to no week"},
	} {
		if _, err := Level([]Job{c.job}, 10, Punctual); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v, want %q", c.job, err, c.says)
		}
	}
	if _, err := Level(nil, 0, Punctual); err == nil {
		t.Error("a year of no weeks is taken")
	}
}
