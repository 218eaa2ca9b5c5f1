package exchange_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"sort"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/backend/exchange"
	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// Devices edit, log, strike and lose their line; requests and answers are
// lost, doubled, replayed and come late; clocks are days off; the server
// stops, starts and comes back from older copies. When all of that is over
// and everybody has exchanged, every replica holds the same, nothing that was
// ever made is missing, and nothing is there twice.
//
// A failure prints its seed; -rapid.seed replays it and -rapid.checks runs
// more than the few of a usual test.
func TestReplicasAgreeInTheEnd(t *testing.T) {
	few(t, replicaChecks)
	server := trial.MustStart(t, trial.Noon)
	server.Store.App.Settings().RateLimits.Enabled = false
	rapid.Check(t, func(r *rapid.T) {
		if err := server.Store.Wipe(); err != nil {
			t.Fatal(err)
		}
		newWorld(t, server, r).run(r)
	})
}

// few keeps a property cheap unless somebody asked for a number of checks.
func few(t *testing.T, checks int) {
	t.Helper()
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" || f.Name == "rapid.seed" })
	if asked {
		return
	}
	before := flag.Lookup("rapid.checks").Value.String()
	if err := flag.Set("rapid.checks", fmt.Sprint(checks)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = flag.Set("rapid.checks", before) })
}

// A world is a household's devices and everything they ever made.
type world struct {
	t       *testing.T
	server  *trial.Trial
	devices []*device
	entries map[string]husbandry.Entry  // all that were logged
	sheets  map[string]*husbandry.Sheet // all edits, merged
	bins    []string
	copy    string // of the data folder, if one was made
}

// A device holds what the app holds: records, an outbox and its place in the
// feed.
type device struct {
	*trial.Phone
	skew    time.Duration
	stamp   husbandry.Stamp
	mark    string
	entries map[string]husbandry.Entry
	sheets  map[string]*husbandry.Sheet
	known   map[string]bool // by the server of this epoch
	reading bool            // of a new epoch, from its start
	outbox  []any
	last    map[string]any // the request before, to be replayed
}

func newWorld(t *testing.T, server *trial.Trial, r *rapid.T) *world {
	w := &world{t: t, server: server, entries: map[string]husbandry.Entry{}, sheets: map[string]*husbandry.Sheet{}}
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	for i := range rapid.IntRange(2, 4).Draw(r, "devices") {
		phone := *owner
		if i%2 == 1 {
			phone = *helper
		}
		phone.Device = trial.NewID()
		w.devices = append(w.devices, &device{
			Phone: &phone, skew: time.Duration(rapid.IntRange(-72, 72).Draw(r, "skew")) * time.Hour,
			entries: map[string]husbandry.Entry{}, sheets: map[string]*husbandry.Sheet{}, known: map[string]bool{},
		})
	}
	w.exchangeAll()
	// What the server began with belongs to the model.
	for key, sheet := range w.devices[0].sheets {
		whole := husbandry.Sheet{Sheet: sheet.Sheet, ID: sheet.ID}
		whole.Merge(*sheet)
		w.sheets[key] = &whole
	}
	return w
}

func (w *world) run(r *rapid.T) {
	for range rapid.IntRange(10, 40).Draw(r, "steps") {
		d := w.devices[rapid.IntRange(0, len(w.devices)-1).Draw(r, "device")]
		switch rapid.IntRange(0, 19).Draw(r, "step") {
		case 0, 1:
			w.addBin(d)
		case 2, 3, 4, 5, 6:
			w.log(r, d)
		case 7, 8, 9:
			w.edit(r, d)
		case 10:
			w.strike(r, d)
		case 11:
			w.server.Clock.Advance(time.Duration(rapid.IntRange(1, 300).Draw(r, "minutes")) * time.Minute)
		case 12:
			if rapid.IntRange(0, 3).Draw(r, "restart") == 0 {
				w.server.MustRestart()
				w.server.Store.App.Settings().RateLimits.Enabled = false
			}
		case 13:
			w.copyOrRestore(r)
		default:
			w.exchange(d, rapid.SampledFrom([]string{"sound", "sound", "request lost", "answer lost", "sent twice", "replayed", "small page", "by name"}).Draw(r, "line"))
		}
	}
	w.exchangeAll()
	w.compare(r)
}

