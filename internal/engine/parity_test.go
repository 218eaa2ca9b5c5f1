package engine_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"underlog/internal/book"
	"underlog/internal/engine"
	"underlog/internal/example"
	"underlog/internal/husbandry"
	"underlog/internal/roomsim"
)

// asked runs the engine built for the phone under Node: the same records in,
// the survey, one outlook and what trips come to out.
const asked = `
const fs = require('fs'), path = require('path'), [wasmExec, wasm, ...files] = process.argv.slice(2)
require(wasmExec)
globalThis.underlogEngineReady = () => {
  const e = globalThis.underlogEngine
  const say = (value) => { if (value && value.error) throw new Error(value.error); return value }
  for (const file of files) {
    const { records, at, bin, then, trips } = JSON.parse(fs.readFileSync(file, 'utf8'))
    say(e.reset()); say(e.put(JSON.stringify(records)))
    const started = process.hrtime.bigint()
    const survey = JSON.parse(say(e.survey(at)))
    const took = Number(process.hrtime.bigint() - started) / 1e6
    const outlook = JSON.parse(say(e.outlook(bin, at)))
    const feeding = JSON.parse(say(e.feeding('{}', at)))
    const paces = JSON.parse(say(e.foodPaces(at)))
    const larder = JSON.parse(say(e.larder(at)))
    const tookThen = (then ?? []).map(({ records, at }) => {
      const started = process.hrtime.bigint(), busy = process.cpuUsage()
      say(e.put(JSON.stringify(records)))
      JSON.parse(say(e.survey(at)))
      const { user, system } = process.cpuUsage(busy)
      return { wall: Number(process.hrtime.bigint() - started) / 1e6, busy: (user + system) / 1e3 }
    })
    const away = (trips ?? []).map((trip) => {
      const started = process.hrtime.bigint(), busy = process.cpuUsage()
      const answer = JSON.parse(say(e.trip(JSON.stringify(trip), at)))
      const { user, system } = process.cpuUsage(busy)
      return { answer, wall: Number(process.hrtime.bigint() - started) / 1e6, busy: (user + system) / 1e3 }
    })
    fs.writeFileSync(file + '.out', JSON.stringify({ survey, outlook, feeding, paces, larder, took, tookThen, away }))
  }
  process.exit(0)
}
const go = new Go()
WebAssembly.instantiate(fs.readFileSync(wasm), go.importObject).then(({ instance }) => go.run(instance))
`

type corpus struct {
	Records records   `json:"records"`
	At      time.Time `json:"at"`
	Bin     string    `json:"bin"`
	Then    []step    `json:"then"` // records that arrive later, and when it is asked then
	// Trips are asked for one after the other, at At.
	Trips []husbandry.Trip `json:"trips"`
}

type records struct {
	Sheets  []husbandry.Sheet `json:"sheets"`
	Entries []husbandry.Entry `json:"entries"`
}

type step struct {
	Records records   `json:"records"`
	At      time.Time `json:"at"`
}

type answer struct {
	Survey  engine.Survey     `json:"survey"`
	Outlook engine.Outlook    `json:"outlook"`
	Feeding engine.Feeding    `json:"feeding"`
	Paces   []engine.FoodPace `json:"paces"`
	Larder  engine.Larder     `json:"larder"`
	Took    float64           `json:"took"` // ms
	Then    []struct {
		Wall float64 `json:"wall"` // ms
		Busy float64 `json:"busy"` // ms of processor time
	} `json:"tookThen"`
	Away []struct {
		Answer engine.Away `json:"answer"`
		Wall   float64     `json:"wall"` // ms
		Busy   float64     `json:"busy"` // ms of processor time
	} `json:"away"`
}

