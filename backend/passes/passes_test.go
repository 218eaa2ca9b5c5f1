package passes_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"underlog/backend/passes"
	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

const days = 24 * time.Hour

// A house is a household with a trip from tomorrow on for three weeks, a pass
// for two bins of it, and a bin that the pass does not open.
type house struct {
	*trial.Phone // the owner's
	trip         husbandry.Trip
	sheet        husbandry.Sheet // of the trip
	first        husbandry.Sheet
	second       husbandry.Sheet
	other        husbandry.Sheet
	fed          husbandry.Entry // in first
	otherFed     husbandry.Entry
	sitter       *trial.Sitter
}

// mustBegin begins one. more may change what the pass is asked for.
func mustBegin(tb testing.TB, more map[string]any) *house {
	tb.Helper()
	owner := trial.MustStart(tb, trial.Noon).MustSetUp("Europe/Berlin")
	h := &house{Phone: owner}
	bin := func(name, rack string, position int) husbandry.Sheet {
		tub := husbandry.CommonTub()
		tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position, tub.Kind = trial.NewID(), name, rack, 1, position, "armadillidium-vulgare"
		return owner.Sheet("bins", tub)
	}
	h.first, h.second, h.other = bin("Pied pillbugs", "Window", 1), bin("Dwarf whites", "Window", 2), bin("Costly cubaris", "Vault", 3)
	h.fed = owner.Feed(h.first.ID)
	h.otherFed = owner.Log(h.other.ID, husbandry.Feed, func(e *husbandry.Entry) { e.Food, e.Pieces, e.Note = "mushroom", 3, "confidential remark" })
	h.trip, h.sheet = owner.Trip(1, 21, h.first.ID, h.second.ID)
	feel := func(bin husbandry.Sheet) husbandry.Entry {
		return owner.Log(bin.ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "barely" })
	}
	owner.MustStore([]husbandry.Sheet{h.first, h.second, h.other, h.sheet}, h.fed, h.otherFed, feel(h.first), feel(h.second), feel(h.other))
	h.sitter = owner.MustMakePass(h.trip.ID, "Kim", more)
	return h
}

// mustView is what the pass is shown.
func (h *house) mustView() passes.View {
	h.Helper()
	var view passes.View
	h.MustCall("GET", "/api/underlog/pass/view", h.sitter.Token(), nil, 200, &view)
	return view
}

func TestTheSecretIsToldOnceAndKeptAsAHash(t *testing.T) {
	h := mustBegin(t, nil)
	if h.sitter.Link != "https://bins.example.org/#/p/"+h.sitter.Secret || len(h.sitter.Secret) < 26 {
		t.Errorf("the link is %q", h.sitter.Link)
	}
	_, listed, _ := h.Call("GET", "/api/underlog/passes", h.Token, nil)
	_, record, _ := h.Call("GET", "/api/collections/passes/records", h.Token, nil)
	for name, answer := range map[string][]byte{"the list": listed, "the record": record} {
		if !bytes.Contains(answer, []byte(h.sitter.Pass)) {
			t.Errorf("%s does not have the pass: %s", name, answer)
		}
		if bytes.Contains(answer, []byte(h.sitter.Secret)) || bytes.Contains(answer, []byte("hash")) {
			t.Errorf("%s tells a secret: %s", name, answer)
		}
	}
	h.MustClose() // everything is in the files now
	found := false
	err := filepath.WalkDir(h.Dir, func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		content, err := os.ReadFile(path)
		found = found || bytes.Contains(content, []byte(h.sitter.Pass))
		if bytes.Contains(content, []byte(h.sitter.Secret)) {
			t.Errorf("the secret is in %s", filepath.Base(path))
		}
		return err
	})
	if err != nil || !found {
		t.Errorf("the pass is in no file (%v), so the test shows nothing", err)
	}
	h.MustOpen()
	h.mustView() // a restart ends no pass
}

func TestTwoSecretsAreNotAlike(t *testing.T) {
	h := mustBegin(t, nil)
	seen := map[string]bool{}
	for range 50 {
		secret := h.MustMakePass(h.trip.ID, "Kim", nil).Secret
		if seen[secret] {
			t.Fatal("a secret came twice")
		}
		seen[secret] = true
	}
}

