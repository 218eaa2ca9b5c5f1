package exchange_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"underlog/backend/exchange"
	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

func mustBegin(t testing.TB) (*trial.Phone, husbandry.Sheet) {
	t.Helper()
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	bin := phone.Bin("Pied pillbugs")
	phone.MustStore([]husbandry.Sheet{bin})
	phone.MustExchange(nil, nil)
	return phone, bin
}

func water(p *trial.Phone, bin string) husbandry.Entry {
	return p.Log(bin, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = 37 })
}

func verdictsOf(answer trial.Answer) string {
	var words []string
	for _, verdict := range answer.Verdicts {
		words = append(words, verdict.Verdict)
	}
	return strings.Join(words, " ")
}

func TestOfferingTwiceStoresOnce(t *testing.T) {
	phone, bin := mustBegin(t)
	entry := water(phone, bin.ID)
	phone.MustStore(nil, entry)
	edit := phone.Edit(bin, "name", "Pillbugs")
	phone.MustStore([]husbandry.Sheet{edit})
	last := phone.Cursor
	answer := phone.MustExchange([]husbandry.Sheet{edit}, []husbandry.Entry{entry, entry})
	if got := verdictsOf(answer); got != "duplicate duplicate duplicate" {
		t.Errorf("the verdicts are %q", got)
	}
	if answer.Durable != last || len(answer.Entries)+len(answer.Sheets) != 0 {
		t.Errorf("something was written or sent back: durable %d after %d, %d records", answer.Durable, last, len(answer.Entries)+len(answer.Sheets))
	}
	if count, err := phone.Store.App.CountRecords(store.Logs); err != nil || count != 1 {
		t.Errorf("%d entries are stored (%v), want 1", count, err)
	}
}

func TestWhatIsHereIsKnownByItsName(t *testing.T) {
	phone, bin := mustBegin(t)
	here, lost := water(phone, bin.ID), water(phone, bin.ID)
	phone.MustStore(nil, here)
	phone.Cursor-- // it has not heard of it
	request := phone.Request(nil, nil)
	request["asked"] = []string{lost.ID, here.ID, bin.ID, "nothing"}
	var answer trial.Answer
	phone.MustCall("POST", exchange.Path, phone.Token, request, 200, &answer)
	if len(answer.Verdicts) != 1 || answer.Verdicts[0].ID != here.ID || answer.Verdicts[0].Verdict != store.Duplicate {
		t.Errorf("the verdicts are %+v", answer.Verdicts)
	}
	if len(answer.Entries) != 0 {
		t.Errorf("%d entries are sent to who has them", len(answer.Entries))
	}
	phone.MustStore(nil, lost)
	request["asked"] = make([]string, exchange.MostAsked+1)
	if status, raw, _ := phone.Call("POST", exchange.Path, phone.Token, request); status != 413 || !strings.Contains(string(raw), "asked is 10001 ids: give at most 10000") {
		t.Errorf("too many names: %d %s", status, raw)
	}
}

func TestTheSameIdWithOtherBytesIsRefused(t *testing.T) {
	phone, bin := mustBegin(t)
	entry := water(phone, bin.ID)
	phone.MustStore(nil, entry)
	entry.WaterML = 38
	answer := phone.MustExchange(nil, []husbandry.Entry{entry})
	if verdict := answer.Verdicts[0]; verdict.Verdict != store.Refused || !strings.Contains(verdict.Sentence, "never changes") {
		t.Errorf("the verdict is %+v", verdict)
	}
}

