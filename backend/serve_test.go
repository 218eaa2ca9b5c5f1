package main_test

import (
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"

	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

var rounds = flag.Int("kill.rounds", usualRounds, "how often the server is killed")

// built is the real command, built once for all tests.
var built = sync.OnceValues(func() (string, error) {
	folder, err := os.MkdirTemp("", "underlog-command-*") // outlives the first test
	if err != nil {
		return "", err
	}
	command := filepath.Join(folder, "underlog")
	if out, err := exec.Command("go", "build", "-o", command, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w\n%s", err, out)
	}
	return command, nil
})

func mustBuild(t *testing.T) string {
	t.Helper()
	command, err := built()
	if err != nil {
		t.Fatal(err)
	}
	return command
}

// A process is a running server.
type process struct {
	*trial.Program
	url string
}

// mustServe starts the command and waits until it says where it is.
func mustServe(t *testing.T, command, data string, more ...string) *process {
	t.Helper()
	var url string
	run := trial.MustRun(t, func(line string) (found bool) {
		_, url, found = strings.Cut(line, "Underlog is at ")
		return found
	}, command, append([]string{"serve", "--data", data, "--http", "127.0.0.1:0"}, more...)...)
	return &process{run, url}
}

// call posts JSON; an error is what a killed server leaves.
func (p *process) call(path, token string, body, into any) error {
	return trial.Ask("POST", p.url+path, token, body, into)
}

func newID() string { return strings.ReplaceAll(uuid.Must(uuid.NewV7()).String(), "-", "") }

// mustSetUp begins a household with one bin.
func mustSetUp(t *testing.T, p *process) (token, bin string) {
	t.Helper()
	var session struct{ Token string }
	err := p.call("/api/underlog/setup", "", map[string]string{"room": "Cellar", "name": "Robin",
		"password": "moss and bark", "time_zone": "Europe/Berlin", "units": "metric"}, &session)
	if err != nil {
		t.Fatal(err)
	}
	tub := husbandry.CommonTub()
	tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position, tub.Kind = newID(), "Pied", "Window", 1, 1, "porcellio-scaber"
	sheet, err := husbandry.NewSheet("bins", tub, husbandry.SeedStamp)
	if err != nil {
		t.Fatal(err)
	}
	var answer exchanged
	if err := p.exchange(session.Token, []husbandry.Sheet{sheet}, nil, &answer); err != nil || answer.Verdicts[0].Verdict != store.Stored {
		t.Fatalf("%v %+v", err, answer)
	}
	return session.Token, tub.ID
}

type exchanged struct{ Verdicts []store.Verdict }

func (p *process) exchange(token string, sheets []husbandry.Sheet, entries []husbandry.Entry, into *exchanged) error {
	if sheets == nil {
		sheets = []husbandry.Sheet{}
	}
	if entries == nil {
		entries = []husbandry.Entry{}
	}
	return p.call("/api/underlog/exchange", token, map[string]any{"protocol": 1, "device": "0123456789abcdef0123456789abcdef",
		"cursor": 1 << 40, "epoch": "another", "sheets": sheets, "entries": entries}, into)
}

// The real server is killed in the middle of exchanges. What it acknowledged
// is there, no batch is there by half, every entry has its number, and the
// database is sound. `make verify` kills it 200 times.
func TestAKilledServerLosesNothingItAcknowledged(t *testing.T) {
	command, data := mustBuild(t), t.TempDir()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 0))
	p := mustServe(t, command, data)
	token, bin := mustSetUp(t, p)
	var sent killed
	for round := range *rounds {
		var phones sync.WaitGroup
		for phone := range 3 {
			phones.Add(1)
			go func() {
				defer phones.Done()
				sent.sendUntilKilled(p, token, bin, rand.New(rand.NewPCG(seed, uint64(round*10+phone+1))))
			}()
		}
		if round%2 == 1 { // a slow machine would acknowledge nothing in time
			sent.waitForAnother(30 * time.Second)
		}
		time.Sleep(time.Duration(5+random.IntN(150)) * time.Millisecond)
		if err := p.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = p.Wait()
		phones.Wait()
		sent.mustBeThere(t, data)
		p = mustServe(t, command, data)
	}
	t.Logf("%d batches, %d of them acknowledged", len(sent.batches), sent.count())
	if sent.count() == 0 || sent.count() == len(sent.batches) {
		t.Error("nothing was acknowledged, or everything: the test shows nothing")
	}
	// What was not acknowledged is offered again, and is then there once.
	for i, batch := range sent.batches {
		if sent.acknowledged[i] {
			continue
		}
		var answer exchanged
		if err := p.exchange(token, nil, batch, &answer); err != nil {
			t.Fatal(err)
		}
		sent.acknowledged[i] = true
	}
	if err := p.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(); err != nil {
		t.Errorf("the server did not stop in peace: %v %s", err, p.Said)
	}
	sent.mustBeThere(t, data)
}