func TestWhatAPassIsAskedForIsChecked(t *testing.T) {
	h := mustBegin(t, nil)
	long := strings.Repeat("x", 81)
	cases := map[string]struct {
		wish   any
		status int
		want   string
	}{
		"nothing":        {map[string]any{}, 400, "trip is missing"},
		"no name":        {map[string]any{"trip": h.trip.ID, "sitter": " "}, 400, "sitter is missing"},
		"a long name":    {map[string]any{"trip": h.trip.ID, "sitter": long}, 400, "sitter is xxx"},
		"no such trip":   {map[string]any{"trip": trial.NewID(), "sitter": "Kim"}, 404, "no such trip"},
		"another's bin":  {map[string]any{"trip": h.trip.ID, "sitter": "Kim", "bins": []string{h.other.ID}}, 400, "bins 1 is " + h.other.ID},
		"no bin at all":  {map[string]any{"trip": h.trip.ID, "sitter": "Kim", "bins": []string{"nobinatall00000"}}, 400, "bins 1"},
		"bins no list":   {map[string]any{"trip": h.trip.ID, "sitter": "Kim", "bins": "all"}, 400, "bins is"},
		"an odd field":   {map[string]any{"trip": h.trip.ID, "sitter": "Kim", "role": "owner"}, 400, "role is"},
		"no JSON at all": {[]byte("}"), 400, "record is"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			status, answer, _ := h.Call("POST", "/api/underlog/passes", h.Token, c.wish)
			if status != c.status || !strings.Contains(string(answer), c.want) {
				t.Errorf("answered %d %s, want %d with %q", status, answer, c.status, c.want)
			}
		})
	}
	if made, err := h.Store.Passes(""); err != nil || len(made) != 1 {
		t.Errorf("%d passes are kept (%v), want the first alone", len(made), err)
	}
}

func TestTheViewIsEnoughForTheTrip(t *testing.T) {
	h := mustBegin(t, nil)
	view := h.mustView()
	if view.Sitter != "Kim" || view.Person != h.sitter.Person || view.TimeZone != "Europe/Berlin" || view.Units != "metric" ||
		view.Leaves != h.trip.Leaves || view.Returns != h.trip.Returns || view.Call != "Robin, 0000" || view.Rehearsal || view.Epoch == "" {
		t.Errorf("the view says %+v", view)
	}
	if view.From != "2026-05-29T00:00:00+02:00" || view.Until != "2026-06-21T00:00:00+02:00" {
		t.Errorf("it is for %s to %s", view.From, view.Until)
	}
	if len(view.Visits) == 0 || len(view.Bins) == 0 {
		t.Fatalf("nobody is needed for three weeks: %+v", view)
	}
	looked := 0
	for _, visit := range view.Visits {
		for _, stop := range visit.Stops {
			bin := slices.IndexFunc(view.Bins, func(bin passes.Bin) bool { return bin.ID == stop.Bin })
			if bin < 0 {
				t.Fatalf("the view does not show %s, which it has opened", stop.Bin)
			}
			feel := stop.Steps[0]
			if feel.Do != "feel" || feel.End != view.Bins[bin].DampEnd || feel.DoseIfML["dry"] <= 0 || feel.DoseIfML["soaked"] != 0 {
				t.Errorf("the first step is %+v", feel)
			}
			for _, step := range stop.Steps[1:] {
				if view.Foods[step.Food] == "" {
					t.Errorf("nobody says what %q is", step.Food)
				}
				if step.Do == "leftovers" && step.Of == h.fed.ID {
					looked++
				}
			}
		}
	}
	if looked != 1 {
		t.Errorf("the melon is looked at %d times, want once", looked)
	}
	if bin := view.Bins[0]; bin.Place != "W1-1" || bin.Name == "" || bin.LengthMM != 340 || bin.Glance.Damp.High <= 0 {
		t.Errorf("the first bin is %+v", bin)
	}
}

