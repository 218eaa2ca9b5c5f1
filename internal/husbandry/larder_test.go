package husbandry_test

import (
	"slices"
	"testing"

	"underlog/internal/husbandry"
)

// Leaves are doubtful unless tree and place are known, nobody sprayed them and
// they were heated as is usual. The app says so too.
func TestWhenLeavesAreDoubtful(t *testing.T) {
	var file struct {
		Cases []struct {
			Batch  husbandry.Batch `json:"batch"`
			Doubts []string        `json:"doubts"`
		} `json:"cases"`
	}
	MustReadJSON(t, "../../testdata/doubts.json", &file)
	for _, c := range file.Cases {
		if got := c.Batch.Doubts(); !slices.Equal(got, c.Doubts) {
			t.Errorf("%+v: %q, want %q", c.Batch, got, c.Doubts)
		}
	}
	fahrenheit := husbandry.Batch{Tree: "oak", Place: "quarry", Sprayed: "no", HeatedC: (200 - 32) / 1.8, HeatedMinutes: 30}
	if got := fahrenheit.Doubts(); got != nil {
		t.Errorf("half an hour at 200 °F: %q", got)
	}
}

func TestSlugsAndUnitsOfTheLarder(t *testing.T) {
	if !husbandry.SameSlug(" Oak-7", "oak-7") || husbandry.SameSlug("oak-7", "oak-8") {
		t.Error("slugs are compared wrongly")
	}
	if h := (husbandry.Batch{Amount: 4, Unit: "litres"}).Handfuls(); h != 4/husbandry.LitresPerHandful {
		t.Errorf("4 litres are %g handfuls", h)
	}
	mix := husbandry.Mix{Parts: []husbandry.Part{{Batch: "a"}, {Ingredient: "sand"}, {Batch: "A "}, {Batch: "b"}}}
	if got := mix.Batches(); !slices.Equal(got, []string{"a", "b"}) {
		t.Errorf("batches %q", got)
	}
}
