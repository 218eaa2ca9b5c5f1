package away

// LidWorth is how many days of a surface that feels dry are worth one lid more
// on a day on which the sitter comes anyway. Judgement, tuned on the simulated
// tuning room.
const LidWorth = 1.0

// spare chooses the lids anew, the days being what they are: those that cost
// each bin least, in lids and in days on which its surface feels dry. Deadlines
// are kept as before. A bin that is better left shut is opened for its deadlines
// alone.
func (t *Trip) spare(plan *Plan, chains []Chain) {
	plan.Lids = 0
	for i := range t.Bins {
		if b := &t.Bins[i]; !b.Closed && b.ServedDry != nil {
			plan.Served[i] = b.worth(plan.Days, t.Last, chains[i])
		}
		plan.Lids += len(plan.Served[i])
	}
}

// worth is the days of the visits on which serving a bin costs least: the best
// path from leaving to coming back over those days, a step being no longer than
// its deadline allows. The next visit is always near enough, since the days keep
// every deadline that can be kept.
func (b *Bin) worth(days []int, last int, chain Chain) []int {
	n := len(days)
	cost := make([]float64, n+2) // from a place on: 0 is leaving, i the i-th visit, n+1 coming back
	next := make([]int, n+1)
	for at := n; at >= 0; at-- {
		from, by := -1, chain.First
		if at > 0 {
			from = days[at-1]
			by = max(by, chain.Next[from])
		}
		dry, day := 0.0, from
		for to := at + 1; to <= n+1; to++ {
			end, lid := last, 0.0
			if to <= n {
				end, lid = days[to-1], LidWorth
			}
			if end > by && to > at+1 {
				break
			}
			for day < end {
				day++
				dry += b.dryOn(from, day)
			}
			if total := dry + lid + cost[to]; next[at] == 0 || total < cost[at] {
				cost[at], next[at] = total, to
			}
		}
	}
	served := []int{}
	for at := next[0]; at <= n; at = next[at] {
		served = append(served, days[at-1])
	}
	return served
}

// dryOn is the odds that the surface feels dry at the end of a day after a
// service, or after leaving (-1).
func (b *Bin) dryOn(from, day int) float64 {
	if from < 0 {
		return at(b.Dry, day)
	}
	return b.ServedDry(from, day)
}
