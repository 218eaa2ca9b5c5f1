// Package away judges whether bins last while their keeper is away, and plans
// the visits of a sitter: the fewest days, then the fewest lids opened, then
// the fewest of lids that no sitter should open.
//
// It knows no gauge and no fuse: what a bin will bear comes in as odds by day.
//
// # Days
//
// Days are numbered from 0, the day of leaving, to Last, the day of coming
// back; -1 is before leaving. A deadline is the last day on which a bin must be
// served; one of Last or more needs nobody.
//
// # Why the plan is exact
//
// A service never brings a deadline forward, and a later one never leads to an
// earlier deadline (Solve sees to both). So a visit may serve every bin without
// harm, and of two ways to make the same number of visits that which makes its
// last one later can be carried on whenever the other can: to come each time as
// late as the most pressing bin allows takes the fewest days. For the same
// reason a bin is opened least often if it is opened each time on the last day
// of the visits that its deadline allows.
//
// What is left is which of the sets of that many days opens the fewest lids.
// The sets are searched one day after the other. A set is given up only if the
// days that are left cannot carry it to the end, or if even with the sitter there
// on every day still to come it would open as many lids as the best set found.
// Neither ever gives up a better set.
package away
