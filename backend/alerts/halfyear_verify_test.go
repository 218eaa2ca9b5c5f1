//go:build verify

package alerts_test

import "testing"

// Half a year of sixty bins.
func TestHalfAYearOfSixtyBins(t *testing.T) { live(t, 182, 60) }