// One wrong record at every position of a batch: it is refused with a
// sentence, and every other one is stored.
func TestARefusalHoldsUpNobody(t *testing.T) {
	wrong := map[string]struct {
		record any
		says   string
	}{
		"a dose below nothing": {map[string]any{"what": "water", "water_ml": -3}, "water_ml is -3: give a number from 1 to 2000 mL."},
		"a long time ago":      {map[string]any{"what": "look", "at": "1890-01-01T00:00:00Z"}, "at is 1890"},
		"next year":            {map[string]any{"what": "look", "at": "2027-05-28T10:00:00Z"}, "not in the future"},
		"an unknown reading":   {map[string]any{"what": "feel", "feel": "soggy"}, "feel is soggy: give one of dry, barely, damp, soaked."},
		"an unknown what":      {map[string]any{"what": "sing"}, "what is sing"},
		"a bin of nowhere":     {map[string]any{"what": "look", "bin": trial.NewID()}, "bin is "},
		"a feeding of nowhere": {map[string]any{"what": "leftovers", "of": trial.NewID(), "left": "all gone"}, "of is "},
		"a strike of nothing":  {map[string]any{"what": "strike", "struck": trial.NewID()}, "struck is "},
		"a field too many":     {map[string]any{"what": "look", "water_ml": 5}, "leave it out"},
		"a text for a number":  {map[string]any{"what": "water", "water_ml": "much"}, `water_ml is "much"`},
		"a note of a book":     {map[string]any{"what": "note", "note": strings.Repeat("é", 10000)}, "give at most 2000 characters"},
		"an id in capitals":    {map[string]any{"what": "look", "id": "ABCDEFABCDEFABCDEF"}, "give 15 to 32 lower-case letters and digits"},
		"no object":            {5, "give one whole JSON object"},
		"nothing":              {nil, "give one whole JSON object"},
	}
	const size = 5
	phone, bin := mustBegin(t)
	for name, c := range wrong {
		t.Run(name, func(t *testing.T) {
			for position := range size {
				batch := make([]any, size)
				for i := range batch {
					batch[i] = water(phone, bin.ID)
				}
				batch[position] = c.record
				if fields, ok := c.record.(map[string]any); ok {
					whole := map[string]any{"id": trial.NewID(), "bin": bin.ID, "at": phone.Clock.Now().Format(time.RFC3339)}
					for field, value := range fields {
						whole[field] = value
					}
					batch[position] = whole
				}
				answer := phone.MustExchange(nil, batch)
				for i, verdict := range answer.Verdicts {
					if want := i != position; (verdict.Verdict == store.Stored) != want {
						t.Errorf("position %d of %d: %+v", i, position, verdict)
					}
				}
				if verdict := answer.Verdicts[position]; !strings.Contains(verdict.Sentence, c.says) || len(verdict.Problems) == 0 {
					t.Errorf("it says %q, want %q", verdict.Sentence, c.says)
				}
			}
		})
	}
}

func TestSheetsThatAreWrongAreRefused(t *testing.T) {
	phone, bin := mustBegin(t)
	helper := phone.MustAddHelper("Kim")
	phone.Clock.Advance(time.Second) // an edit is later than what it changes
	trip := phone.Sheet("trips", aTrip())
	phone.MustExchange([]any{trip}, nil)
	phone.Clock.Advance(time.Second)
	edit := func(field string, value any) husbandry.Sheet { return phone.Edit(bin, field, value) }
	cases := map[string]struct {
		by    *trial.Phone
		sheet any
		says  string
	}{
		"a bin of 4 km":        {phone, edit("length_mm", 4e6), "length_mm is 4000000: give a number from 40 to 2000 mm."},
		"a name too long":      {phone, edit("name", strings.Repeat("x", 10000)), "give 1 to 80 characters"},
		"a name taken away":    {phone, edit("name", nil), "name is missing"},
		"an unknown field":     {phone, edit("colour", "red"), "colour"},
		"half a bin":           {phone, husbandry.Sheet{Sheet: "bins", ID: trial.NewID(), Fields: edit("name", "x").Fields}, "rack is missing"},
		"a second room":        {phone, phone.Sheet("rooms", secondRoom()), husbandry.RoomID},
		"a helper in the room": {helper, helper.Edit(husbandry.Sheet{Sheet: "rooms", ID: husbandry.RoomID}, "name", "Mine"), "ask the owner"},
		"a helper's trip":      {helper, helper.Sheet("trips", aTrip()), "ask the owner"},
		"a helper's days":      {helper, helper.Edit(trip, "days", []string{"2026-06-03"}), "ask the owner"},
		"an unknown sort":      {phone, husbandry.Sheet{Sheet: "people", ID: trial.NewID()}, "sheet is people"},
		"a wrong stamp":        {phone, json.RawMessage(`{"sheet":"bins","id":"` + bin.ID + `","fields":{"name":{"v":"x","s":"now"}}}`), "stamp is now"},
		"no object":            {phone, 5, "give one whole JSON object"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			answer := c.by.MustExchange([]any{c.sheet}, nil)
			if verdict := answer.Verdicts[0]; verdict.Verdict != store.Refused || !strings.Contains(verdict.Sentence, c.says) {
				t.Errorf("the verdict is %+v, want a refusal that says %q", verdict, c.says)
			}
		})
	}
	if answer := helper.MustExchange([]any{helper.Edit(bin, "note", "by the door")}, nil); verdictsOf(answer) != "stored" {
		t.Errorf("a helper's edit of a bin: %+v", answer.Verdicts)
	}
}

