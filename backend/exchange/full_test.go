package exchange_test

import (
	"fmt"
	"strings"
	"testing"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// SQLite is told that the disk has only a few pages left, which it answers
// like a full one. The phone hears so, nothing is lost or half there, and it
// goes on when there is space again.
func TestADiskThatIsFull(t *testing.T) {
	phone, bin := mustBegin(t)
	db := phone.Store.App.NonconcurrentDB()
	var pages int
	if err := db.NewQuery("PRAGMA page_count").Row(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := db.NewQuery(fmt.Sprintf("PRAGMA max_page_count = %d", pages+8)).Execute(); err != nil {
		t.Fatal(err)
	}
	want, full := 0, 0
	var waiting [][]husbandry.Entry
	for range 20 {
		batch := make([]husbandry.Entry, 100)
		for i := range batch {
			batch[i] = phone.Log(bin.ID, husbandry.Note, func(e *husbandry.Entry) { e.Note = strings.Repeat("words ", 100) })
		}
		status, answer, header := phone.Call("POST", "/api/underlog/exchange", phone.Token, phone.Request(nil, batch))
		switch {
		case status == 200:
			want += len(batch)
		case status == 503 && header.Get("Retry-After") != "" && strings.Contains(string(answer), "Nothing is lost"):
			full++
			waiting = append(waiting, batch)
		default:
			t.Fatalf("answered %d %s", status, answer)
		}
	}
	if full == 0 {
		t.Fatal("the disk was never full, so the test shows nothing")
	}
	if count, err := phone.Store.App.CountRecords(store.Logs); err != nil || int(count) != want {
		t.Errorf("%d entries are stored (%v), want the %d that were acknowledged", count, err, want)
	}
	if answer := phone.MustExchange(nil, nil); answer.Epoch != phone.Epoch { // reading still works
		t.Errorf("the epoch changed: %+v", answer)
	}
	if _, err := db.NewQuery("PRAGMA max_page_count = 1073741823").Execute(); err != nil {
		t.Fatal(err)
	}
	for _, batch := range waiting {
		phone.MustStore(nil, batch...)
		want += len(batch)
	}
	if count, err := phone.Store.App.CountRecords(store.Logs); err != nil || int(count) != want {
		t.Errorf("%d entries are stored (%v), want %d", count, err, want)
	}
}