// addBin makes a bin on a device.
func (w *world) addBin(d *device) {
	sheet := d.Bin("Bin")
	d.stamp = husbandry.NextStamp(d.Clock.Now().Add(d.skew), d.Device, d.stamp)
	for name, field := range sheet.Fields {
		sheet.Fields[name] = husbandry.Stamped{Value: field.Value, Stamp: d.stamp}
	}
	w.bins = append(w.bins, sheet.ID)
	w.put(d, sheet)
}

// edit changes one field of a bin that the device knows.
func (w *world) edit(r *rapid.T, d *device) {
	bin := w.knownBin(r, d)
	if bin == "" {
		return
	}
	field := rapid.SampledFrom([]string{"name", "note", "shelf", "deleted"}).Draw(r, "field")
	value := map[string]any{"name": fmt.Sprint("Bin ", trial.NewID()), "note": "n" + trial.NewID(),
		"shelf": rapid.IntRange(1, 9).Draw(r, "shelf"), "deleted": rapid.Bool().Draw(r, "deleted")}[field]
	raw, err := json.Marshal(value)
	if err != nil {
		w.t.Fatal(err)
	}
	d.stamp = husbandry.NextStamp(d.Clock.Now().Add(d.skew), d.Device, d.stamp)
	w.put(d, husbandry.Sheet{Sheet: "bins", ID: bin, Fields: map[string]husbandry.Stamped{field: {Value: raw, Stamp: d.stamp}}})
}

func (w *world) put(d *device, sheet husbandry.Sheet) {
	for _, sheets := range []map[string]*husbandry.Sheet{w.sheets, d.sheets} {
		mine, have := sheets["bins "+sheet.ID]
		if !have {
			mine = &husbandry.Sheet{Sheet: "bins", ID: sheet.ID}
			sheets["bins "+sheet.ID] = mine
		}
		mine.Merge(sheet)
	}
	delete(d.known, "bins "+sheet.ID)
	d.outbox = append(d.outbox, sheet)
}

func (w *world) knownBin(r *rapid.T, d *device) string {
	var bins []string
	for _, bin := range w.bins {
		if _, have := d.sheets["bins "+bin]; have {
			bins = append(bins, bin)
		}
	}
	if len(bins) == 0 {
		return ""
	}
	return rapid.SampledFrom(bins).Draw(r, "bin")
}

func (w *world) log(r *rapid.T, d *device) {
	bin := w.knownBin(r, d)
	if bin == "" {
		return
	}
	entry := water(d.Phone, bin)
	if rapid.Bool().Draw(r, "food") {
		entry = d.Feed(bin)
		if feedings := d.of(husbandry.Feed); len(feedings) > 0 && rapid.Bool().Draw(r, "leftovers") {
			entry = d.AllGone(rapid.SampledFrom(feedings).Draw(r, "feeding"))
		}
	}
	w.keep(d, entry)
}

func (w *world) strike(r *rapid.T, d *device) {
	var all []husbandry.Entry
	for _, what := range []string{husbandry.Feed, husbandry.Water, husbandry.Leftovers} {
		all = append(all, d.of(what)...)
	}
	if len(all) == 0 {
		return
	}
	struck := rapid.SampledFrom(all).Draw(r, "struck")
	w.keep(d, d.Log(struck.Bin, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = struck.ID }))
}

func (d *device) of(what string) []husbandry.Entry {
	var found []husbandry.Entry
	for _, id := range slices.Sorted(maps.Keys(d.entries)) {
		if d.entries[id].What == what {
			found = append(found, d.entries[id])
		}
	}
	return found
}

func (w *world) keep(d *device, entry husbandry.Entry) {
	w.entries[entry.ID], d.entries[entry.ID] = entry, entry
	d.outbox = append(d.outbox, entry)
}

