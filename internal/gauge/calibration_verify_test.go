//go:build verify

package gauge

import "testing"

// The long version: every gauge, ten times as many truths, so that a bias of a
// few hundredths of a standard deviation shows.
func TestCalibrationOfEveryGauge(t *testing.T) {
	for name, p := range everyGauge() {
		r := calibrate(77, p, 10000, 16, 1)
		for what, ranks := range map[string]chiSquarer{"rate": r.rate, "store": r.store, "surface": r.surface} {
			if chi := ranks.ChiSquare(); chi >= chiSquare99 {
				t.Errorf("%s, %s: chi-square %.2f, want below %.2f", name, what, chi, chiSquare99)
			} else {
				t.Logf("%s, %s: chi-square %.2f", name, what, chi)
			}
		}
	}
}

type chiSquarer interface{ ChiSquare() float64 }
