package scores_test

import (
	"encoding/json"
	"math"
	"slices"
	"testing"
	"time"

	"underlog/backend/scores"
	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// a bin under watch on a running server
type watched struct {
	*trial.Phone
	bin string
}

func mustWatch(t *testing.T) watched {
	t.Helper()
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	bin := phone.Bin("Pied pillbugs")
	w := watched{phone, bin.ID}
	phone.MustStore([]husbandry.Sheet{bin}, w.feel("dry"), w.water(60))
	w.mustRefresh()
	return w
}

func (w watched) mustRefresh() {
	w.Helper()
	if err := w.Forecast.Refresh(); err != nil {
		w.Fatal(err)
	}
}

func (w watched) mustLog(entries ...husbandry.Entry) {
	w.Helper()
	w.MustStore(nil, entries...)
	w.mustRefresh()
}

func (w watched) feel(word string) husbandry.Entry {
	return w.Log(w.bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = word })
}

func (w watched) water(ml float64) husbandry.Entry {
	return w.Log(w.bin, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = ml })
}

// mustOpen lets time pass until a window of the bin is frozen as it is open.
func (w watched) mustOpen(chore string) store.FrozenWindow {
	w.Helper()
	for range 24 * 20 {
		for _, window := range w.mustWindows(chore) {
			if window.Open() {
				return window
			}
		}
		w.MustAdvance(time.Hour)
	}
	w.Fatalf("no window of %s opened in twenty days", chore)
	return store.FrozenWindow{}
}

func (w watched) mustWindows(chore string) []store.FrozenWindow {
	w.Helper()
	windows, err := w.Store.WindowsOf(w.bin, time.Time{})
	if err != nil {
		w.Fatal(err)
	}
	return slices.DeleteFunc(windows, func(f store.FrozenWindow) bool { return f.Chore != chore })
}

func (w watched) mustReport() scores.Answer {
	w.Helper()
	var answer scores.Answer
	w.MustCall("GET", "/api/underlog/honesty", w.Token, nil, 200, &answer)
	return answer
}

func text(t testing.TB, v any) string {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func TestAWindowIsFrozenOnceAndNothingLearntLaterChangesIt(t *testing.T) {
	w := mustWatch(t)
	frozen := w.mustOpen(husbandry.ChoreFeel)
	before := w.mustWindows(husbandry.ChoreFeel)
	if len(before) != 2 || before[0].Open() || before[1].ID != frozen.ID {
		t.Fatalf("%d windows, want the standing one and the open one", len(before))
	}
	if late := frozen.FrozenAt.Sub(frozen.Opens); late > time.Hour {
		t.Errorf("frozen %v after it opened", late)
	}
	// A heatwave, other bins' readings, a restart: all of them move the forecast.
	hot, dry := 34.0, 12.0
	w.mustLog(w.Log("", husbandry.Climate, func(e *husbandry.Entry) { e.TemperatureC, e.HumidityPct = &hot, &dry }))
	other := w.Bin("Neighbours")
	w.MustStore([]husbandry.Sheet{other}, w.Log(other.ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "dry" }))
	w.MustAdvance(5 * time.Hour)
	w.MustRestart()
	w.MustAdvance(2 * time.Hour)
	if now := w.mustWindows(husbandry.ChoreFeel); text(t, now) != text(t, before) {
		t.Errorf("the windows changed:\n%s\n%s", text(t, before), text(t, now))
	}
	chores, err := w.Store.Chores()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range chores {
		if c.Bin == w.bin && c.Chore == husbandry.ChoreFeel && c.Due.Equal(frozen.Due) {
			t.Error("the forecast did not move, so nothing has been shown")
		}
	}
}

