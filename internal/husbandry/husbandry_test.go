package husbandry

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var now = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

func TestBadEntryGetsASentence(t *testing.T) {
	tests := []struct{ name, entry, want string }{
		{"dose below", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"water","water_ml":-3}`, "water_ml is -3: give a number from 1 to 2000 mL."},
		{"dose as words", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"water","water_ml":"much"}`, `water_ml is "much": give a number from 1 to 2000 mL.`},
		{"dose infinite", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"water","water_ml":1e999}`, "water_ml is 1e999: give a number from 1 to 2000 mL."},
		{"date in 1890", `{"id":"e1","bin":"b1","at":"1890-05-28T19:05:00+02:00","what":"look"}`, "at is 1890-05-28T19:05:00+02:00: give a time such as 2026-05-28T19:05:00+02:00, from 1990 on and not in the future."},
		{"date next year", `{"id":"e1","bin":"b1","at":"2027-05-28T19:05:00+02:00","what":"look"}`, "not in the future"},
		{"unknown reading", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"feel","feel":"moist"}`, "feel is moist: give one of dry, barely, damp, soaked."},
		{"no reading", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"feel"}`, "feel is missing: give one of dry, barely, damp, soaked."},
		{"no bin", `{"id":"e1","at":"2026-05-28T19:05:00+02:00","what":"look"}`, "bin is missing"},
		{"field of another sort", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"feel","feel":"dry","water_ml":30}`, `water_ml is 30: leave it out of an entry that says "feel".`},
		{"unknown what", `{"id":"e1","what":"dance"}`, "what is dance: give one of"},
		{"long note", `{"id":"e1","at":"2026-05-28T19:05:00+02:00","what":"note","note":"` + strings.Repeat("x", 10000) + `"}`, "(10000 characters): give at most 2000 characters."},
		{"empty note", `{"id":"e1","at":"2026-05-28T19:05:00+02:00","what":"note","note":""}`, "note is missing"},
		{"empty climate", `{"id":"e1","at":"2026-05-28T19:05:00+02:00","what":"climate"}`, "give temperature_c, humidity_pct or both"},
		{"half a piece", `{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"feed","food":"melon","pieces":1.5}`, "pieces is 1.5: give a whole number from 1 to 200."},
		{"cut off", `{"id":"e1","bin":"b1"`, "give one whole JSON object"},
		{"a list", `[]`, "give one whole JSON object"},
		{"null", `null`, "give one whole JSON object"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, problems := CheckEntry([]byte(test.entry), now)
			if problems == nil || !strings.Contains(problems.Error(), test.want) {
				t.Errorf("got %q, want it to say %q", problems, test.want)
			}
		})
	}
}

func TestSoundEntries(t *testing.T) {
	for _, entry := range []string{
		`{"id":"e1","bin":"b07","at":"2026-05-28T19:05:00+02:00","what":"feel","feel":"barely"}`,
		`{"id":"e2","bin":"b07","at":"2026-05-28T19:05:00+02:00","what":"water","water_ml":37}`,
		`{"id":"e3","bin":"b07","at":"2026-05-28T19:06:00+02:00","what":"feed","food":"melon","pieces":2}`,
		`{"id":"e4","bin":"b07","at":"2026-05-29T18:40:00+02:00","what":"leftovers","of":"e3","left":"some left","mould":"none","removed":false}`,
		`{"id":"e9","at":"2026-05-28T19:05:00+02:00","what":"climate","temperature_c":20.4,"humidity_pct":0}`,
		`{"id":"e10","bin":"b07","at":"2026-05-28T19:05:00+02:00","what":"strike","struck":"e3"}`,
	} {
		if _, problems := CheckEntry([]byte(entry), now); problems != nil {
			t.Errorf("%s: %v", entry, problems)
		}
	}
}

