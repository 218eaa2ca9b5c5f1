package renewal

import (
	"math/rand/v2"
	"testing"
	"time"
)

// year is a year of a room that was filled in spring: goals crowd, half the
// bins are renewed every six months and half every three, two holidays.
func year(bins int, seed uint64) []Job {
	r := rand.New(rand.NewPCG(seed, 1))
	var jobs []Job
	for bin := range bins {
		every := 26 - 13*(bin%2)
		for goal := r.IntN(8); goal < 52; goal += every {
			job := Job{Goal: goal, First: max(0, goal-every/4), Last: min(51, goal+every/6), Avoid: []int{20, 21, 22, 40}, Known: -1}
			if r.IntN(3) > 0 {
				job.Known = min(51, max(0, goal+r.IntN(5)-2))
			}
			jobs = append(jobs, job)
		}
	}
	return jobs
}

// 500 bins must be levelled in a fifth of a second.
func BenchmarkLevel500Bins(b *testing.B) {
	jobs := year(500, 1)
	for b.Loop() {
		if _, err := Level(jobs, 52, Punctual); err != nil {
			b.Fatal(err)
		}
	}
	limit := 200 * time.Millisecond
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(limit), "of-"+limit.String())
	b.ReportMetric(float64(len(jobs)), "renewals")
}
