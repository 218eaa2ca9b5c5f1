package honesty

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
)

var start = time.Date(2026, 5, 28, 18, 0, 0, 0, time.UTC)

func hour(h float64) time.Time { return start.Add(time.Duration(h * float64(time.Hour))) }

// mustFreeze freezes a window that opens after 10 hours, closes after 40, and
// whose odds rise from 0 to 1 in 50 hours.
func mustFreeze(tb testing.TB, chore, of string, at time.Time, entries ...husbandry.Entry) Window {
	tb.Helper()
	c := husbandry.Chore{Bin: "b", Chore: chore, Of: of, Opens: hour(10), Due: hour(20), Closes: hour(40)}
	for h := at.Sub(start).Hours(); h <= 50; h += 5 {
		p := h / 50
		c.Forecast = append(c.Forecast, husbandry.OddsPoint{At: hour(h), Dry: &p, Risk: &p, Gone: &p, Mouldy: &p})
	}
	w, ok := Freeze(c, entries, at)
	if !ok {
		tb.Fatal("the window could not be frozen")
	}
	return w
}

func feel(id string, h float64, word string) husbandry.Entry {
	return husbandry.Entry{ID: id, Bin: "b", At: hour(h), What: husbandry.Feel, Feel: word}
}

func water(id string, h float64) husbandry.Entry {
	return husbandry.Entry{ID: id, Bin: "b", At: hour(h), What: husbandry.Water, WaterML: 30}
}

func look(id string, h float64, left, mould string) husbandry.Entry {
	return husbandry.Entry{ID: id, Bin: "b", At: hour(h), What: husbandry.Leftovers, Of: "f", Left: left, Mould: mould}
}

func TestSettle(t *testing.T) {
	cases := []struct {
		name     string
		chore    string
		entry    husbandry.Entry
		ok       bool
		odds     float64
		happened bool
		place    Place
	}{
		{"dry, between two points", husbandry.ChoreFeel, feel("e", 22.5, "dry"), true, 0.45, true, InTime},
		{"dry, on a point", husbandry.ChoreFeel, feel("e", 25, "dry"), true, 0.5, true, InTime},
		{"at the very first point", husbandry.ChoreFeel, feel("e", 0, "damp"), true, 0, false, Early},
		{"at the very last point", husbandry.ChoreFeel, feel("e", 50, "dry"), true, 1, true, Late},
		{"barely is not dry", husbandry.ChoreFeel, feel("e", 22.5, "barely"), true, 0.45, false, InTime},
		{"before it opened", husbandry.ChoreFeel, feel("e", 9, "dry"), true, 0.18, true, Early},
		{"as it opens", husbandry.ChoreFeel, feel("e", 10, "dry"), true, 0.2, true, InTime},
		{"as it closes", husbandry.ChoreFeel, feel("e", 40, "dry"), true, 0.8, true, InTime},
		{"after it closed", husbandry.ChoreFeel, feel("e", 41, "dry"), true, 0.82, true, Late},
		{"before it was frozen", husbandry.ChoreFeel, feel("e", -1, "dry"), false, 0, false, ""},
		{"after the forecast ended", husbandry.ChoreFeel, feel("e", 50.1, "dry"), false, 0, false, ""},
		{"a word that nobody knows", husbandry.ChoreFeel, feel("e", 22.5, "moist"), false, 0, false, ""},
		{"water is no look", husbandry.ChoreFeel, water("e", 22.5), false, 0, false, ""},
		{"another bin", husbandry.ChoreFeel, husbandry.Entry{ID: "e", Bin: "c", At: hour(22), What: husbandry.Feel, Feel: "dry"}, false, 0, false, ""},
		{"mouldy", husbandry.ChoreLeftovers, look("e", 20, "some left", "specks"), true, 0.4, true, InTime},
		{"furry", husbandry.ChoreLeftovers, look("e", 20, "untouched", "furry"), true, 0.4, true, InTime},
		{"clean", husbandry.ChoreLeftovers, look("e", 20, "untouched", "none"), true, 0.4, false, InTime},
		{"mould not mentioned", husbandry.ChoreLeftovers, look("e", 20, "untouched", ""), true, 0.4, false, InTime},
		{"gone is not mouldy", husbandry.ChoreLeftovers, look("e", 20, "all gone", "specks"), true, 0.4, false, InTime},
		{"another feeding", husbandry.ChoreLeftovers, func() husbandry.Entry {
			e := look("e", 20, "untouched", "furry")
			e.Of = "g"
			return e
		}(), false, 0, false, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			of := ""
			if c.chore == husbandry.ChoreLeftovers {
				of = "f"
			}
			got, ok := Settle(mustFreeze(t, c.chore, of, start), c.entry)
			if ok != c.ok {
				t.Fatalf("settled %v, want %v", ok, c.ok)
			}
			if !ok {
				return
			}
			if math.Abs(got.Odds-c.odds) > 1e-9 || got.Happened != c.happened || got.Place != c.place || got.Entry != "e" {
				t.Errorf("got %+v, want odds %v, happened %v, %s", got, c.odds, c.happened, c.place)
			}
		})
	}
}

