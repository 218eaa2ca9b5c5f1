// Package trouble says which bins may be going wrong, from what was logged and
// what the gauges hold: findings with their evidence, a list of likely causes
// and what to look at next. It never says what it is: causes carry a word of
// odds (rarely, sometimes, often), which are common practice, no source.
//
// It is quiet by default. Each rule wants a sign that keeps coming back, or
// one that the keeper took the trouble to tap, and its threshold stands beside
// it with its source. Two laws hold (tests): the more that was seen to be well
// the fewer findings, and taking away a bad sign never adds one.
package trouble
