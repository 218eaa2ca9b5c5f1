//go:build verify

package fuse

import (
	"testing"

	"underlog/internal/score"
)

// Ten times as many simulations on other dice, in ten histograms a quantity:
// at the 1 % level one of fifty may stand out by chance, four do in one of
// some six hundred runs.
func TestPosteriorStaysCalibrated(t *testing.T) {
	beyond := 0
	for seed := range uint64(10) {
		for q, histogram := range ranks(t, calibrated, seed+100, 1000, 1) {
			chi := histogram.ChiSquare()
			t.Logf("seed %d, %s: chi-square(19) %.2f", seed, quantities[q], chi)
			if chi > score.StandardCritical {
				beyond++
			}
		}
	}
	if beyond > 3 {
		t.Errorf("%d of 50 histograms beyond the 1 %% critical value", beyond)
	}
}