func TestBadSheetGetsASentence(t *testing.T) {
	stamp := string(NextStamp(now, "phone", ""))
	sheet := func(field, value string) string {
		return fmt.Sprintf(`{"sheet":"bins","id":"b1","fields":{%q:{"v":%s,"s":%q}}}`, field, value, stamp)
	}
	tests := []struct{ name, sheet, want string }{
		{"4 km long", sheet("length_mm", "4000000"), "length_mm is 4000000: give a number from 40 to 2000 mm."},
		{"name of 10000", sheet("name", `"`+strings.Repeat("ä", 10000)+`"`), "(10000 characters): give 1 to 80 characters."},
		{"blank name", sheet("name", `"  "`), "name is missing: give 1 to 80 characters."},
		{"renewed next year", sheet("substrate_renewed", `"2027-01-01"`), "substrate_renewed is 2027-01-01"},
		{"unknown field", sheet("colour", `"teal"`), "leave it out: bins have no such field"},
		{"opening without size", sheet("openings", `[{"where":"lid","shape":"round"}]`), "openings 1, diameter_mm is missing: give a number from 0.3 to 500 mm."},
		{"openings as word", sheet("openings", `"many"`), "openings is \"many\": give a list."},
		{"no stamp", `{"sheet":"bins","id":"b1","fields":{"name":{"v":"A","s":"now"}}}`, "name stamp is now"},
		{"unknown sort", `{"sheet":"cars","id":"b1","fields":{}}`, "sheet is cars: give one of batches, bins, foods, kinds, mixes, rooms, stock, supplies, trips."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, problems := CheckSheet([]byte(test.sheet), now)
			if problems == nil || !strings.Contains(problems.Error(), test.want) {
				t.Errorf("got %q, want it to say %q", problems, test.want)
			}
		})
	}
}

func TestSeedsAndDefaultsKeepTheRules(t *testing.T) {
	for _, seed := range Seeds() {
		if problems := CheckWhole(seed.Sheet, seed.Flat(), now); problems != nil {
			t.Errorf("%s %s: %v", seed.Sheet, seed.ID, problems)
		}
		raw, _ := json.Marshal(seed)
		if _, problems := CheckSheet(raw, now); problems != nil {
			t.Errorf("%s %s: %v", seed.Sheet, seed.ID, problems)
		}
		if !IsRecordID(seed.ID) {
			t.Errorf("%s cannot be stored", seed.ID)
		}
	}
	room, err := NewSheet("rooms", UsualRoom(), SeedStamp)
	if err != nil {
		t.Fatal(err)
	}
	if problems := CheckWhole("rooms", room.Flat(), now); problems != nil {
		t.Error(problems)
	}
	tub := CommonTub()
	tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position, tub.Kind = "b1", "New", "A", 1, 1, "cubaris"
	bin, _ := NewSheet("bins", tub, SeedStamp)
	delete(bin.Fields, "substrate_renewed")
	if problems := CheckWhole("bins", bin.Flat(), now); problems != nil {
		t.Error(problems)
	}
}

// Whatever arrives first, all replicas agree (the laws of a join).
func TestMergeAgreesInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		edit := rapid.Custom(func(t *rapid.T) Sheet {
			return Sheet{Sheet: "bins", ID: "b", Fields: map[string]Stamped{
				rapid.SampledFrom([]string{"name", "rack", "deleted"}).Draw(t, "field"): {
					Value: json.RawMessage(rapid.SampledFrom([]string{`"a"`, `"b"`, "true"}).Draw(t, "value")),
					Stamp: NextStamp(time.UnixMilli(rapid.Int64Range(0, 3).Draw(t, "ms")), rapid.SampledFrom([]string{"p", "q"}).Draw(t, "device"), ""),
				}}}
		})
		edits := rapid.SliceOfN(edit, 1, 8).Draw(t, "edits")
		other := rapid.Permutation(edits).Draw(t, "other order")
		var a, b Sheet
		for i := range edits {
			a.Merge(edits[i])
			b.Merge(other[i])
			b.Merge(other[i]) // twice does no harm
		}
		rawA, _ := json.Marshal(a.Fields)
		rawB, _ := json.Marshal(b.Fields)
		if string(rawA) != string(rawB) {
			t.Fatalf("%s differs from %s", rawA, rawB)
		}
	})
}

// A stamp is later than all that the device has seen, whatever its clock says.
func TestNextStampIsLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var last Stamp
		for range rapid.IntRange(1, 20).Draw(t, "edits") {
			ms := rapid.Int64Range(0, 5).Draw(t, "clock")
			next := NextStamp(time.UnixMilli(ms), "phone", last)
			if next <= last || !stampPattern.MatchString(string(next)) {
				t.Fatalf("%q after %q", next, last)
			}
			last = next
		}
	})
	full := Stamp("000000000005-ffff-phone")
	if next := NextStamp(time.UnixMilli(1), "phone", full); next != "000000000006-0000-phone" {
		t.Errorf("the counter ran over: %q", next)
	}
}