func TestTheLookOfAWindowIsTheEntryThatFollowsItsOwn(t *testing.T) {
	before := []husbandry.Entry{feel("a", -30, "dry"), water("b", -30)}
	other := husbandry.Entry{ID: "n", Bin: "b", At: hour(3), What: husbandry.Look}
	cases := []struct {
		name   string
		known  []husbandry.Entry // when the window was frozen, at hour 0
		now    []husbandry.Entry
		settle string
	}{
		{"nothing yet", before, before, ""},
		{"a feel", before, append(before[:2:2], feel("c", 20, "damp")), "c"},
		{"the first of two feels, whichever arrived first", before, append(before[:2:2], feel("d", 30, "dry"), feel("c", 20, "damp")), "c"},
		{"feel and water of one instant: people feel first", before, append(before[:2:2], water("c", 20), feel("d", 20, "damp")), "d"},
		{"water in between makes another forecast of it", before, append(before[:2:2], water("c", 10), feel("d", 20, "damp")), ""},
		{"what is no reading and no dose does not matter", before, append(before[:2:2], other, feel("c", 20, "damp")), "c"},
		{"what it was forecast from is struck", before, []husbandry.Entry{before[0], feel("c", 20, "damp")}, ""},
		{"a dose from before the freezing came in late", before, append(before[:2:2], water("late", -2), feel("c", 20, "damp")), ""},
		{"a bin of which nothing was known", nil, []husbandry.Entry{feel("c", 20, "damp")}, "c"},
		{"a bin of which nothing was known, but should have been", nil, []husbandry.Entry{feel("late", -2, "damp"), feel("c", 20, "damp")}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := mustFreeze(t, husbandry.ChoreFeel, "", start, c.known...)
			got := ""
			if result, ok := SettleAll([]Window{w}, c.now)[0]; ok {
				got = result.Entry
			}
			if got != c.settle {
				t.Errorf("settled by %q, want %q", got, c.settle)
			}
		})
	}
}

func TestWhatWasForecastInIgnoranceHasNoLook(t *testing.T) {
	base := water("a", -30)
	w := mustFreeze(t, husbandry.ChoreFeel, "", start, base)
	for _, late := range []husbandry.Entry{water("late", -2), feel("late", -2, "dry")} {
		if next, ok := w.Next([]husbandry.Entry{base, late, feel("c", 20, "damp")}); ok {
			t.Errorf("with a late %s the next entry is %s", late.What, next.ID)
		}
	}
	if next, ok := w.Next([]husbandry.Entry{base, feel("c", 20, "damp")}); !ok || next.ID != "c" {
		t.Errorf("the next entry is %q", next.ID)
	}
}