// What the sitter finds counts like anything that anybody finds: the plan is
// another one then, and the owner's phone has it under the sitter's name.
func TestAVisitReachesTheOwner(t *testing.T) {
	h := mustBegin(t, nil)
	before := h.mustView()
	visit := before.Visits[0]
	from, err := time.Parse(time.RFC3339, visit.From)
	if err != nil {
		t.Fatal(err)
	}
	h.Clock.Advance(from.Sub(h.Clock.Now()) + time.Minute)
	bin := visit.Stops[0].Bin
	feel := h.sitter.Feel(bin, "dry")
	water := h.sitter.Log(bin, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = visit.Stops[0].Steps[0].DoseIfML["dry"] })
	h.sitter.MustStore(feel, water)
	if again := h.sitter.MustExchange(feel, water); again.Verdicts[0].Verdict != store.Duplicate || len(again.Entries) != 2 {
		t.Errorf("offered again: %+v", again)
	}
	answer := h.MustExchange(nil, nil)
	got := map[string]husbandry.Entry{}
	for _, entry := range answer.Entries {
		got[entry.ID] = entry
	}
	if got[feel.ID].By != h.sitter.Person || got[water.ID].Device != h.sitter.Device {
		t.Errorf("the owner gets %+v", answer.Entries)
	}
	if !slices.Contains(answer.People, store.Person{ID: h.sitter.Person, Name: "Kim", Role: store.Sitter}) {
		t.Errorf("nobody knows who %s is: %+v", h.sitter.Person, answer.People)
	}
	for _, visit := range h.mustView().Visits {
		if visit.Date == before.Visits[0].Date {
			for _, stop := range visit.Stops {
				if stop.Bin == bin {
					t.Errorf("%s is to be served again on the same day", bin)
				}
			}
		}
	}
}

// Leaves are brought by the first visit to a bin whose ground would be bare
// before the return, and by no later one.
func TestAVisitBringsLeaves(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(3 * days)
	count := func() (visits, brought int) {
		for _, visit := range h.mustView().Visits {
			for _, stop := range visit.Stops {
				if stop.Bin != h.second.ID {
					continue
				}
				visits++
				for _, step := range stop.Steps {
					if step.Do == "add leaves" && step.Handfuls >= 0.5 {
						brought++
					}
				}
			}
		}
		return visits, brought
	}
	h.sitter.MustStore(h.sitter.Log(h.second.ID, husbandry.Leaves, func(e *husbandry.Entry) { e.Leaves = "bare" }))
	if visits, brought := count(); visits == 0 || brought != 1 {
		t.Errorf("%d visits bring leaves %d times, want once", visits, brought)
	}
	h.sitter.MustStore(h.sitter.Log(h.second.ID, husbandry.AddLeaves, func(e *husbandry.Entry) { e.Handfuls = 4 }))
	if visits, brought := count(); visits == 0 || brought != 0 {
		t.Errorf("after that %d visits bring leaves %d times more", visits, brought)
	}
}

// A person is known again by name on another trip, so that what was learned of
// their touch is not lost; another is another.
func TestASitterIsKnownAgain(t *testing.T) {
	h := mustBegin(t, nil)
	trip, sheet := h.Trip(40, 5)
	h.MustStore([]husbandry.Sheet{sheet})
	if again := h.MustMakePass(trip.ID, "  kim ", nil); again.Person != h.sitter.Person {
		t.Errorf("Kim is %s and then %s", h.sitter.Person, again.Person)
	}
	if other := h.MustMakePass(trip.ID, "Sam", nil); other.Person == h.sitter.Person || other.Person == h.Person.ID {
		t.Errorf("Sam is %s", other.Person)
	}
}