// killed is what was sent to a server that was killed.
type killed struct {
	sync.Mutex
	batches      [][]husbandry.Entry
	acknowledged []bool
}

func (k *killed) count() (acknowledged int) {
	for _, is := range k.acknowledged {
		if is {
			acknowledged++
		}
	}
	return acknowledged
}

// waitForAnother waits until one more batch is acknowledged.
func (k *killed) waitForAnother(atMost time.Duration) {
	count := func() int {
		k.Lock()
		defer k.Unlock()
		return k.count()
	}
	before := count()
	for until := time.Now().Add(atMost); count() == before && time.Now().Before(until); {
		time.Sleep(5 * time.Millisecond)
	}
}

func (k *killed) sendUntilKilled(p *process, token, bin string, random *rand.Rand) {
	for {
		batch := make([]husbandry.Entry, 1+random.IntN(200))
		for i := range batch {
			batch[i] = husbandry.Entry{ID: newID(), Bin: bin, At: time.Now().UTC(), What: husbandry.Water, WaterML: 1 + float64(random.IntN(100)), By: "Robin", Device: "phone"}
		}
		k.Lock()
		number := len(k.batches)
		k.batches, k.acknowledged = append(k.batches, batch), append(k.acknowledged, false)
		k.Unlock()
		var answer exchanged
		if err := p.exchange(token, nil, batch, &answer); err != nil {
			return
		}
		k.Lock()
		k.acknowledged[number] = len(answer.Verdicts) == len(batch)
		k.Unlock()
	}
}

// mustBeThere looks into the database of a server that does not run.
func (k *killed) mustBeThere(t *testing.T, data string) {
	t.Helper()
	db, err := store.Open(filepath.Join(data, "data.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var sound string
	if err := db.NewQuery("PRAGMA integrity_check").Row(&sound); err != nil || sound != "ok" {
		t.Fatalf("the database is not sound: %s (%v)", sound, err)
	}
	var ids []string
	if err := db.NewQuery("SELECT id FROM logs").Column(&ids); err != nil {
		t.Fatal(err)
	}
	stored := make(map[string]bool, len(ids))
	for _, id := range ids {
		stored[id] = true
	}
	for i, batch := range k.batches {
		there := 0
		for _, entry := range batch {
			if stored[entry.ID] {
				there++
			}
		}
		if there != len(batch) && (there != 0 || k.acknowledged[i]) {
			t.Fatalf("%d of %d entries of a batch are there, acknowledged: %v", there, len(batch), k.acknowledged[i])
		}
	}
	var unnumbered int
	query := `SELECT COUNT(*) FROM logs LEFT JOIN (SELECT record, COUNT(*) AS times FROM feed WHERE sort = 'logs' GROUP BY record) AS numbered
		ON numbered.record = logs.id WHERE numbered.times IS NOT 1`
	if err := db.NewQuery(query).Row(&unnumbered); err != nil || unnumbered != 0 {
		t.Fatalf("%d entries have no number, or two (%v)", unnumbered, err)
	}
}

func TestServeSaysWhereItIsAndStopsInPeace(t *testing.T) {
	command, data := mustBuild(t), filepath.Join(t.TempDir(), "new folder")
	p := mustServe(t, command, data)
	token, _ := mustSetUp(t, p)
	second, err := exec.Command(command, "serve", "--data", data, "--http", "127.0.0.1:0").CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) {
		t.Errorf("a second server on the folder: %v %s", err, second)
	}
	mustOpenDashboard(t, command, p, data)
	if err := p.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(); err != nil {
		t.Errorf("it did not stop in peace: %v %s", err, p.Said)
	}
	p = mustServe(t, command, data)
	if err := p.exchange(token, nil, nil, &exchanged{}); err != nil {
		t.Errorf("after the next start the session does not hold: %v", err)
	}
}

// mustOpenDashboard makes an account while the server runs and signs in with
// it, twice: the second time with a new password.
func mustOpenDashboard(t *testing.T, command string, p *process, data string) {
	t.Helper()
	for range 2 {
		out, err := exec.Command(command, "dashboard", "--data", data, "keeper@example.org").Output()
		if err != nil {
			t.Fatal(err)
		}
		_, password, found := strings.Cut(string(out), "Password: ")
		if !found {
			t.Fatalf("it says %s", out)
		}
		var session struct{ Token string }
		err = p.call("/api/collections/_superusers/auth-with-password", "",
			map[string]string{"identity": "keeper@example.org", "password": strings.TrimSpace(password)}, &session)
		if err != nil || session.Token == "" {
			t.Fatalf("the dashboard does not open: %v", err)
		}
	}
	if out, err := exec.Command(command, "dashboard", "--data", data, "no address").CombinedOutput(); err == nil {
		t.Errorf("no address was taken: %s", out)
	}
}