func aTrip() husbandry.Trip {
	trip := husbandry.UsualTrip()
	trip.ID, trip.Name, trip.Leaves, trip.Returns = trial.NewID(), "Away", "2026-06-01", "2026-06-12"
	return trip
}

func secondRoom() husbandry.Room {
	room := husbandry.UsualRoom()
	room.ID = trial.NewID()
	return room
}

func TestTwoPhonesSeeEachOther(t *testing.T) {
	phone, bin := mustBegin(t)
	helper := phone.MustAddHelper("Kim")
	first := helper.MustExchange(nil, nil)
	if len(first.Sheets) == 0 || len(first.People) != 2 {
		t.Fatalf("a new phone got %d sheets and %d people", len(first.Sheets), len(first.People))
	}
	mine, theirs := water(phone, bin.ID), water(helper, bin.ID)
	phone.MustStore(nil, mine)
	answer := helper.MustStore(nil, theirs)
	if len(answer.Entries) != 1 || answer.Entries[0].ID != mine.ID {
		t.Errorf("the helper got %+v", answer.Entries)
	}
	answer = phone.MustExchange(nil, nil)
	if len(answer.Entries) != 1 || answer.Entries[0].ID != theirs.ID {
		t.Errorf("the owner got %+v", answer.Entries)
	}
	if answer = phone.MustExchange(nil, nil); len(answer.Entries)+len(answer.Sheets) != 0 || answer.More {
		t.Errorf("there is more: %+v", answer)
	}
}

func TestTheServerSaysWhoWroteWhat(t *testing.T) {
	phone, bin := mustBegin(t)
	helper := phone.MustAddHelper("Kim")
	bare := water(helper, bin.ID)
	bare.By, bare.Device = "", ""
	helper.MustStore(nil, bare)
	got := phone.MustExchange(nil, nil).Entries[0]
	if got.By != helper.Person.ID || got.Device != helper.Device {
		t.Errorf("by %s on %s, want %s on %s", got.By, got.Device, helper.Person.ID, helper.Device)
	}
	forged := water(helper, bin.ID)
	forged.By = phone.Person.ID
	if verdict := helper.MustExchange(nil, []husbandry.Entry{forged}).Verdicts[0]; verdict.Verdict != store.Refused {
		t.Errorf("an entry in the owner's name: %+v", verdict)
	}
}