func TestAFeelSettlesAndAStrikeUnsettles(t *testing.T) {
	w := mustWatch(t)
	frozen := w.mustOpen(husbandry.ChoreFeel)
	if n := w.mustReport().Room.Dry.N; n != 0 {
		t.Fatalf("%d looks are scored before there was one", n)
	}
	w.MustAdvance(3 * time.Hour)
	feel := w.feel("dry")
	w.mustLog(feel)
	want, _ := frozen.OddsAt(feel.At)
	report := w.mustReport()
	for name, got := range map[string]float64{"room": *report.Room.Dry.Brier, "bin": *report.Bins[w.bin].Dry.Brier} {
		if math.Abs(got-(1-want)*(1-want)) > 1e-9 {
			t.Errorf("%s: Brier %v, want that of %v", name, got, want)
		}
	}
	if found := report.Room.Dry.Found; found.N != 1 || found.InTime != 1 {
		t.Errorf("found %+v", found)
	}
	strike := w.Log(w.bin, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = feel.ID })
	w.mustLog(strike)
	if report := w.mustReport(); report.Room.Dry.N != 0 || len(report.Bins) != 0 {
		t.Errorf("struck, it is still counted: %s", text(t, report))
	}
	// The next look settles the same window again.
	w.MustAdvance(time.Hour)
	w.mustLog(w.feel("damp"))
	if report := w.mustReport(); report.Room.Dry.N != 1 || report.Room.Dry.Found.N != 0 {
		t.Errorf("the look after the strike: %s", text(t, report))
	}
}

func TestALateEntryIsScoredByWhatStoodBeforeIt(t *testing.T) {
	w := mustWatch(t)
	w.MustAdvance(4 * time.Hour)
	early := w.feel("damp") // made now, without signal
	standing := w.mustWindows(husbandry.ChoreFeel)[0]
	frozen := w.mustOpen(husbandry.ChoreFeel)
	if !early.At.Before(frozen.FrozenAt) {
		t.Fatal("the window opened too soon for this test")
	}
	later := w.feel("dry")
	w.mustLog(later)
	settled := func() map[string]string {
		looks := map[string]string{}
		for _, window := range w.mustWindows(husbandry.ChoreFeel) {
			if window.Result != nil {
				looks[window.ID] = window.Result.Entry
			}
		}
		return looks
	}
	if got := settled(); len(got) != 1 || got[frozen.ID] != later.ID {
		t.Fatalf("settled %v", got)
	}
	w.mustLog(early)
	if got := settled(); len(got) != 1 || got[standing.ID] != early.ID {
		t.Errorf("with the late entry settled %v, want %s by %s alone: the open window was forecast without it", got, standing.ID, early.ID)
	}
}

func TestWaterInBetweenMakesAnotherWindowOfIt(t *testing.T) {
	w := mustWatch(t)
	w.mustOpen(husbandry.ChoreFeel)
	water := w.water(40)
	w.mustLog(water)
	w.MustAdvance(time.Hour)
	feel := w.feel("damp")
	w.mustLog(feel)
	for _, window := range w.mustWindows(husbandry.ChoreFeel) {
		if window.Result != nil && (window.After != water.ID || window.Result.Entry != feel.ID) {
			t.Errorf("the window forecast from %s is settled by %s", window.After, window.Result.Entry)
		}
	}
	if n := w.mustReport().Room.Dry.N; n != 1 {
		t.Errorf("%d looks are scored, want 1", n)
	}
}

func TestALookAtLeftoversSettles(t *testing.T) {
	w := mustWatch(t)
	feeding := w.Feed(w.bin)
	w.mustLog(feeding)
	frozen := w.mustOpen(husbandry.ChoreLeftovers)
	if frozen.Of != feeding.ID || frozen.After != feeding.ID {
		t.Fatalf("frozen %+v", frozen.Window)
	}
	w.MustAdvance(2 * time.Hour)
	look := w.Log(w.bin, husbandry.Leftovers, func(e *husbandry.Entry) { e.Of, e.Left, e.Mould = feeding.ID, "some left", "specks" })
	w.mustLog(look)
	want, _ := frozen.OddsAt(look.At)
	report := w.mustReport()
	if report.Room.Mouldy.N != 1 || report.Room.Dry.N != 0 || math.Abs(*report.Room.Mouldy.Brier-(1-want)*(1-want)) > 1e-9 {
		t.Errorf("%s, want the Brier of %v", text(t, report), want)
	}
}