// copyOrRestore copies the data folder of the stopped server, or brings the
// last copy back.
func (w *world) copyOrRestore(r *rapid.T) {
	w.server.MustClose()
	if w.copy == "" {
		w.copy = mustCopy(w.t, w.server.Dir)
	} else if rapid.Bool().Draw(r, "restore") {
		mustReplace(w.t, w.server.Dir, w.copy)
	}
	w.server.MustOpen()
	w.server.Store.App.Settings().RateLimits.Enabled = false
}

func mustCopy(t *testing.T, folder string) string {
	t.Helper()
	copied := t.TempDir()
	if err := os.CopyFS(copied, os.DirFS(folder)); err != nil {
		t.Fatal(err)
	}
	return copied
}

func mustReplace(t *testing.T, folder, copied string) {
	t.Helper()
	if err := os.RemoveAll(folder); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(folder, os.DirFS(copied)); err != nil {
		t.Fatal(err)
	}
}

// exchange offers a page of the outbox over a line that may be bad, and
// reports whether anything is left to do.
func (w *world) exchange(d *device, line string) (more bool) {
	page := min(len(d.outbox), exchange.MostRecords)
	if line == "small page" {
		page = min(page, 2)
	}
	batch := d.outbox[:page]
	if line == "by name" {
		names := firstNames(batch)
		request := d.request(nil)
		request["asked"] = names
		return w.take(d, batch[:len(names)], w.send(d, request))
	}
	request := d.request(batch)
	if line == "replayed" && d.last != nil {
		w.send(d, d.last) // an answer that nobody waits for any more
	}
	d.last = request
	switch line {
	case "request lost":
		return true
	case "answer lost":
		w.send(d, request)
		return true
	case "sent twice":
		w.send(d, request)
	}
	return w.take(d, batch, w.send(d, request))
}

// firstNames are the ids of the entries that come before the first edit of a sheet.
func firstNames(batch []any) []string {
	names := []string{}
	for _, record := range batch {
		entry, is := record.(husbandry.Entry)
		if !is {
			break
		}
		names = append(names, entry.ID)
	}
	return names
}

func (d *device) request(batch []any) map[string]any {
	sheets, entries := []any{}, []any{}
	for _, record := range batch {
		if _, is := record.(husbandry.Sheet); is {
			sheets = append(sheets, record)
		} else {
			entries = append(entries, record)
		}
	}
	request := d.Request(sheets, entries)
	request["mark"] = d.mark
	return request
}

func (w *world) send(d *device, request map[string]any) answerWithMark {
	var answer answerWithMark
	d.Trial = w.server // it may have another address since
	d.MustCall("POST", "/api/underlog/exchange", d.Token, request, 200, &answer)
	return answer
}

type answerWithMark struct {
	trial.Answer
	Mark string `json:"mark"`
}

// take does what the app does with an answer.
func (w *world) take(d *device, batch []any, answer answerWithMark) (more bool) {
	settled := map[string]bool{}
	for _, verdict := range answer.Verdicts {
		if verdict.Verdict == store.Refused {
			w.t.Fatalf("refused: %+v", verdict)
		}
		settled[verdict.ID] = true
	}
	rewound := d.Epoch != "" && (answer.Epoch != d.Epoch || answer.Cursor < d.Cursor)
	if rewound {
		d.known, d.reading = map[string]bool{}, true
	}
	waiting := []any{} // what got no verdict stays
	for _, record := range batch {
		if settled[idOf(record)] {
			d.known[keyOf(record)] = true
		} else {
			waiting = append(waiting, record)
		}
	}
	d.outbox = append(waiting, d.outbox[len(batch):]...)
	for _, entry := range answer.Entries {
		d.entries[entry.ID], d.known[entry.ID] = entry, true
	}
	for _, sheet := range answer.Sheets {
		d.merge(sheet)
	}
	d.Epoch, d.Cursor, d.mark = answer.Epoch, answer.Cursor, answer.Mark
	if rewound {
		d.Cursor, d.mark = 0, ""
		return true
	}
	if !answer.More && d.reading {
		d.reading = false
		d.offerAgain()
	}
	return answer.More || len(d.outbox) > 0
}