func TestALookSettlesTheLatestWindowFrozenBeforeIt(t *testing.T) {
	base := water("a", 0)
	standing, opened := mustFreeze(t, husbandry.ChoreFeel, "", start, base), mustFreeze(t, husbandry.ChoreFeel, "", hour(10), base)
	if standing.Open() || !opened.Open() {
		t.Fatal("the first is frozen before it opens, the second as it opens")
	}
	for at, want := range map[float64]int{5: 0, 9.99: 0, 10: 1, 30: 1} {
		for _, windows := range [][]Window{{standing, opened}, {opened, standing}} {
			results := SettleAll(windows, []husbandry.Entry{base, feel("e", at, "dry")})
			if len(results) != 1 {
				t.Fatalf("a look settled %d windows", len(results))
			}
			for i := range results {
				if wantEarly := want == 0; windows[i].FrozenAt.Equal(standing.FrozenAt) != wantEarly {
					t.Errorf("a look at hour %v settled the window frozen at %v", at, windows[i].FrozenAt)
				}
			}
		}
	}
}

func TestOnlyWhatIsForecastIsFrozen(t *testing.T) {
	p := 0.123456
	points := []husbandry.OddsPoint{{At: start, Dry: &p, Risk: &p, Gone: &p, Mouldy: &p}}
	for _, chore := range husbandry.ChoreSorts {
		w, ok := Freeze(husbandry.Chore{Chore: chore, Forecast: points}, nil, start)
		if ok != Scored(chore) {
			t.Errorf("%s: frozen %v", chore, ok)
		}
		if ok {
			kept := w.Forecast[0]
			if kept.Risk != nil || kept.Gone != nil || (kept.Dry == nil) == (kept.Mouldy == nil) || *w.called(0) != 0.1235 {
				t.Errorf("%s keeps %+v", chore, kept)
			}
		}
	}
	if _, ok := Freeze(husbandry.Chore{Chore: husbandry.ChoreFeel}, nil, start); ok {
		t.Error("a chore without a forecast was frozen")
	}
}

func TestReport(t *testing.T) {
	var results []Result
	add := func(n int, odds float64, happened bool, place Place) {
		for range n {
			results = append(results, Result{Chore: husbandry.ChoreFeel, Odds: odds, Happened: happened, Place: place})
		}
	}
	add(12, 0.8, true, InTime)
	add(3, 0.8, false, InTime)
	add(1, 0.1, true, Early)
	add(8, 0.1, false, Early)
	add(1, 0.95, true, Late)
	results = append(results, Result{Chore: husbandry.ChoreLeftovers, Odds: 0.2})
	got := NewReport(results)

	// Brier by hand: (12*0.04 + 3*0.64 + 0.81 + 8*0.01 + 0.0025) / 25; share 14/25.
	if want := (12*0.04 + 3*0.64 + 0.81 + 8*0.01 + 0.0025) / 25; math.Abs(*got.Dry.Brier-want) > 1e-12 {
		t.Errorf("Brier %v, want %v", *got.Dry.Brier, want)
	}
	if want := 14.0 / 25 * 11 / 25; math.Abs(*got.Dry.BrierOfShare-want) > 1e-12 {
		t.Errorf("Brier of the share %v, want %v", *got.Dry.BrierOfShare, want)
	}
	if got.Dry.N != 25 || got.Dry.Found != (Found{N: 14, Early: 1, InTime: 12, Late: 1}) {
		t.Errorf("%+v", got.Dry)
	}
	if len(got.Dry.Tenths) != 3 || got.Dry.Tenths[1].N != 15 || math.Abs(got.Dry.Tenths[1].Observed-0.8) > 1e-12 {
		t.Errorf("tenths %+v", got.Dry.Tenths)
	}
	if want := "Of the 15 looks called 80\u00a0% dry, 80\u00a0% were."; got.Dry.Sentence != want {
		t.Errorf("%q, want %q", got.Dry.Sentence, want)
	}
	if got.Mouldy.N != 1 || got.Mouldy.Sentence != "" || math.Abs(*got.Mouldy.Brier-0.04) > 1e-12 {
		t.Errorf("%+v", got.Mouldy)
	}
	if none := NewReport(nil); none.Dry.Brier != nil || none.Dry.Tenths == nil || none.Dry.Sentence != "" {
		t.Errorf("a report on nothing is %+v", none)
	}
}