// The later stamp wins for each field, whoever comes first.
func TestEditsMergeInEitherOrder(t *testing.T) {
	var ends []string
	for _, order := range [][]int{{0, 1, 2}, {2, 1, 0}, {1, 2, 0}, {2, 0, 1}} {
		phone, bin := mustBegin(t)
		stamp := func(s string) husbandry.Stamp { return husbandry.Stamp("019c00000000-000" + s + "-a") }
		set := func(field, value, s string) husbandry.Sheet {
			return husbandry.Sheet{Sheet: "bins", ID: bin.ID, Fields: map[string]husbandry.Stamped{
				field: {Value: json.RawMessage(value), Stamp: stamp(s)}}}
		}
		for name := range bin.Fields { // older than the edits
			bin.Fields[name] = husbandry.Stamped{Value: bin.Fields[name].Value, Stamp: husbandry.SeedStamp}
		}
		edits := []husbandry.Sheet{set("name", `"first"`, "1"), set("name", `"second"`, "2"), set("note", `"kept"`, "1")}
		fresh := bin
		fresh.ID = trial.NewID()
		phone.MustStore([]husbandry.Sheet{fresh})
		for _, i := range order {
			edits[i].ID = fresh.ID
			phone.MustExchange([]husbandry.Sheet{edits[i]}, nil)
		}
		got, err := phone.Store.Bin(fresh.ID)
		if err != nil {
			t.Fatal(err)
		}
		ends = append(ends, got.Name+" "+got.Note)
	}
	for _, end := range ends {
		if end != "second kept" {
			t.Errorf("the orders ended in %q", ends)
		}
	}
}

// An edit that loses against one which the device has not seen yet comes back
// with the winner, although the device has just sent that sheet itself.
func TestALosingEditLearnsOfTheWinner(t *testing.T) {
	phone, bin := mustBegin(t)
	helper := phone.MustAddHelper("Kim")
	helper.MustExchange(nil, nil)
	late := helper.Edit(bin, "name", "mine")
	phone.Clock.Advance(time.Minute)
	phone.MustStore([]husbandry.Sheet{phone.Edit(bin, "name", "later")})
	answer := helper.MustExchange([]husbandry.Sheet{late, helper.Edit(bin, "note", "damp corner")}, nil)
	if len(answer.Sheets) != 1 || string(answer.Sheets[0].Fields["name"].Value) != `"later"` {
		t.Errorf("the helper got %+v", answer.Sheets)
	}
}

func TestAnOlderServerLearnsAgain(t *testing.T) {
	phone, bin := mustBegin(t)
	entry := water(phone, bin.ID)
	phone.MustStore(nil, entry)
	epoch, cursor := phone.Epoch, phone.Cursor
	// The server comes back from a copy without that entry.
	for _, query := range []string{"DELETE FROM logs", "DELETE FROM feed WHERE sort = 'logs'"} {
		if _, err := phone.Store.App.NonconcurrentDB().NewQuery(query).Execute(); err != nil {
			t.Fatal(err)
		}
	}
	answer := phone.MustExchange(nil, nil)
	if answer.Epoch == epoch || answer.Durable >= cursor || answer.Cursor != 0 || !answer.More {
		t.Fatalf("the server does not say that it is older: %+v", answer)
	}
	seen := map[string]bool{}
	for more := true; more; more = answer.More {
		answer = phone.MustExchange(nil, nil)
		for _, sheet := range answer.Sheets {
			seen[sheet.ID] = true
		}
	}
	if !seen[bin.ID] {
		t.Error("the feed was not read anew from the start")
	}
	if answer := phone.MustExchange(nil, []husbandry.Entry{entry}); verdictsOf(answer) != "stored" {
		t.Errorf("offered again: %+v", answer.Verdicts)
	}
}

