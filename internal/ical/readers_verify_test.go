//go:build verify

package ical

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// read asks Debian's python3-icalendar what is in a file. The zone goes by a
// name that it cannot know, so that it has to take the rules of the file.
const read = `
import json, sys, icalendar
text = open(sys.argv[1], "rb").read().replace(sys.argv[2].encode(), b"Of/The-File")
found = []
for event in icalendar.Calendar.from_ical(text).walk("VEVENT"):
    utc = lambda name: event.decoded(name).astimezone(icalendar.prop.pytz.utc).strftime("%Y-%m-%dT%H:%M:%SZ")
    found.append({"uid": str(event["UID"]), "start": utc("DTSTART"), "end": utc("DTEND"), "summary": str(event["SUMMARY"]),
        "description": str(event["DESCRIPTION"]), "sequence": int(event["SEQUENCE"]), "status": str(event["STATUS"])})
print(json.dumps(found))
`

func TestPythonReadsTheFiles(t *testing.T) {
	for i, name := range zones {
		file := strings.ToLower(strings.ReplaceAll(name[strings.Index(name, "/")+1:], "_", "-")) + ".ics"
		out, err := exec.Command("/usr/bin/python3", "-c", read, filepath.Join(golden, file), zones[i]).Output()
		if err != nil {
			t.Fatalf("%v (make verify installs python3-icalendar)", err)
		}
		var got []expected
		if err := json.Unmarshal(out, &got); err != nil {
			t.Fatal(err)
		}
		want := mustExpected(t)[file]
		if len(got) != len(want) {
			t.Fatalf("%s: %d events, want %d", file, len(got), len(want))
		}
		for i := range want {
			if got[i] != want[i] {
				t.Errorf("%s: %+v, want %+v", file, got[i], want[i])
			}
		}
	}
}

func mustExpected(t *testing.T) (all map[string][]expected) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(golden, "expected.json"))
	if err == nil {
		err = json.Unmarshal(raw, &all)
	}
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// khal is a calendar for the terminal: it imports the file, shows its events,
// and takes a later file for a change of the same events.
func TestAClientImportsTheFiles(t *testing.T) {
	folder := t.TempDir()
	config := filepath.Join(folder, "config")
	if err := os.WriteFile(config, []byte("[calendars]\n[[trips]]\npath = "+folder+"/trips\n[locale]\nlocal_timezone = Europe/Berlin\ndefault_timezone = Europe/Berlin\ntimeformat = %H:%M\ndateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\ndatetimeformat = %Y-%m-%d %H:%M\nlongdatetimeformat = %Y-%m-%d %H:%M\n[sqlite]\npath = "+folder+"/khal.db\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	khal := func(args ...string) string {
		t.Helper()
		command := exec.Command("/usr/bin/khal", append([]string{"-c", config}, args...)...)
		command.Env = append(os.Environ(), "LC_ALL=C.UTF-8", "HOME="+folder)
		out, err := command.CombinedOutput()
		if err != nil {
			t.Fatalf("khal %s: %v (make verify installs it)\n%s", strings.Join(args, " "), err, out)
		}
		return string(out)
	}
	file := filepath.Join(golden, "berlin.ics")
	khal("import", "--batch", "-a", "trips", file)
	list := func() string {
		return khal("list", "--day-format", "", "--format", "{start-time}-{end-time} {title}", "2026-03-15", "1d")
	}
	if got := strings.TrimSpace(list()); got != "09:00-09:45 Visit, 3 lids; bring \\ water 🍂" {
		t.Errorf("khal shows %q", got)
	}
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	later := filepath.Join(folder, "later.ics")
	if err := os.WriteFile(later, []byte(strings.ReplaceAll(string(raw), "3 lids", "5 lids")), 0o600); err != nil {
		t.Fatal(err)
	}
	khal("import", "--batch", "-a", "trips", later)
	if got := strings.TrimSpace(list()); got != "09:00-09:45 Visit, 5 lids; bring \\ water 🍂" {
		t.Errorf("after a change khal shows %q", got)
	}
}