// Entries that a pass takes and that it refuses, each with its sentence.
func TestWhatAPassTakes(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(3 * days)
	s, bin := h.sitter, h.first.ID
	edit := func(entry husbandry.Entry, change func(*husbandry.Entry)) husbandry.Entry {
		change(&entry)
		return entry
	}
	entry := func(what string, change func(*husbandry.Entry)) husbandry.Entry { return s.Log(bin, what, change) }
	own, note := entry(husbandry.Look, nil), s.Says("", "The heating is cold.")
	s.MustStore(own, note)
	theirs := h.Log(bin, husbandry.Look, nil)
	elsewhere := h.Log(h.other.ID, husbandry.Look, nil)
	h.MustStore(nil, theirs, elsewhere)
	photo := func(change func(*husbandry.Entry)) husbandry.Entry {
		return entry(husbandry.Photo, func(e *husbandry.Entry) { e.Photo = strings.Repeat("ab", 32); change(e) })
	}
	leftovers := func(of string) husbandry.Entry {
		return entry(husbandry.Leftovers, func(e *husbandry.Entry) { e.Of, e.Left = of, "some left" })
	}
	strike := func(of string) husbandry.Entry {
		return entry(husbandry.Strike, func(e *husbandry.Entry) { e.Struck = of })
	}
	nothing := func(*husbandry.Entry) {}
	cases := []struct {
		name  string
		entry husbandry.Entry
		want  string // part of the sentence; empty: it is stored
	}{
		{"feel", s.Feel(bin, "damp"), ""},
		{"water", entry(husbandry.Water, func(e *husbandry.Entry) { e.WaterML = 60 }), ""},
		{"feed", entry(husbandry.Feed, func(e *husbandry.Entry) { e.Food, e.Pieces = "carrot", 1 }), ""},
		{"leftovers", leftovers(h.fed.ID), ""},
		{"leaves", entry(husbandry.Leaves, func(e *husbandry.Entry) { e.Leaves = "thin" }), ""},
		{"add leaves", entry(husbandry.AddLeaves, func(e *husbandry.Entry) { e.Handfuls = 1 }), ""},
		{"look", entry(husbandry.Look, nil), ""},
		{"photo", photo(nothing), ""},
		{"photo of a note", edit(photo(nothing), func(e *husbandry.Entry) { e.Bin, e.Of = "", note.ID }), ""},
		{"note", s.Says(bin, "Mites, many."), ""},
		{"strike of an own", strike(own.ID), ""},
		{"under its own name", edit(s.Feel(bin, "damp"), func(e *husbandry.Entry) { e.By, e.Device = s.Person, s.Device }), ""},
		{"in the first minute", edit(s.Feel(bin, "damp"), func(e *husbandry.Entry) { e.At = mustTime(t, "2026-05-29T00:00:00+02:00") }), ""},

		{"renew", entry(husbandry.Renew, nil), "what is renew: give one of feel, water"},
		{"substrate", entry(husbandry.Substrate, func(e *husbandry.Entry) { e.Substrate = "fresh" }), "what is substrate"},
		{"young", entry(husbandry.Young, nil), "what is young"},
		{"climate", edit(entry(husbandry.Climate, nil), func(e *husbandry.Entry) { c := 20.0; e.TemperatureC = &c }), "what is climate"},
		{"another's bin", s.Feel(h.other.ID, "damp"), "bin is " + h.other.ID + ": give the id of a bin of this pass."},
		{"no bin", s.Feel("nobinatall00000", "damp"), "bin is nobinatall00000: give the id of a bin of this pass."},
		{"before the trip", edit(s.Feel(bin, "damp"), func(e *husbandry.Entry) { e.At = mustTime(t, "2026-05-28T23:59:59+02:00") }), "at is 2026-05-28T23:59:59+02:00: give a time from 2026-05-29T00:00:00+02:00 to before 2026-06-21T00:00:00+02:00"},
		{"in the owner's name", edit(s.Feel(bin, "damp"), func(e *husbandry.Entry) { e.By = h.Person.ID }), "by is"},
		{"on the owner's phone", edit(s.Feel(bin, "damp"), func(e *husbandry.Entry) { e.Device = h.Device }), "device is"},
		{"leftovers of another bin", leftovers(h.otherFed.ID), "of is " + h.otherFed.ID + ": give the id of a feeding that is stored."},
		{"leftovers of nothing", leftovers("nofeedatall0000"), "of is nofeedatall0000: give the id of a feeding that is stored."},
		{"photo of another bin's", photo(func(e *husbandry.Entry) { e.Of = elsewhere.ID }), "of is"},
		{"strike of the owner's", strike(theirs.ID), "struck is"},
		{"strike of another bin's", strike(elsewhere.ID), "struck is"},
		{"a wrong word", s.Feel(bin, "wet"), "feel is wet: give one of dry, barely, damp, soaked."},
		{"in two days", edit(s.Feel(bin, "damp"), func(e *husbandry.Entry) { e.At = h.Clock.Now().Add(2 * days) }), "at is"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			verdicts := s.MustExchange(c.entry).Verdicts
			if len(verdicts) != 1 {
				t.Fatalf("the verdicts are %+v", verdicts)
			}
			switch verdict := verdicts[0]; {
			case c.want == "" && verdict.Verdict != store.Stored:
				t.Errorf("it is %+v, want stored", verdict)
			case c.want != "" && (verdict.Verdict != store.Refused || !strings.Contains(verdict.Sentence, c.want)):
				t.Errorf("it is %+v, want refused with %q", verdict, c.want)
			}
		})
	}
	// Sheets are not for a pass, whatever it calls them.
	h.MustCall("POST", "/api/underlog/pass/exchange", s.Token(), map[string]any{"protocol": 1, "device": s.Device,
		"sheets": []husbandry.Sheet{h.Edit(h.first, "name", "Mine")}}, 200, nil)
	if bin, err := h.Store.Bin(h.first.ID); err != nil || bin.Name != "Pied pillbugs" {
		t.Errorf("the bin is called %s (%v)", bin.Name, err)
	}
}

