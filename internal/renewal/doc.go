// Package renewal spreads the renewals of all bins' substrate over the weeks of
// the coming year, so that no week brings more than it must.
//
// Every renewal that falls into the year is a [Job] with a goal week, a span of
// weeks in which it may be done, and weeks in which it should not (a trip, a
// fortnight after young were seen). [Level] places them all such that
//
//  1. the fullest week is as empty as the spans allow,
//  2. among those plans, the weeks by which renewals are early or late are
//     fewest in sum, and
//  3. among those, the fewest renewals stand elsewhere than in the plan that
//     the keeper already knows.
//
// With [Steady] the last two change places: that is for a keeper who has just
// moved one renewal by hand and wants the others left alone.
//
// The first is a bipartite matching with capacities, found by augmenting paths;
// when a job finds none, the capacity of every week grows by one, which is the
// least that can place it. The others are a min-cost flow on the same network,
// one job at a time along a cheapest path, as in the Hungarian method: a path
// runs over weeks only, since the cheapest way to move any of a week's jobs to
// another week is all that must be known of them. Both are exact.
package renewal