func FuzzCheckEntry(f *testing.F) {
	f.Add([]byte(`{"id":"e1","bin":"b07","at":"2026-05-28T19:05:00+02:00","what":"feel","feel":"barely"}`))
	f.Add([]byte(`{"what":"climate","at":null}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		entry, problems := CheckEntry(raw, now)
		if problems == nil && (entry.ID == "" || entry.At.IsZero()) {
			t.Errorf("accepted without id or time: %q", raw)
		}
	})
}

// The short way to read a string is the long way's.
func TestPlainTextIsWhatJSONSays(t *testing.T) {
	for _, raw := range []string{`"e7"`, `""`, `"a b"`, `"é"`, `"a\nb"`, `"\u0041"`, `"a"b"`, `"`, `7`, `null`, "\"a\tb\"", `"a\\"`} {
		got, ok := plainText([]byte(raw))
		var want string
		err := json.Unmarshal([]byte(raw), &want)
		if ok && (err != nil || got != want) {
			t.Errorf("%s reads %q, JSON says %q, %v", raw, got, want, err)
		}
	}
	if _, ok := plainText([]byte(`"e7"`)); !ok {
		t.Error("an id is not plain")
	}
}

// What is taken apart the short way is what JSON makes of it.
func FuzzTakeApart(f *testing.F) {
	for _, raw := range []string{
		`{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00Z","what":"water","water_ml":37.5}`,
		" {\t\"a\" : 1e3 ,\r\n\"b\":null, \"a\":true } ", `{"é":"é","a":"é"}`, "{\"a\":\"\xff\"}", `{}`, `{"a":[]}`, `{"a":[1,2]}`, `{"a":{}}`,
		`{"a":"\u0041"}`, `{"":1}`, `{"a":1}}`, `{"a":1,}`, `{"a":01}`, `{"a":1 2}`, `{"a" 1}`, `{"a":}`, `{"a":"b`, `{"a":1`, `{"a"`, `{`, ``, `null`, `7`,
	} {
		f.Add([]byte(raw))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		given, ok := takeApart(raw)
		if !ok {
			return
		}
		want, problem := object(raw)
		if problem != nil {
			t.Fatalf("%q is taken apart, and JSON says: %s", raw, problem)
		}
		if !reflect.DeepEqual(given, want) {
			t.Fatalf("%q is taken apart as %q, JSON says %q", raw, given, want)
		}
	})
}

// Entries as devices write them go the short way.
func TestADevicesEntryIsTakenApart(t *testing.T) {
	for _, what := range []string{`"feel","feel":"barely"`, `"water","water_ml":37.5`, `"feed","food":"melon","cooked":true`} {
		given, ok := takeApart([]byte(`{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00Z","what":` + what + `}`))
		if !ok || string(given["id"]) != `"e1"` || len(given) < 5 {
			t.Errorf("%s is taken apart as %q, %v", what, given, ok)
		}
	}
}

// An entry that was taken apart is typed as JSON would have typed it whole.
func TestAnEntryTakenApartIsTheEntry(t *testing.T) {
	for _, raw := range []string{
		`{"id":"e1","bin":"b1","at":"2026-05-28T19:05:00+02:00","what":"feel","feel":"barely","by":"J\u00f8rn","note":"a \"b\""}`,
		`{"id":"e2","bin":"b1","at":"2026-05-28T19:05:00Z","what":"feed","food":"melon","pieces":2,"cooked":true,"side":null}`,
		`{"id":"e3","at":"2026-05-28T19:05:00.25Z","what":"climate","temperature_c":20.4,"humidity_pct":47}`,
		`{"id":"e4","bin":"b1","at":"2026-05-28T19:05:00Z","what":"water","water_ml":37.5}`,
		`{"id":"e5","bin":"b1","at":"2026-05-28T19:05:00Z","what":"strike","struck":"e1"}`,
	} {
		var want Entry
		if err := json.Unmarshal([]byte(raw), &want); err != nil {
			t.Fatal(err)
		}
		got, problems := CheckEntry([]byte(raw), time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
		if problems != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, want %+v; %v", raw, got, want, problems)
		}
	}
}