func mustTime(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestOneRefusalHoldsUpNoOther(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(2 * days)
	fed := h.sitter.Log(h.first.ID, husbandry.Feed, func(e *husbandry.Entry) { e.Food, e.Pieces = "carrot", 1 })
	look := h.sitter.Log(h.first.ID, husbandry.Leftovers, func(e *husbandry.Entry) { e.Of, e.Left = fed.ID, "untouched" })
	got := h.sitter.MustExchange(look, h.sitter.Feel(h.other.ID, "dry"), fed).Verdicts
	if got[0].Verdict != store.Stored || got[1].Verdict != store.Refused || got[2].Verdict != store.Stored {
		t.Errorf("the verdicts are %+v", got)
	}
	other := fed
	other.Pieces = 2
	if verdict := h.sitter.MustExchange(other).Verdicts[0]; verdict.Verdict != store.Refused {
		t.Errorf("other bytes under a known id are %+v", verdict)
	}
}

// A pass follows its trip: a train that is a day late, a bin more.
func TestAPassFollowsItsTrip(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(time.Minute) // the later edit wins
	h.MustStore([]husbandry.Sheet{h.Edit(h.sheet, "returns", "2026-07-01"), h.Edit(h.sheet, "bins", []string{h.first.ID, h.second.ID, h.other.ID})})
	if view := h.mustView(); view.Returns != "2026-07-01" || view.Until != "2026-07-03T00:00:00+02:00" {
		t.Errorf("it ends on %s, until %s", view.Returns, view.Until)
	}
	h.Clock.Advance(30 * days)
	h.sitter.MustStore(h.sitter.Feel(h.other.ID, "damp"))
	h.MustStore([]husbandry.Sheet{h.Edit(h.sheet, "deleted", true)})
	h.MustCall("GET", "/api/underlog/pass/view", h.sitter.Token(), nil, 410, nil)
}

func TestAPassOfSomeBinsOpensThose(t *testing.T) {
	h := mustBegin(t, nil)
	some := h.MustMakePass(h.trip.ID, "Kim", map[string]any{"bins": []string{h.second.ID}})
	h.Clock.Advance(3 * days)
	some.MustStore(some.Feel(h.second.ID, "damp"))
	if verdict := some.MustExchange(some.Feel(h.first.ID, "damp")).Verdicts[0]; verdict.Verdict != store.Refused {
		t.Errorf("a bin of the trip but not of the pass: %+v", verdict)
	}
	h.sitter.MustStore(h.sitter.Feel(h.first.ID, "damp")) // of the same person, by another pass
	_, raw, _ := h.Call("GET", "/api/underlog/pass/view", some.Token(), nil)
	if !bytes.Contains(raw, []byte(h.second.ID)) || bytes.Contains(raw, []byte(h.first.ID)) {
		t.Errorf("the view is %s", raw)
	}
	if answer := some.MustExchange(); len(answer.Entries) != 1 {
		t.Errorf("the pass is told %s", answer.Entries)
	}
}

// How a pass begins and ends, by the days of the trip.
func TestThePassThroughTime(t *testing.T) {
	h := mustBegin(t, map[string]any{"photos": true})
	s := h.sitter
	during := func(at string) husbandry.Entry {
		entry := s.Feel(h.first.ID, "damp")
		entry.At = mustTime(t, at)
		return entry
	}
	state := func() string {
		h.Helper()
		var list []struct{ State string }
		h.MustCall("GET", "/api/underlog/passes?trip="+h.trip.ID, h.Token, nil, 200, &list)
		return list[0].State
	}
	stages := []struct {
		name           string
		at             string // the clock
		view, exchange int
		entry          string // when something happened
		verdict        string
		state          string
	}{
		{"before", "2026-05-28T20:00:00+02:00", 200, 200, "2026-05-28T19:00:00+02:00", store.Refused, "good"},
		{"on the first day", "2026-05-29T10:00:00+02:00", 200, 200, "2026-05-29T09:00:00+02:00", store.Stored, "good"},
		{"on the day of coming back", "2026-06-19T10:00:00+02:00", 200, 200, "2026-06-19T10:00:00+02:00", store.Stored, "good"},
		{"in the last minute of grace", "2026-06-20T23:59:30+02:00", 200, 200, "2026-06-20T23:59:00+02:00", store.Stored, "good"},
		{"after it", "2026-06-21T00:00:00+02:00", 410, 200, "2026-06-21T00:00:00+02:00", store.Refused, "over"},
		{"a month late, of the trip", "2026-07-20T10:00:00+02:00", 410, 200, "2026-06-10T10:00:00+02:00", store.Stored, "over"},
		{"later still", "2026-07-21T00:00:00+02:00", 410, 410, "2026-06-10T10:00:00+02:00", "", "over"},
	}
	for _, stage := range stages {
		h.Clock.Advance(mustTime(t, stage.at).Sub(h.Clock.Now()))
		if got := state(); got != stage.state {
			t.Errorf("%s: its state is %s", stage.name, got)
		}
		if status, answer, _ := h.Call("GET", "/api/underlog/pass/view", s.Token(), nil); status != stage.view {
			t.Errorf("%s: the view answers %d %s", stage.name, status, answer)
		}
		status, raw, _ := h.Call("POST", "/api/underlog/pass/exchange", s.Token(), s.Request(during(stage.entry)))
		if status != stage.exchange {
			t.Errorf("%s: the exchange answers %d %s", stage.name, status, raw)
		}
		if stage.verdict == "" {
			continue
		}
		var answer trial.SitterAnswer
		if err := json.Unmarshal(raw, &answer); err != nil || len(answer.Verdicts) != 1 || answer.Verdicts[0].Verdict != stage.verdict {
			t.Errorf("%s: what happened %s is answered %s (%v)", stage.name, stage.entry, raw, err)
		}
		if stage.view == 410 && len(answer.Entries) > 0 {
			t.Errorf("%s: it is still told %s", stage.name, answer.Entries)
		}
	}
}

// A stolen phone is cut off at once, at every route, also from what it was
// about to send; what the sitter did stays.
func TestAStolenPhoneIsCutOff(t *testing.T) {
	h := mustBegin(t, map[string]any{"photos": true})
	h.Clock.Advance(3 * days)
	seen := h.sitter.Feel(h.first.ID, "damp")
	photo := picture(t, 1)
	named := h.sitter.Log(h.first.ID, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = nameOf(photo) })
	h.sitter.MustStore(seen, named)
	h.mustView()
	if got := send(t, h.Trial, h.sitter.Token(), doorPhotos, photo[:len(photo)/2], len(photo), nameOf(photo)); got != 204 {
		t.Fatalf("half of a photo is answered %d", got)
	}
	h.MustCall("DELETE", "/api/underlog/passes/"+h.sitter.Pass, h.Token, nil, 204, nil)
	asks := []struct{ method, path string }{
		{"GET", "/api/underlog/pass/view"}, {"POST", "/api/underlog/pass/exchange"},
		{"HEAD", doorPhotos + nameOf(photo)}, {"GET", doorPhotos + nameOf(photo)}, {"PATCH", doorPhotos + nameOf(photo)},
	}
	for _, ask := range asks {
		status, answer, _ := h.Call(ask.method, ask.path, h.sitter.Token(), h.sitter.Request(h.sitter.Feel(h.first.ID, "dry")))
		if status != 403 || ask.method != "HEAD" && !strings.Contains(string(answer), "ended") {
			t.Errorf("%s %s answers %d %s", ask.method, ask.path, status, answer)
		}
	}
	answer := h.MustExchange(nil, nil)
	if i := slices.IndexFunc(answer.Entries, func(e husbandry.Entry) bool { return e.ID == seen.ID }); i < 0 {
		t.Error("what the sitter did is gone")
	}
	if !slices.ContainsFunc(answer.People, func(p store.Person) bool { return p.ID == h.sitter.Person }) {
		t.Error("nobody knows any more who that was")
	}
	h.MustCall("DELETE", "/api/underlog/passes/"+h.sitter.Pass, h.Token, nil, 204, nil) // twice does no harm
	h.MustCall("DELETE", "/api/underlog/passes/nopassatall0000", h.Token, nil, 404, nil)
	var list []struct {
		State     string
		RevokedAt string `json:"revoked_at"`
	}
	h.MustCall("GET", "/api/underlog/passes", h.Token, nil, 200, &list)
	if list[0].State != "revoked" || list[0].RevokedAt != "2026-05-31T10:00:00Z" {
		t.Errorf("the list says %+v", list)
	}
}