// The owner's phone is lost with what it wrote in the very moment in which the
// server lost it too; a helper's phone has it.
func TestAHelperBringsBackWhatTheOwnerWroteJustNow(t *testing.T) {
	owner, bin := mustBegin(t)
	helper := owner.MustAddHelper("Kim")
	helper.MustExchange(nil, nil) // knows the feed as it is
	written := func(after time.Duration) husbandry.Entry {
		entry := water(owner, bin.ID)
		entry.By, entry.Device = owner.Person.ID, owner.Device
		entry.At = owner.Clock.Now().UTC().Add(after)
		return entry
	}
	if answer := helper.MustExchange(nil, []husbandry.Entry{written(0)}); verdictsOf(answer) != "refused" {
		t.Errorf("nothing was lost, and a helper writes in the owner's name: %+v", answer.Verdicts)
	}
	if _, err := owner.Store.Rewound(); err != nil {
		t.Fatal(err)
	}
	for _, after := range []time.Duration{0, 90 * time.Second} {
		if answer := helper.MustExchange(nil, []husbandry.Entry{written(after)}); verdictsOf(answer) != "stored" {
			t.Errorf("written %s after: %+v", after, answer.Verdicts)
		}
	}
	answer := helper.MustExchange(nil, []husbandry.Entry{written(3 * time.Minute)})
	if verdictsOf(answer) != "refused" || answer.Verdicts[0].Problems[0].Field != "by" {
		t.Errorf("written three minutes after: %+v", answer.Verdicts)
	}
}

func TestPagesAreBoundedAndComplete(t *testing.T) {
	phone, bin := mustBegin(t)
	helper := phone.MustAddHelper("Kim")
	want := 0
	for range 5 {
		batch := make([]husbandry.Entry, 500)
		for i := range batch {
			batch[i] = water(phone, bin.ID)
		}
		phone.MustStore(nil, batch...)
		want += len(batch)
	}
	got := map[string]bool{}
	for more := true; more; {
		answer := helper.MustExchange(nil, nil)
		if len(answer.Entries) > 1000 {
			t.Fatalf("a page of %d entries", len(answer.Entries))
		}
		for _, entry := range answer.Entries {
			got[entry.ID] = true
		}
		more = answer.More
	}
	if len(got) != want {
		t.Errorf("%d entries came, want %d", len(got), want)
	}
}

func TestRequestsThatAreWrongAsAWhole(t *testing.T) {
	phone, bin := mustBegin(t)
	whole, err := json.Marshal(phone.Request(nil, []husbandry.Entry{water(phone, bin.ID)}))
	if err != nil {
		t.Fatal(err)
	}
	with := func(field string, value any) []byte {
		request := phone.Request(nil, nil)
		request[field] = value
		raw, err := json.Marshal(request)
		if err != nil {
			t.Fatal(err)
		}
		return raw
	}
	cases := map[string]struct {
		body   []byte
		status int
		says   string
	}{
		"nothing":          {[]byte{}, 400, "empty"},
		"no JSON":          {[]byte("hello"), 400, "not JSON"},
		"a list":           {[]byte("[]"), 400, "is a list: give one JSON object"},
		"entries no list":  {with("entries", 7), 400, "entries is a number: give a list."},
		"sheets no list":   {with("sheets", "x"), 400, "sheets is a text: give a list."},
		"another protocol": {with("protocol", 2), 426, "What is not sent stays on this device."},
		"no protocol":      {with("protocol", 0), 426, "update"},
		"no device":        {with("device", ""), 400, "device is missing"},
		"a cursor below 0": {with("cursor", -1), 400, "cursor is -1"},
		"too many":         {with("entries", make([]int, exchange.MostRecords+1)), 413, "give at most 1000"},
		"9 MiB":            {with("epoch", strings.Repeat("x", 9<<20)), 413, "larger than 8 MiB"},
		"50 MB":            {bytes.Repeat([]byte(" "), 50_000_000), 413, "larger than 8 MiB"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			status, answer, _ := phone.Call("POST", "/api/underlog/exchange", phone.Token, c.body)
			var refusal struct{ Message string }
			if err := json.Unmarshal(answer, &refusal); err != nil {
				t.Fatalf("the answer is no JSON: %s", answer)
			}
			if status != c.status || !strings.Contains(refusal.Message, c.says) {
				t.Errorf("answered %d %q, want %d with %q", status, refusal.Message, c.status, c.says)
			}
		})
	}
	for cut := 1; cut < len(whole); cut++ {
		if _, refusal := exchange.Parse(whole[:cut]); refusal == nil || !strings.Contains(refusal.Sentence, "cut off") {
			t.Fatalf("cut after %d bytes: %+v", cut, refusal)
		}
	}
	status, answer, _ := phone.Call("POST", "/api/underlog/exchange", phone.Token, whole[:len(whole)/2])
	if status != 400 || !bytes.Contains(answer, []byte("cut off")) {
		t.Errorf("cut in the middle: %d %s", status, answer)
	}
	if count, err := phone.Store.App.CountRecords(store.Logs); err != nil || count != 0 {
		t.Errorf("%d entries are stored (%v), want none", count, err)
	}
}

