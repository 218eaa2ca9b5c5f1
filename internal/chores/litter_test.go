package chores

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
)

// What is put down: in halves, more on a barer floor, more on a larger one,
// more for those that eat more, and never a heap.
func TestHandfulsOfLeaves(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		length := rapid.Float64Range(150, 600).Draw(rt, "length")
		// How long after each full cover it was seen thin.
		every := rapid.Float64Range(5, 60).Draw(rt, "days until thin")
		seen := rapid.IntRange(1, 3).Draw(rt, "times seen")
		history := func(every float64) (entries []husbandry.Entry) {
			for i := seen + 1; i > 1; i-- {
				at := evening.Add(-time.Duration(float64(i) * every * 24 * float64(time.Hour)))
				entries = append(entries,
					husbandry.Entry{At: at.Add(-time.Hour), What: husbandry.Leaves, Leaves: "thin"},
					husbandry.Entry{At: at, What: husbandry.AddLeaves, Handfuls: 1})
			}
			return append(entries,
				husbandry.Entry{At: evening.Add(-25 * time.Hour), What: husbandry.Leaves, Leaves: "bare"},
				husbandry.Entry{At: evening.Add(-time.Hour), What: husbandry.Leaves, Leaves: "bare"})
		}
		ask := func(length, every float64) husbandry.Chore {
			room := setUp{bin: func(bin *husbandry.Bin) { bin.LengthMM = length }, entries: history(every)}.make()
			return room.household.leavesChore(room.bins[0])
		}
		chore := ask(length, every)
		wanted := chore.HandfulsIf
		if len(wanted) != 3 && chore.Opens.After(evening) {
			rt.Skip("not bare for all that was seen")
		}
		if len(wanted) != 3 || wanted["bare"] < wanted["thin"] || wanted["thin"] < wanted["plenty"] || wanted["bare"] < 0.5 {
			rt.Fatalf("wanted %v", wanted)
		}
		full := fullHandfulsPerM2 * length * 200 * 1e-6
		for word, handfuls := range wanted {
			if handfuls != math.Round(2*handfuls)/2 || handfuls < 0 || handfuls > deepCover*full+0.5 {
				rt.Fatalf("%s: %g handfuls, %g cover the floor", word, handfuls, full)
			}
		}
		if double := ask(2*length, every).HandfulsIf; len(double) > 0 && double["bare"] < wanted["bare"] {
			rt.Fatalf("%v on a floor, %v on one of twice its size", wanted, double)
		}
		if slow := ask(length, 1.5*every).HandfulsIf; slow["bare"] > wanted["bare"]+0.5 {
			rt.Fatalf("%v for those that eat more, %v for those that eat less", wanted, slow)
		}
	})
}