// mustAskWASM builds the engine for WebAssembly and asks it about each corpus.
func mustAskWASM(tb testing.TB, corpora []corpus) []answer {
	tb.Helper()
	folder := tb.TempDir()
	run := func(env []string, name string, args ...string) {
		tb.Helper()
		command := exec.Command(name, args...)
		command.Env = append(os.Environ(), env...)
		if out, err := command.CombinedOutput(); err != nil {
			tb.Fatalf("%s: %v\n%s", name, err, out)
		}
	}
	wasm, script := filepath.Join(folder, "engine.wasm"), filepath.Join(folder, "ask.cjs")
	run([]string{"GOOS=js", "GOARCH=wasm"}, "go", "build", "-o", wasm, "underlog/internal/engine/wasm")
	if err := os.WriteFile(script, []byte(asked), 0o600); err != nil {
		tb.Fatal(err)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		tb.Fatal(err)
	}
	args := []string{script, filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"), wasm}
	for i, c := range corpora {
		raw, err := json.Marshal(c)
		if err != nil {
			tb.Fatal(err)
		}
		file := filepath.Join(folder, fmt.Sprintf("%d.json", i))
		if err := os.WriteFile(file, raw, 0o600); err != nil {
			tb.Fatal(err)
		}
		args = append(args, file)
	}
	run(nil, "node", args...)
	answers := make([]answer, len(corpora))
	for i := range answers {
		raw, err := os.ReadFile(filepath.Join(folder, fmt.Sprintf("%d.json.out", i)))
		if err != nil {
			tb.Fatal(err)
		}
		if err := json.Unmarshal(raw, &answers[i]); err != nil {
			tb.Fatal(err)
		}
	}
	return answers
}

func mustCorpora(tb testing.TB, seeds int) []corpus {
	tb.Helper()
	at := time.Date(2026, 6, 1, 17, 20, 0, 0, time.FixedZone("summer", 2*3600))
	var invented corpus
	b := example.Book(at, "metric")
	invented.Records.Sheets, invented.Records.Entries, invented.At = append(husbandry.Seeds(), b.Sheets...), b.Entries, at
	corpora := []corpus{withBin(invented)}
	climate := mustClimate(tb)
	for seed := range seeds {
		config, err := roomsim.NewConfig(roomsim.TuningRoom, climate, uint64(seed+1))
		if err != nil {
			tb.Fatal(err)
		}
		config.Bins, config.Days, config.Feeding = 8, 50, true
		room, err := roomsim.NewRoom(config)
		if err != nil {
			tb.Fatal(err)
		}
		room.Run(roomsim.TwiceAWeek())
		end := config.Start.AddDate(0, 0, 48).Add(17*time.Hour + time.Duration(seed)*time.Minute)
		var text bytes.Buffer
		if err := room.WriteBook(&text, end); err != nil {
			tb.Fatal(err)
		}
		read, err := book.Read(&text, end)
		if err != nil || len(read.Problems) > 0 {
			tb.Fatal(err, read.Problems)
		}
		var c corpus
		c.Records.Sheets, c.Records.Entries, c.At = append(husbandry.Seeds(), read.Sheets...), read.Entries, end
		corpora = append(corpora, withBin(c))
	}
	return corpora
}

func withBin(c corpus) corpus {
	for _, sheet := range c.Records.Sheets {
		if sheet.Sheet == "bins" {
			c.Bin = sheet.ID
		}
	}
	return c
}

func mustClimate(tb testing.TB) roomsim.Climate {
	tb.Helper()
	file, err := os.Open("../../testdata/climate/room1.csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	climate, err := roomsim.ParseClimate(file)
	if err != nil {
		tb.Fatal(err)
	}
	return climate
}

// Server and phone must say the same: windows to the minute, odds to 1e-9.
// They are not the same bits, since the exponential function differs.
func TestPhoneAndServerSayTheSame(t *testing.T) {
	corpora := mustCorpora(t, 6)
	for i := range corpora {
		for _, ahead := range []int{1, -8} {
			corpora[i].Trips = append(corpora[i].Trips, engine.TripFrom(corpora[i].At, ahead, 15))
		}
	}
	for i, phone := range mustAskWASM(t, corpora) {
		c := corpora[i]
		e := engine.New()
		e.Put(c.Records.Sheets, c.Records.Entries)
		server := answer{Survey: e.Survey(c.At), Outlook: e.Outlook(c.Bin, c.At)}
		if len(server.Survey.Chores) == 0 || len(phone.Survey.Chores) != len(server.Survey.Chores) {
			t.Fatalf("corpus %d: %d chores on the phone, %d on the server", i, len(phone.Survey.Chores), len(server.Survey.Chores))
		}
		byKey := map[string]husbandry.Chore{}
		for _, chore := range server.Survey.Chores {
			byKey[chore.Bin+chore.Chore+chore.Of] = chore
		}
		for _, chore := range phone.Survey.Chores {
			same := byKey[chore.Bin+chore.Chore+chore.Of]
			apart(t, i, chore.Chore+" opens", chore.Opens, same.Opens)
			apart(t, i, chore.Chore+" due", chore.Due, same.Due)
			apart(t, i, chore.Chore+" closes", chore.Closes, same.Closes)
			near(t, i, chore.Chore+" odds", chore.Odds, same.Odds)
			near(t, i, chore.Chore+" dose", chore.DoseML, same.DoseML)
			if chore.Reason != same.Reason {
				t.Errorf("corpus %d: %q on the phone, %q on the server", i, chore.Reason, same.Reason)
			}
		}
		for j, glance := range phone.Survey.Glances {
			same := server.Survey.Glances[j]
			near(t, i, "dry", glance.Dry, same.Dry)
			near(t, i, "risk", glance.Risk, same.Risk)
			near(t, i, "leaves", glance.Leaves.Mean, same.Leaves.Mean)
			for k, lying := range glance.Food {
				near(t, i, "gone", lying.Gone, same.Food[k].Gone)
				near(t, i, "mouldy", lying.Mouldy, same.Food[k].Mouldy)
			}
		}
		feeding := e.Feeding(engine.FeedingOrder{}, c.At)
		if len(phone.Feeding.Bins) != len(feeding.Bins) {
			t.Fatalf("corpus %d: %d bins to be fed on the phone, %d on the server", i, len(phone.Feeding.Bins), len(feeding.Bins))
		}
		for j, row := range phone.Feeding.Bins {
			same := feeding.Bins[j]
			near(t, i, "share", row.Share, same.Share)
			if row.State != same.State || (row.Pick == nil) != (same.Pick == nil) || row.Pick != nil && row.Pick.Food != same.Pick.Food {
				t.Errorf("corpus %d: %+v on the phone, %+v on the server", i, row, same)
			}
		}
		for j, pace := range e.FoodPaces(c.At) {
			near(t, i, "pace", phone.Paces[j].Taught.Middle, pace.Taught.Middle)
		}
		larder := e.Larder(c.At)
		if len(phone.Larder.Batches) != len(larder.Batches) {
			t.Fatalf("corpus %d: %d batches on the phone, %d on the server", i, len(phone.Larder.Batches), len(larder.Batches))
		}
		for j, held := range phone.Larder.Batches {
			same := larder.Batches[j]
			near(t, i, "left", held.Left.Mean, same.Left.Mean)
			if (held.RunsOut == nil) != (same.RunsOut == nil) {
				t.Fatalf("corpus %d: %+v on the phone, %+v on the server", i, held, same)
			}
			if held.RunsOut != nil {
				apart(t, i, "runs out", held.RunsOut.About, same.RunsOut.About)
			}
		}
		for j, point := range phone.Outlook.Fan {
			near(t, i, "fan", point.P50, server.Outlook.Fan[j].P50)
		}
		for j, trip := range c.Trips {
			same, err := e.Trip(trip, c.At)
			if err != nil {
				t.Fatal(err)
			}
			sameTrip(t, i, phone.Away[j].Answer, same)
		}
	}
}

// sameTrip compares what a trip comes to; odds of a trip are rounded to 1e-4.
func sameTrip(t *testing.T, corpus int, phone, server engine.Away) {
	t.Helper()
	near(t, corpus, "bins expected to come to harm", phone.Plan.Harmed, server.Plan.Harmed)
	for k, bin := range phone.Bins {
		other := server.Bins[k]
		if bin.Verdict != other.Verdict || !slices.Equal(bin.Served, other.Served) {
			t.Errorf("corpus %d, %s: %s, opened on %v on the phone; %s, %v on the server", corpus, bin.Bin, bin.Verdict, bin.Served, other.Verdict, other.Served)
		}
		for day, odds := range bin.Planned {
			if math.Abs(odds-other.Planned[day]) > 1.01e-4 {
				t.Errorf("corpus %d, %s, day %d: odds of %v on the phone, %v on the server", corpus, bin.Bin, day, odds, other.Planned[day])
			}
		}
	}
	if len(phone.Odd) != len(server.Odd) || (phone.Changed == nil) != (server.Changed == nil) {
		t.Errorf("corpus %d: %d odd readings on the phone, %d on the server; changed %v and %v", corpus, len(phone.Odd), len(server.Odd), phone.Changed, server.Changed)
	} else if phone.Changed != nil && len(phone.Changed.Bins) != len(server.Changed.Bins) {
		t.Errorf("corpus %d: %d bins changed on the phone, %d on the server", corpus, len(phone.Changed.Bins), len(server.Changed.Bins))
	}
}

func apart(t *testing.T, corpus int, what string, a, b time.Time) {
	t.Helper()
	if d := a.Sub(b); d.Abs() > time.Minute {
		t.Errorf("corpus %d: %s: phone and server are %v apart", corpus, what, d)
	}
}

func near(t *testing.T, corpus int, what string, a, b float64) {
	t.Helper()
	if !(math.Abs(a-b) <= 1e-9) {
		t.Errorf("corpus %d: %s: %.15g on the phone, %.15g on the server", corpus, what, a, b)
	}
}

// The engine on the phone holds a room of 200 bins; an entry arrives and the
// clock has moved. From one JSON text to the other, on one core.
func BenchmarkPhoneRefreshes200Bins(b *testing.B) {
	const rounds = 20
	var c corpus
	c.Records.Sheets, c.Records.Entries = engine.Big(b, 200, 2)
	c = withBin(c)
	c.At = engine.Today
	for n := range rounds {
		at := c.At.Add(time.Duration(n+1) * time.Minute)
		entry := husbandry.Entry{ID: fmt.Sprint("x", n), Bin: c.Bin, At: at, What: husbandry.Feel, Feel: husbandry.FeelWords[n%4]}
		c.Then = append(c.Then, step{Records: records{Entries: []husbandry.Entry{entry}}, At: at})
	}
	for b.Loop() {
		answer := mustAskWASM(b, []corpus{c})[0]
		var wall, busy []float64
		for _, took := range answer.Then {
			wall, busy = append(wall, took.Wall), append(busy, took.Busy)
		}
		slices.Sort(wall)
		slices.Sort(busy)
		b.ReportMetric(wall[rounds/2]/600, "of-600ms")
		b.ReportMetric(wall[rounds-1]/600, "worst-of-600ms")
		b.ReportMetric(busy[rounds/2]/600, "busy-of-600ms")
		b.ReportMetric(answer.Took/600, "first-survey-of-600ms")
	}
}

// A month away is worked out for 200 bins, as on every touch of the form: a
// trip that begins tomorrow, one in nine days, and one that is on, of which the
// plan from before the last visit is worked out too. From one JSON text to the
// other.
func BenchmarkPhoneTrip200Bins(b *testing.B) {
	const rounds = 5
	var c corpus
	c.Records.Sheets, c.Records.Entries = engine.Big(b, 200, 2)
	c = withBin(c)
	c.At = engine.Today
	names := []string{"tomorrow", "in-nine-days", "on"}
	for n := range rounds {
		for i, ahead := range []int{1, 9, -5} {
			trip := engine.TripFrom(c.At, ahead, 30)
			trip.Name = fmt.Sprint(names[i], n) // another trip each time: nothing is kept
			c.Trips = append(c.Trips, trip)
		}
	}
	for b.Loop() {
		answer := mustAskWASM(b, []corpus{c})[0]
		for i, name := range names {
			var wall, busy []float64
			for n := range rounds {
				asked := answer.Away[n*len(names)+i]
				wall, busy = append(wall, asked.Wall), append(busy, asked.Busy)
			}
			slices.Sort(wall)
			slices.Sort(busy)
			b.ReportMetric(wall[rounds/2]/500, name+"-of-500ms")
			b.ReportMetric(busy[rounds/2]/500, name+"-busy-of-500ms")
		}
	}
}
