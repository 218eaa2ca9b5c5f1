package away

import (
	"slices"
	"sort"
)

// A Chain is the deadlines of one bin.
type Chain struct {
	First  int   // the deadline if nobody comes before
	Next   []int // the deadline after a service on each day, from day 0 on
	Closed bool  // better not opened by a sitter
}

// A Problem is who has to be served when, and who can come when.
type Problem struct {
	Last   int   // day of coming back, 0 to 90
	Days   []int // on which the sitter can come, within 0 and Last
	Chains []Chain
}

// A Plan is the days of the visits and who is served on them.
type Plan struct {
	Days       []int
	Served     [][]int // of each chain: the days on which it is served
	Late       []bool  // of each chain: it cannot always be served by its deadline
	Lids       int     // services of all chains together
	ClosedLids int     // those of chains that are Closed
}

// Solve returns the plan with the fewest days, of those the one with the fewest
// lids, of those the one with the fewest closed lids. Where the sitter cannot
// come by a deadline, the first day after it takes its place, and nothing is
// asked for where there is none; such chains are Late.
func (p Problem) Solve() Plan { return p.solve(0) }

// SolveWith is Solve for a sitter who comes on a given number of days more than
// need be.
func (p Problem) SolveWith(more int) Plan { return p.solve(max(0, more)) }

func (p Problem) solve(more int) Plan {
	s := newSearch(p)
	s.most = min(s.need[0]+more, len(s.days)-1)
	s.try(0, 0)
	plan := Plan{Days: s.best, Late: make([]bool, len(p.Chains)), Served: make([][]int, len(p.Chains))}
	for i, class := range s.classOf {
		plan.Served[i], plan.Late[i] = s.classes[class].serve(s, plan.Days)
		plan.Lids += len(plan.Served[i])
		if p.Chains[i].Closed {
			plan.ClosedLids += len(plan.Served[i])
		}
	}
	return plan
}

// A search works on places in the list of the sitter's days: place 0 is before
// leaving, place i the i-th day. A deadline is the last place that meets it, or
// done.
type search struct {
	days    []int // of the places
	classes []*class
	classOf []int // of each chain
	tight   []int // of each place: the deadline of the most pressing class, if all are served there
	need    []int // of each place: the fewest visits after it
	most    int   // visits to be made

	chosen []int // places
	best   []int // days
	lids   int   // of best, -1 before there is one
	closed int
}

// A class is all chains with the same deadlines.
type class struct {
	deadline []int // of each place, as a place or done
	late     []bool
	count    int
	closed   bool
}

const done = 1 << 30

func newSearch(p Problem) *search {
	s := &search{days: []int{-1}, lids: -1}
	days := slices.Clone(p.Days)
	slices.Sort(days)
	for _, day := range slices.Compact(days) {
		if day >= 0 && day < p.Last { // on the day of coming back nobody is needed
			s.days = append(s.days, day)
		}
	}
	known := map[string]int{}
	for i := range p.Chains {
		c := s.classify(&p.Chains[i], p.Last)
		key := c.key()
		at, have := known[key]
		if !have {
			at = len(s.classes)
			known[key] = at
			s.classes = append(s.classes, c)
		}
		s.classes[at].count++
		s.classOf = append(s.classOf, at)
	}
	s.tight, s.need = make([]int, len(s.days)), make([]int, len(s.days))
	for at := len(s.days) - 1; at >= 0; at-- {
		s.tight[at] = done
		for _, c := range s.classes {
			s.tight[at] = min(s.tight[at], c.deadline[at])
		}
		if s.tight[at] != done {
			s.need[at] = 1 + s.need[s.tight[at]]
		}
	}
	return s
}

// classify turns a chain's days into places, and sees to it that no service
// brings a deadline forward.
func (s *search) classify(chain *Chain, last int) *class {
	c := &class{deadline: make([]int, len(s.days)), late: make([]bool, len(s.days)), closed: chain.Closed}
	by := chain.First
	for at, day := range s.days {
		if day >= 0 && day < len(chain.Next) {
			by = max(by, chain.Next[day])
		}
		if by >= last {
			c.deadline[at] = done
			continue
		}
		place := sort.SearchInts(s.days, by+1) - 1
		if place <= at { // nobody can come in time
			c.late[at] = true
			if place = at + 1; place == len(s.days) {
				place = done
			}
		}
		c.deadline[at] = place
	}
	return c
}

func (c *class) key() string {
	key := make([]byte, 0, 2*len(c.deadline)+1)
	for at, place := range c.deadline {
		late := byte(0)
		if c.late[at] {
			late = 1
		}
		if place == done {
			place = 255
		}
		key = append(key, byte(place), late)
	}
	if c.closed {
		key = append(key, 1)
	}
	return string(key)
}

// try goes on from the latest visit, at a place, with so many made. Later days
// come first: of equal plans the one that leaves most to the last is taken.
func (s *search) try(at, made int) {
	if s.tight[at] == done && made == s.most {
		s.take()
		return
	}
	if made == s.most {
		return
	}
	for next := min(s.tight[at], len(s.days)-1); next > at; next-- {
		left := s.most - made - 1
		if s.need[next] > left || len(s.days)-1-next < left {
			continue
		}
		s.chosen = append(s.chosen, next)
		if s.lids < 0 || s.better(s.count(true)) {
			s.try(next, made+1)
		}
		s.chosen = s.chosen[:len(s.chosen)-1]
	}
}

func (s *search) better(lids, closed int) bool {
	return lids < s.lids || lids == s.lids && closed < s.closed
}

func (s *search) take() {
	if lids, closed := s.count(false); s.lids < 0 || s.better(lids, closed) {
		s.lids, s.closed, s.best = lids, closed, s.best[:0]
		for _, place := range s.chosen {
			s.best = append(s.best, s.days[place])
		}
	}
}

// count counts the lids that the chosen places open, with open also those of
// the best that can still become of them.
func (s *search) count(open bool) (lids, closed int) {
	for _, c := range s.classes {
		n := c.lids(s.chosen, open) * c.count
		lids += n
		if c.closed {
			closed += n
		}
	}
	return lids, closed
}

// lids counts the services of one chain: each on the last of the places that
// its deadline allows. With open every place after the chosen ones may be
// visited too.
func (c *class) lids(chosen []int, open bool) int {
	n, at, i := 0, 0, 0
	for by := c.deadline[at]; by != done; by = c.deadline[at] {
		for i < len(chosen) && chosen[i] <= by {
			at = chosen[i]
			i++
		}
		if open && i == len(chosen) {
			at = max(at, by)
		}
		n++
	}
	return n
}

// serve lists the days on which one chain is served, and says whether any of
// them comes too late.
func (c *class) serve(s *search, days []int) (served []int, late bool) {
	served = []int{}
	at := 0
	for i := 0; ; {
		late = late || c.late[at]
		by := c.deadline[at]
		if by == done {
			return served, late
		}
		for i < len(days) && days[i] <= s.days[by] {
			at = sort.SearchInts(s.days, days[i])
			i++
		}
		served = append(served, s.days[at])
	}
}
