// Package rota says what to feed each bin next, and why.
//
// [Plan] chooses a food for every bin of a feeding such that
//
//  1. as many bins as can be are given something,
//  2. with at most [MostFoods] foods to cut up and no more portions of a food
//     than there are, and
//  3. among those plans the sum of all weights, and of [perFood] for every food
//     on the board, is least.
//
// The weight of a food in a bin ([Weigh]) is a sum of named parts, and the
// reasons that a keeper is told are the parts by which the chosen food beats
// the others:
//
//   - protein: how far the bin's meals are then from its share of protein,
//   - variety: how lately it had the same food, and the last meal's class,
//   - use: food that has to be used up soon weighs less,
//   - mould: the odds that it is mouldy at its next look,
//   - left: it was left lying last time.
//
// Never given are the food of the last meal, food that would be mouldy at its
// next look with more than the bin's limit, and food past its use-by day. Who
// keeps what lies in a bin from getting more on top is the caller.
//
// The choice is exact: sets of foods are tried in a branch and bound; where a
// food runs short, a set's bins are placed one by one along cheapest paths, as
// in the Hungarian method. Weights are whole thousandths of a point, so that
// two machines choose alike.
//
// What share of protein a line wants ([Learn]) starts from its kind and moves
// with what its bin eats: see [Appetite].
package rota
