//go:build verify

package roomsim

const testBins = 60