// Truths drawn from the odds that were called must come out calibrated, and
// the same truths under odds that are squeezed to even must not.
func TestCalibratedCallsLookCalibrated(t *testing.T) {
	source := rand.New(rand.NewPCG(7, 11))
	entries := []husbandry.Entry{water("a", 0)}
	w := mustFreeze(t, husbandry.ChoreFeel, "", start, entries...)
	var honest, timid []Result
	for range 20000 {
		h := source.Float64() * 50
		word := "damp"
		if source.Float64() < h/50 {
			word = "dry"
		}
		result, ok := Settle(w, feel("e", h, word))
		if !ok {
			t.Fatal("not settled")
		}
		honest = append(honest, result)
		result.Odds = 0.5 + (result.Odds-0.5)*0.5
		timid = append(timid, result)
	}
	worst := func(results []Result) float64 { // in standard errors of a binomial share
		sigma := 0.0
		for _, tenth := range NewReport(results).Dry.Tenths {
			error := math.Sqrt(math.Max(tenth.Called*(1-tenth.Called), 0.01) / float64(tenth.N))
			sigma = math.Max(sigma, math.Abs(tenth.Observed-tenth.Called)/error)
		}
		return sigma
	}
	if sigma := worst(honest); sigma > 4 {
		t.Errorf("calibrated calls are off by %.1f standard errors", sigma)
	}
	if sigma := worst(timid); sigma < 6 {
		t.Errorf("calls squeezed to even are off by %.1f standard errors only", sigma)
	}
	// The mean of p(1-p) for p uniform in 0-1 is 1/6.
	if brier := *NewReport(honest).Dry.Brier; math.Abs(brier-1.0/6) > 0.005 {
		t.Errorf("Brier %v, want 1/6", brier)
	}
	if sentence := NewReport(honest).Dry.Sentence; !strings.HasPrefix(sentence, "Of the ") {
		t.Errorf("%q", sentence)
	}
}

// However the entries lie, no look settles two windows, and what settles one
// was made after it was frozen.
func TestNoLookIsCountedTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []husbandry.Entry
		for i := range rapid.IntRange(1, 8).Draw(t, "entries") {
			id, h := string(rune('a'+i)), rapid.Float64Range(0, 50).Draw(t, "hour")
			if rapid.Bool().Draw(t, "is water") {
				all = append(all, water(id, h))
			} else {
				all = append(all, feel(id, h, rapid.SampledFrom(husbandry.FeelWords).Draw(t, "word")))
			}
		}
		var windows []Window
		for range rapid.IntRange(1, 6).Draw(t, "windows") {
			at := hour(float64(rapid.IntRange(0, 45).Draw(t, "frozen")))
			var known []husbandry.Entry
			for _, e := range all {
				if !e.At.After(at) && rapid.IntRange(0, 3).Draw(t, "arrived") > 0 {
					known = append(known, e)
				}
			}
			p := 0.5
			w, _ := Freeze(husbandry.Chore{Bin: "b", Chore: husbandry.ChoreFeel,
				Forecast: []husbandry.OddsPoint{{At: at, Dry: &p}, {At: hour(60), Dry: &p}}}, known, at)
			windows = append(windows, w)
		}
		seen := map[string]bool{}
		for i, result := range SettleAll(windows, all) {
			if seen[result.Entry] {
				t.Fatalf("%s settled two windows", result.Entry)
			}
			seen[result.Entry] = true
			if result.At.Before(windows[i].FrozenAt) {
				t.Fatalf("%s came before the freezing", result.Entry)
			}
		}
	})
}