func TestAServerThatStopsBeforeSettlingSettlesAfterwards(t *testing.T) {
	w := mustWatch(t)
	frozen := w.mustOpen(husbandry.ChoreFeel)
	feel := w.feel("dry")
	w.mustLog(feel)
	if err := w.Store.SetResult(frozen.ID, nil); err != nil { // as if it had stopped before it wrote this
		t.Fatal(err)
	}
	w.MustRestart()
	w.mustRefresh()
	if n := w.mustReport().Room.Dry.N; n != 1 {
		t.Errorf("%d looks are scored, want 1", n)
	}
}

func TestResultsOutliveTheirForecasts(t *testing.T) {
	w := mustWatch(t)
	w.mustOpen(husbandry.ChoreFeel)
	feel := w.feel("dry")
	w.mustLog(feel)
	before := text(t, w.mustReport())
	for range 70 {
		w.MustAdvance(24 * time.Hour)
	}
	if got := text(t, w.mustReport()); got != before {
		t.Errorf("after seventy days the report is %s, was %s", got, before)
	}
	for _, window := range w.mustWindows(husbandry.ChoreFeel) {
		if window.FrozenAt.Before(w.Clock.Now().Add(-62*24*time.Hour)) && (window.Result == nil || len(window.Forecast) > 0) {
			t.Errorf("kept: %+v", window)
		}
	}
	w.mustLog(w.Log(w.bin, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = feel.ID }))
	if n := w.mustReport().Room.Dry.N; n != 0 {
		t.Error("a look that is struck after seventy days is still counted")
	}
}

func TestOnlyPeopleSeeTheScoresAndNobodyWritesThem(t *testing.T) {
	w := mustWatch(t)
	if status, _, _ := w.Call("GET", "/api/underlog/honesty", "", nil); status != 401 {
		t.Errorf("nobody in particular got %d", status)
	}
	helper := w.MustAddHelper("Kim")
	helper.MustCall("GET", "/api/underlog/honesty", helper.Token, nil, 200, nil)
	var list struct{ TotalItems int }
	helper.MustCall("GET", "/api/collections/windows/records", helper.Token, nil, 200, &list)
	if list.TotalItems == 0 {
		t.Error("a helper sees no windows")
	}
	w.MustCall("GET", "/api/collections/windows/records", "", nil, 200, &list)
	if list.TotalItems != 0 {
		t.Errorf("nobody in particular sees %d windows", list.TotalItems)
	}
	id := w.mustWindows(husbandry.ChoreFeel)[0].ID
	for method, path := range map[string]string{"POST": "", "PATCH": "/" + id, "DELETE": "/" + id} {
		if status, _, _ := w.Call(method, "/api/collections/windows/records"+path, w.Token, map[string]any{"odds": 1}); status < 400 {
			t.Errorf("%s answered %d", method, status)
		}
	}
}

func TestTheEndOfTheExampleEmptiesTheWindows(t *testing.T) {
	tr := trial.MustStart(t, trial.Noon)
	var begun struct{ Token string }
	tr.MustCall("POST", "/api/underlog/example", "", map[string]string{"time_zone": "Europe/Berlin", "units": "metric"}, 200, &begun)
	if err := tr.Forecast.Refresh(); err != nil {
		t.Fatal(err)
	}
	count := func() int {
		n, err := tr.Store.App.CountRecords(store.Windows)
		if err != nil {
			t.Fatal(err)
		}
		return int(n)
	}
	if count() == 0 {
		t.Fatal("nothing of the example was frozen")
	}
	tr.MustCall("DELETE", "/api/underlog/example", begun.Token, nil, 204, nil)
	if n := count(); n != 0 {
		t.Errorf("%d windows are left behind by the removal", n)
	}
	if err := tr.Forecast.Refresh(); err != nil {
		t.Fatal(err)
	}
	if n := count(); n != 0 {
		t.Errorf("%d windows came back", n)
	}
}