// Guessing is slow, by address; whoever holds a pass that was ended does not
// guess.
func TestGuessingIsSlow(t *testing.T) {
	h := mustBegin(t, nil)
	h.Store.App.Settings().RateLimits.Enabled = false // ours is what is tested
	h.MustCall("DELETE", "/api/underlog/passes/"+h.sitter.Pass, h.Token, nil, 204, nil)
	another := h.MustMakePass(h.trip.ID, "Sam", nil)
	ask := func(token string) int {
		status, _, _ := h.Call("GET", "/api/underlog/pass/view", token, nil)
		return status
	}
	for range 30 {
		if got := ask(h.sitter.Token()); got != 403 {
			t.Fatalf("an ended pass is answered %d", got)
		}
		if got := ask(""); got != 401 {
			t.Fatalf("nobody is answered %d", got)
		}
	}
	answered := map[int]int{}
	for i := range 40 {
		answered[ask("Pass "+strings.Repeat("A", 24)+string(rune('A'+i%26))+"B")]++
	}
	if answered[401] != 10 || answered[429] != 30 {
		t.Errorf("40 guesses are answered %v, want 10 times 401", answered)
	}
	status, answer, header := h.Call("GET", "/api/underlog/pass/view", another.Token(), nil)
	if status != 429 || header.Get("Retry-After") == "" || !strings.Contains(string(answer), "Wait some minutes") {
		t.Errorf("a good pass from there is answered %d %s, so a guess would be told", status, answer)
	}
	h.Clock.Advance(10*time.Minute + time.Second)
	if got := ask(another.Token()); got != 200 {
		t.Errorf("ten minutes later a good pass is answered %d", got)
	}
}