func TestPackedRequests(t *testing.T) {
	phone, bin := mustBegin(t)
	raw, err := json.Marshal(phone.Request(nil, []husbandry.Entry{water(phone, bin.ID)}))
	if err != nil {
		t.Fatal(err)
	}
	pack := func(raw []byte) []byte {
		var packed bytes.Buffer
		writer := gzip.NewWriter(&packed)
		if _, err := writer.Write(raw); err != nil {
			t.Fatal(err)
		}
		if err := writer.Close(); err != nil {
			t.Fatal(err)
		}
		return packed.Bytes()
	}
	cases := map[string]struct {
		body     []byte
		encoding string
		status   int
	}{
		"sound":              {pack(raw), "gzip", 200},
		"sound, in two":      {append(pack(raw[:60]), pack(raw[60:])...), "gzip", 200},
		"half of two":        {pack(raw[:60]), "gzip", 400},
		"cut off in two":     {append(pack(raw[:60]), pack(raw[60:])[:20]...), "gzip", 400},
		"not packed":         {raw, "gzip", 400},
		"cut off":            {pack(raw)[:60], "gzip", 400},
		"a bomb":             {pack(bytes.Repeat([]byte(" "), 100_000_000)), "gzip", 413},
		"an unknown packing": {raw, "compress", 415},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			request, err := http.NewRequest("POST", "http://"+phone.Addr()+"/api/underlog/exchange", bytes.NewReader(c.body))
			if err != nil {
				t.Fatal(err)
			}
			request.Header.Set("Authorization", phone.Token)
			request.Header.Set("Content-Encoding", c.encoding)
			response, err := http.DefaultClient.Do(request)
			if err != nil {
				t.Fatal(err)
			}
			defer response.Body.Close()
			if response.StatusCode != c.status {
				t.Errorf("answered %d, want %d", response.StatusCode, c.status)
			}
		})
	}
}

func TestManyPhonesAtOnce(t *testing.T) {
	phone, bin := mustBegin(t)
	const phones, rounds = 20, 5
	failures := make(chan error, phones)
	for i := range phones {
		other := *phone
		other.Device = fmt.Sprintf("%032x", i+1)
		go func() {
			for range rounds {
				request := other.Request(nil, []husbandry.Entry{water(&other, bin.ID)})
				raw, _ := json.Marshal(request)
				req, _ := http.NewRequest("POST", "http://"+phone.Addr()+"/api/underlog/exchange", bytes.NewReader(raw))
				req.Header.Set("Authorization", phone.Token)
				response, err := http.DefaultClient.Do(req)
				if err == nil {
					response.Body.Close()
					if response.StatusCode != 200 {
						err = fmt.Errorf("answered %d", response.StatusCode)
					}
				}
				if err != nil {
					failures <- err
					return
				}
			}
			failures <- nil
		}()
	}
	for range phones {
		if err := <-failures; err != nil {
			t.Error(err)
		}
	}
	if count, err := phone.Store.App.CountRecords(store.Logs); err != nil || count != phones*rounds {
		t.Errorf("%d entries are stored (%v), want %d", count, err, phones*rounds)
	}
}
