package away

import (
	"math/rand/v2"
	"testing"
	"time"
)

// The fewest days and lids for 200 bins over 30 days, with a sitter who can
// come on every day: each bin dries at its own pace.
func BenchmarkSolve200Bins30Days(b *testing.B) {
	chance := rand.New(rand.NewPCG(1, 2))
	p := Problem{Last: 30}
	for day := range p.Last {
		p.Days = append(p.Days, day)
	}
	for range 200 {
		gap := 3 + chance.IntN(25)
		c := Chain{First: 1 + chance.IntN(gap+3)}
		for day := range p.Last {
			c.Next = append(c.Next, max(c.First, day+gap))
		}
		p.Chains = append(p.Chains, c)
	}
	for b.Loop() {
		p.Solve()
	}
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(500*time.Millisecond), "of-500ms")
}
