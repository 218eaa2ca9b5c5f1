package rota

import (
	"cmp"
	"math"
	"slices"
)

// MostFoods is how many foods are cut up for one feeding, those that a hand has
// chosen beside them (judgement).
const MostFoods = 5

// A Pick is what one bin is given.
type Pick struct {
	Food    int // -1: nothing fits
	Why     []string
	Weights []Weight // of every food
}

// An Outcome is a plan of one feeding.
type Outcome struct {
	Picks []Pick // in the order of the bins
	Foods []int  // on the board
	Cost  int    // what the plan weighs, in thousandths of a point
}

// First is the food that a bin by itself would be given.
func First(foods []Food, bin *Bin) Pick {
	p := Pick{Food: -1, Weights: Weigh(foods, bin)}
	for i, w := range p.Weights {
		if w.Ban == "" && (p.Food < 0 || w.Sum < p.Weights[p.Food].Sum) {
			p.Food = i
		}
	}
	if p.Food >= 0 {
		p.Why = why(foods, p.Weights, p.Food)
	}
	return p
}

// Plan chooses a food for every bin.
func Plan(foods []Food, bins []Bin) Outcome {
	out := Outcome{Picks: make([]Pick, len(bins))}
	left := make([]int, len(foods))
	for i, food := range foods {
		left[i] = food.Portions
	}
	onBoard := make([]bool, len(foods))
	var free []int // bins that no hand has chosen for
	for i := range bins {
		out.Picks[i] = Pick{Food: -1, Weights: Weigh(foods, &bins[i])}
		hand := bins[i].Hand
		if hand < 0 || hand >= len(foods) {
			free = append(free, i)
			continue
		}
		out.Picks[i].Food, out.Picks[i].Why = hand, []string{WhyHand}
		onBoard[hand] = true
		if left[hand] > 0 {
			left[hand]--
		}
	}
	s := search{bins: len(free), left: left, best: math.MaxInt}
	for f := range foods {
		column := make([]int, len(free))
		for b, i := range free {
			column[b] = far
			if w := out.Picks[i].Weights[f]; w.Ban == "" {
				column[b] = w.Sum
			}
		}
		s.cost = append(s.cost, column)
	}
	s.run(onBoard)
	out.Cost = s.best
	for b, i := range free {
		pick := &out.Picks[i]
		if pick.Food = s.chosen[b]; pick.Food >= 0 {
			pick.Why = why(foods, pick.Weights, pick.Food)
			onBoard[pick.Food] = true
		}
	}
	for f, on := range onBoard {
		if on {
			out.Foods = append(out.Foods, f)
		}
	}
	return out
}

const far = math.MaxInt / 4

// A search looks for the set of foods, and who gets which, that weighs least.
type search struct {
	bins   int
	cost   [][]int // [food][bin]; far: not to be given
	left   []int
	order  []int   // of foods, the most promising first
	ahead  [][]int // [place in order][bin]: the least cost of the foods from there on
	best   int
	chosen []int
}

func (s *search) run(onBoard []bool) {
	least := make([]int, s.bins)
	for b := range least {
		least[b] = unfed
	}
	saves := make([]int, len(s.cost))
	for f, column := range s.cost {
		for _, c := range column {
			saves[f] += max(0, unfed-c)
		}
		if !onBoard[f] {
			s.order = append(s.order, f)
		}
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(saves[b], saves[a]) })
	s.ahead = make([][]int, len(s.order)+1)
	s.ahead[len(s.order)] = slices.Repeat([]int{far}, s.bins)
	for i := len(s.order) - 1; i >= 0; i-- {
		s.ahead[i] = slices.Clone(s.ahead[i+1])
		s.lower(s.ahead[i], s.order[i])
	}
	var open []int
	for f, on := range onBoard {
		if on {
			open = append(open, f)
			s.lower(least, f)
		}
	}
	s.weigh(open, least, 0)
	s.try(0, open, least, 0)
}

func (s *search) lower(least []int, food int) {
	for b, c := range s.cost[food] {
		least[b] = min(least[b], c)
	}
}

// try adds foods from a place in the order on to the open ones. least is the
// least cost of each bin among the open ones.
func (s *search) try(from int, open, least []int, added int) {
	if added == MostFoods {
		return
	}
	for i := from; i < len(s.order); i++ {
		bound := (added + 1) * perFood
		for b, c := range least {
			bound += min(c, s.ahead[i][b])
		}
		if bound >= s.best {
			return
		}
		wider := slices.Clone(least)
		s.lower(wider, s.order[i])
		more := append(slices.Clone(open), s.order[i])
		s.weigh(more, wider, added+1)
		s.try(i+1, more, wider, added+1)
	}
}

// weigh takes a set of foods if its best plan is better than any before.
func (s *search) weigh(open, least []int, added int) {
	sum := added * perFood
	for _, c := range least {
		sum += c
	}
	if sum >= s.best {
		return
	}
	chosen, count := make([]int, s.bins), make([]int, len(s.cost))
	short := false
	for b := range chosen {
		chosen[b] = -1
		for _, f := range open {
			if s.cost[f][b] == least[b] && least[b] < unfed {
				chosen[b] = f
				count[f]++
				short = short || s.left[f] >= 0 && count[f] > s.left[f]
				break
			}
		}
	}
	if short {
		chosen = s.share(open)
		sum = added * perFood
		for b, f := range chosen {
			sum += s.costOf(f, b)
		}
	}
	if sum < s.best {
		s.best, s.chosen = sum, chosen
	}
}

func (s *search) costOf(food, bin int) int {
	if food < 0 {
		return unfed
	}
	return s.cost[food][bin]
}

// share gives the open foods, of which some run short, to the bins as cheaply
// as can be: bin by bin, each time along the cheapest path on which bins pass
// their food on. A path runs over foods only.
func (s *search) share(open []int) []int {
	nodes := append(slices.Clone(open), -1) // -1: nothing
	in := make([][]int, len(nodes))
	chosen := make([]int, s.bins)
	for bin := range s.bins {
		reach, before := make([]int, len(nodes)), slices.Repeat([]int{-1}, len(nodes))
		for n, food := range nodes {
			reach[n] = s.costOf(food, bin)
		}
		move := func(from, to int) (bin, cost int) {
			bin, cost = -1, far
			for _, b := range in[from] {
				if there := s.costOf(nodes[to], b); there < far && there-s.costOf(nodes[from], b) < cost {
					bin, cost = b, there-s.costOf(nodes[from], b)
				}
			}
			return bin, cost
		}
		for changed := true; changed; {
			changed = false
			for from := range nodes {
				for to := range nodes {
					if _, cost := move(from, to); reach[from] < far && cost < far && reach[from]+cost < reach[to] {
						reach[to], before[to], changed = reach[from]+cost, from, true
					}
				}
			}
		}
		end := -1
		for n, food := range nodes {
			room := food < 0 || s.left[food] < 0 || len(in[n]) < s.left[food]
			if room && (end < 0 || reach[n] < reach[end]) {
				end = n
			}
		}
		for before[end] >= 0 {
			from := before[end]
			moved, _ := move(from, end)
			in[from] = slices.DeleteFunc(in[from], func(b int) bool { return b == moved })
			in[end] = append(in[end], moved)
			chosen[moved] = nodes[end]
			end = from
		}
		in[end] = append(in[end], bin)
		chosen[bin] = nodes[end]
	}
	return chosen
}
