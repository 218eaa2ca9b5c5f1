package exchange_test

import (
	"testing"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// A wrong entry stands at every place of a batch in turn: it alone is refused.
func TestARefusalAtEveryPlaceOfABatch(t *testing.T) {
	phone, bin := mustBegin(t)
	const size = 40
	for place := range size {
		batch := make([]husbandry.Entry, size)
		for i := range batch {
			batch[i] = water(phone, bin.ID)
		}
		batch[place].WaterML = -1
		answer := phone.MustExchange(nil, batch)
		if len(answer.Verdicts) != size {
			t.Fatalf("place %d: %d verdicts", place, len(answer.Verdicts))
		}
		for i, verdict := range answer.Verdicts {
			want := store.Stored
			if i == place {
				want = store.Refused
			}
			if verdict.ID != batch[i].ID || verdict.Verdict != want {
				t.Fatalf("wrong at %d: verdict %d is %+v", place, i, verdict)
			}
		}
	}
	if count, err := phone.Store.App.CountRecords(store.Logs); err != nil || count != size*(size-1) {
		t.Errorf("%d entries are stored (%v), want %d", count, err, size*(size-1))
	}
}