func idOf(record any) string {
	if sheet, is := record.(husbandry.Sheet); is {
		return sheet.ID
	}
	return record.(husbandry.Entry).ID
}

func keyOf(record any) string {
	if sheet, is := record.(husbandry.Sheet); is {
		return sheet.Sheet + " " + sheet.ID
	}
	return record.(husbandry.Entry).ID
}

func (d *device) merge(theirs husbandry.Sheet) {
	key := theirs.Sheet + " " + theirs.ID
	mine, have := d.sheets[key]
	if !have {
		mine = &husbandry.Sheet{Sheet: theirs.Sheet, ID: theirs.ID}
		d.sheets[key] = mine
	}
	mine.Merge(theirs)
	same := true
	for name, field := range mine.Fields {
		d.stamp = max(d.stamp, field.Stamp)
		same = same && theirs.Fields[name].Stamp == field.Stamp
	}
	d.known[key] = same
}

// offerAgain puts into the outbox what a server that came back from an older
// copy did not mention.
func (d *device) offerAgain() {
	queued := map[string]bool{}
	for _, record := range d.outbox {
		queued[keyOf(record)] = true
	}
	var again []any
	for _, key := range slices.Sorted(maps.Keys(d.sheets)) {
		// Whole, even where an edit of it is waiting: the rest may be lost.
		if !d.known[key] {
			again = append(again, *d.sheets[key])
		}
	}
	var entries []husbandry.Entry
	for _, id := range slices.Sorted(maps.Keys(d.entries)) {
		if !d.known[id] && !queued[id] {
			entries = append(entries, d.entries[id])
		}
	}
	store.InOrder(entries)
	for _, entry := range entries {
		again = append(again, entry)
	}
	// Before what is waiting, which may name what was lost.
	d.outbox = append(again, d.outbox...)
}

// exchangeAll lets everybody exchange until nobody has anything to say.
func (w *world) exchangeAll() {
	for range 3 { // the first learns of the last in the second round, of a rewound feed in the third
		for _, d := range w.devices {
			for turn := 0; w.exchange(d, "sound"); turn++ {
				if turn > 50 {
					w.t.Fatalf("device %s never comes to an end: %d waiting", d.Device, len(d.outbox))
				}
			}
		}
	}
}

func (w *world) compare(r *rapid.T) {
	want := describe(w.entries, w.sheets)
	for i, d := range w.devices {
		if got := describe(d.entries, d.sheets); got != want {
			r.Fatalf("device %d holds\n%s\nthe world is\n%s", i, got, want)
		}
	}
	stored, err := w.server.Store.Entries(time.Time{})
	if err != nil {
		w.t.Fatal(err)
	}
	entries := map[string]husbandry.Entry{}
	for _, entry := range stored {
		if _, twice := entries[entry.ID]; twice {
			r.Fatalf("%s is stored twice", entry.ID)
		}
		entries[entry.ID] = entry
	}
	sheets := map[string]*husbandry.Sheet{}
	all, err := w.server.Store.Sheets()
	if err != nil {
		w.t.Fatal(err)
	}
	for _, sheet := range all {
		sheets[sheet.Sheet+" "+sheet.ID] = &sheet
	}
	if got := describe(entries, sheets); got != want {
		r.Fatalf("the server holds\n%s\nthe world is\n%s", got, want)
	}
}

func describe(entries map[string]husbandry.Entry, sheets map[string]*husbandry.Sheet) string {
	var lines []string
	for _, entry := range entries {
		raw, _ := json.Marshal(entry)
		lines = append(lines, string(raw))
	}
	for key, sheet := range sheets {
		raw, _ := json.Marshal(sheet.Fields)
		lines = append(lines, key+" "+string(raw))
	}
	sort.Strings(lines)
	text := ""
	for _, line := range lines {
		text += line + "\n"
	}
	return text
}
