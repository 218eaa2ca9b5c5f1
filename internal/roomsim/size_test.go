//go:build !verify

package roomsim

// testBins is how many bins the rooms of the slow tests have; with -tags verify
// they are as large as those of the reports.
const testBins = 20