// Wrong, over and ended are told apart only to who holds the secret.
func TestWhatIsToldAtTheDoor(t *testing.T) {
	h := mustBegin(t, nil)
	sentences := map[string]bool{}
	for _, token := range []string{"", "Pass ", "Pass x", "Pass " + strings.ToLower(h.sitter.Secret), "Pass " + h.sitter.Secret[:25], h.sitter.Secret, "Bearer " + h.sitter.Secret, h.Token} {
		status, answer, _ := h.Call("GET", "/api/underlog/pass/view", token, nil)
		if status != 401 {
			t.Errorf("%q is answered %d", token, status)
		}
		sentences[string(answer)] = true
	}
	if len(sentences) != 1 {
		t.Errorf("guesses are told apart: %v", sentences)
	}
}

func TestARehearsalWritesNothing(t *testing.T) {
	h := mustBegin(t, nil)
	before, err := h.Store.Last()
	if err != nil {
		t.Fatal(err)
	}
	var view passes.View
	h.MustCall("GET", "/api/underlog/passes/rehearsal/"+h.trip.ID, h.Token, nil, 200, &view)
	shown := h.mustView()
	if !view.Rehearsal || len(view.Visits) != len(shown.Visits) || len(view.Bins) != len(shown.Bins) || view.Sitter != "Kim" {
		t.Errorf("the rehearsal is %+v, the view %+v", view, shown)
	}
	h.MustCall("GET", "/api/underlog/passes/rehearsal/notripatall0000", h.Token, nil, 404, nil)
	if after, err := h.Store.Last(); err != nil || after != before {
		t.Errorf("the feed went from %d to %d (%v)", before, after, err)
	}
}

// A server that was put back may lack what a sitter's entry names: it gets no
// verdict until the owner's phone has brought it back.
func TestAfterARestoreAVisitIsNotLost(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(2 * days)
	if _, err := h.Store.Rewound(); err != nil {
		t.Fatal(err)
	}
	feeding := h.Feed(h.first.ID)
	look := h.sitter.Log(h.first.ID, husbandry.Leftovers, func(e *husbandry.Entry) { e.Of, e.Left = feeding.ID, "all gone" })
	if got := h.sitter.MustExchange(look).Verdicts; len(got) != 0 {
		t.Errorf("before the feeding is back: %+v", got)
	}
	h.Epoch, h.Cursor = "", 0
	h.MustExchange(nil, []husbandry.Entry{feeding})
	h.sitter.MustStore(look)
}
