package passes_test

import (
	"encoding/json"
	"strings"
	"testing"

	"underlog/backend/passes"
	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// Whatever comes with a pass, the decoder takes it or says what is wrong, and
// what it takes is within the bounds.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{
		`{"protocol":1,"device":"0123456789abcdef0123456789abcdef","epoch":"","entries":[]}`,
		`{"protocol":1,"device":"0123456789abcdef0123456789abcdef","entries":[{"id":"a","what":"feel","feel":"dry"},5,null]}`,
		`{"protocol":1,"device":"0123456789abcdef0123456789abcdef","sheets":[{}],"entries":null}`,
		`{"protocol":2,"entries":{}}`, `{"protocol":1,"entries":7}`, `[]`, `null`, ``, `{"protocol":1`, "{\"protocol\":1,\"device\":\"\xff\"}",
		`{"protocol":1,"protocol":2}`, `{"Protocol":1,"DEVICE":"0123456789abcdef0123456789abcdef"}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		request, refusal := passes.Parse(raw)
		if refusal != nil {
			if request != nil || refusal.Status < 400 || refusal.Status > 499 || !strings.HasSuffix(refusal.Sentence, ".") {
				t.Errorf("refused with %+v", refusal)
			}
			if _, err := json.Marshal(refusal); err != nil {
				t.Error(err)
			}
			return
		}
		if !husbandry.IsRecordID(request.Device) || len(request.Entries) > passes.MostOffers {
			t.Errorf("taken: %+v", request)
		}
	})
}

// Whatever an entry says, a pass stores none that lies beyond its reach: the
// whole way, from the bytes to the records.
func FuzzWhatAPassStores(f *testing.F) {
	h := mustBegin(f, nil)
	h.Clock.Advance(3 * days)
	bins := map[string]bool{h.first.ID: true, h.second.ID: true, "": true}
	for _, entry := range []husbandry.Entry{h.sitter.Feel(h.first.ID, "dry"), h.sitter.Feel(h.other.ID, "dry"), h.sitter.Says("", "x"),
		h.sitter.Log(h.other.ID, husbandry.Renew, nil), h.sitter.Log(h.first.ID, husbandry.Leftovers, func(e *husbandry.Entry) { e.Of, e.Left = h.otherFed.ID, "all gone" })} {
		raw, err := json.Marshal(entry)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, entry []byte) {
		if !json.Valid(entry) {
			return
		}
		last, err := h.Store.Last()
		if err != nil {
			t.Fatal(err)
		}
		server := *h.Trial
		server.TB = t
		server.Call("POST", "/api/underlog/pass/exchange", h.sitter.Token(), map[string]any{"protocol": 1, "device": h.sitter.Device,
			"entries": []json.RawMessage{entry}})
		page, err := h.Store.Since(last, 10, store.Skip{First: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, raw := range page.Entries {
			var got husbandry.Entry
			if err := json.Unmarshal(raw, &got); err != nil {
				t.Fatal(err)
			}
			if got.By != h.sitter.Person || got.Device != h.sitter.Device || !bins[got.Bin] ||
				got.What == husbandry.Renew || got.What == husbandry.Climate || got.Of == h.otherFed.ID {
				t.Errorf("a pass stored %s", raw)
			}
		}
		if len(page.Sheets) > 0 {
			t.Errorf("a pass stored a sheet: %+v", page.Sheets)
		}
	})
}
