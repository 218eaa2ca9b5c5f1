package renewal

import (
	"math"
	"slices"
)

// A planner places jobs on weeks one by one, moving others along.
type planner struct {
	weeks   int
	allowed [][]bool // [job][week]
	first   []int    // of each job's allowed weeks
	last    []int
	cost    [][]int // [job][week]

	capacity int
	week     []int   // of each placed job
	in       [][]int // jobs of each week
	moves    [][]move
}

// A move is the cheapest way to take one job of a week to another week.
type move struct {
	job  int // -1: none may go
	cost int
}

func newPlanner(jobs, weeks int) *planner {
	return &planner{weeks: weeks, allowed: make([][]bool, jobs), first: make([]int, jobs), last: make([]int, jobs), cost: make([][]int, jobs)}
}

func (p *planner) allow(job int, weeks []bool) {
	p.allowed[job] = weeks
	p.first[job] = slices.Index(weeks, true)
	for w, may := range weeks {
		if may {
			p.last[job] = w
		}
	}
}

// fit finds the least capacity of a week at which all jobs can be placed.
func (p *planner) fit() {
	p.capacity = 0
	p.clear()
	for job := range p.allowed {
		for !p.place(job, func(int, int) int { return 0 }) {
			p.capacity++
		}
	}
}

// settle places all jobs at that capacity as cheaply as can be.
func (p *planner) settle() {
	p.clear()
	for job := range p.allowed {
		if !p.place(job, func(job, week int) int { return p.cost[job][week] }) {
			panic("renewal: a job that had a place has none")
		}
	}
}

func (p *planner) clear() {
	p.week = make([]int, len(p.allowed))
	p.in = make([][]int, p.weeks)
	p.moves = make([][]move, p.weeks)
	for w := range p.moves {
		p.moves[w] = make([]move, p.weeks)
		for to := range p.moves[w] {
			p.moves[w][to] = move{job: -1}
		}
	}
}

// place puts a job into the week where that is cheapest in all, moving other
// jobs on to weeks with room. It reports whether there was a way.
func (p *planner) place(job int, cost func(job, week int) int) bool {
	const far = math.MaxInt / 2
	reach, before := make([]int, p.weeks), make([]int, p.weeks)
	for w := range reach {
		reach[w], before[w] = far, -1
		if p.allowed[job][w] {
			reach[w] = cost(job, w)
		}
	}
	// Bellman and Ford, with a queue: a move may save something, no round of
	// moves does.
	queue, queued := make([]int, 0, p.weeks), make([]bool, p.weeks)
	for w := range reach {
		if reach[w] < far {
			queue, queued[w] = append(queue, w), true
		}
	}
	for len(queue) > 0 {
		from := queue[0]
		queue, queued[from] = queue[1:], false
		for to, m := range p.moves[from] {
			if m.job >= 0 && reach[from]+m.cost < reach[to] {
				reach[to], before[to] = reach[from]+m.cost, from
				if !queued[to] {
					queue, queued[to] = append(queue, to), true
				}
			}
		}
	}
	end := -1
	for w := range reach {
		if reach[w] < far && len(p.in[w]) < p.capacity && (end < 0 || reach[w] < reach[end]) {
			end = w
		}
	}
	if end < 0 {
		return false
	}
	touched := []int{end}
	for before[end] >= 0 {
		from := before[end]
		moving := p.moves[from][end].job
		p.in[from] = slices.DeleteFunc(p.in[from], func(j int) bool { return j == moving })
		p.in[end], p.week[moving] = append(p.in[end], moving), end
		end = from
		touched = append(touched, from)
	}
	p.in[end], p.week[job] = append(p.in[end], job), end
	for _, w := range touched {
		p.weighMoves(w, cost)
	}
	return true
}

// weighMoves works out anew which of a week's jobs goes elsewhere most cheaply.
func (p *planner) weighMoves(from int, cost func(job, week int) int) {
	moves := p.moves[from]
	for to := range moves {
		moves[to].job = -1
	}
	for _, job := range p.in[from] {
		here := cost(job, from)
		for to := p.first[job]; to <= p.last[job]; to++ {
			if c := cost(job, to) - here; p.allowed[job][to] && to != from && (moves[to].job < 0 || c < moves[to].cost) {
				moves[to] = move{job, c}
			}
		}
	}
}
