package ical

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the same zones everywhere
	"unicode/utf8"
)

func mustZone(t *testing.T, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// unfolded returns the lines of a calendar as they were before folding (RFC
// 5545, 3.1), and fails where a line is too long, ends otherwise than in CR LF,
// or a fold goes through a sign.
func unfolded(t *testing.T, raw []byte) []string {
	t.Helper()
	if !strings.HasSuffix(string(raw), "\r\n") {
		t.Error("the last line has no end")
	}
	var lines []string
	for line := range strings.SplitSeq(strings.TrimSuffix(string(raw), "\r\n"), "\r\n") {
		if len(line) > 75 || !utf8.ValidString(line) || strings.ContainsAny(line, "\r\n") {
			t.Errorf("a line of %d octets: %q", len(line), line)
		}
		if rest, goesOn := strings.CutPrefix(line, " "); goesOn {
			lines[len(lines)-1] += rest
		} else {
			lines = append(lines, line)
		}
	}
	return lines
}

// RFC 5545, 3.3.11: the example of a text with lines, and which signs are
// escaped.
func TestTextIsEscapedAsTheStandardSays(t *testing.T) {
	for text, want := range map[string]string{
		"Project XYZ Final Review\nConference Room - 3B\nCome Prepared.": `Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`,
		`a\b;c,d:e"f`:      `a\\b\;c\,d:e"f`,
		"a\r\nb\rc":        `a\nb\nc`,
		"bell\a tab\t\x7f": "bell tab\t",
		"bad \xff octet":   "bad \uFFFD octet",
	} {
		if got := Escape(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// Every length around the fold, in signs of one to four octets.
func TestLongLinesAreFolded(t *testing.T) {
	for _, sign := range []string{"x", "ä", "湿", "🍂"} {
		for n := range 200 {
			var w writer
			value := strings.Repeat("y", n%4) + strings.Repeat(sign, n)
			w.line("DESCRIPTION", value)
			lines := unfolded(t, []byte(w.out.String()))
			if len(lines) != 1 || lines[0] != "DESCRIPTION:"+value {
				t.Fatalf("%d times %s becomes %q", n, sign, lines)
			}
		}
	}
}

// RFC 5545, 3.6.5, the example of New York in 2007 by its two changes alone.
func TestAZoneIsWrittenAsTheStandardDoes(t *testing.T) {
	zone := mustZone(t, "America/New_York")
	c := Calendar{Zone: zone, Events: []Event{
		{UID: "a", Start: time.Date(2007, 7, 1, 9, 0, 0, 0, zone), End: time.Date(2007, 7, 1, 10, 0, 0, 0, zone)},
		{UID: "b", Start: time.Date(2007, 12, 1, 9, 0, 0, 0, zone), End: time.Date(2007, 12, 1, 10, 0, 0, 0, zone)},
	}}
	want := "BEGIN:VTIMEZONE\r\nTZID:America/New_York\r\n" +
		"BEGIN:DAYLIGHT\r\nDTSTART:20070311T020000\r\nTZOFFSETFROM:-0500\r\nTZOFFSETTO:-0400\r\nTZNAME:EDT\r\nEND:DAYLIGHT\r\n" +
		"BEGIN:STANDARD\r\nDTSTART:20071104T020000\r\nTZOFFSETFROM:-0400\r\nTZOFFSETTO:-0500\r\nTZNAME:EST\r\nEND:STANDARD\r\n" +
		"END:VTIMEZONE\r\n"
	if got := string(c.Bytes()); !strings.Contains(got, want) {
		t.Errorf("got\n%s\nwant in it\n%s", got, want)
	}
}

func TestDurations(t *testing.T) { // RFC 5545, 3.3.6
	for d, want := range map[time.Duration]string{0: "PT0S", time.Hour: "PT1H", -90 * time.Minute: "-PT90M", 48 * time.Hour: "P2D", -24 * time.Hour: "-P1D"} {
		if got := duration(d); got != want {
			t.Errorf("%v is %s, want %s", d, got, want)
		}
	}
}

// zones are of Europe and America, of half an hour's saving time, and of an
// offset that is no whole hour.
var zones = []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"}

// A rule is an observance as whoever reads the calendar knows it.
type rule struct {
	onset    time.Time // local, as if it were UTC
	from, to int
}

// resolve reads a property as RFC 5545, 3.3.5 and 3.6.5 say, with the rules of
// the file and no others.
func resolve(t *testing.T, property string, rules []rule) time.Time {
	t.Helper()
	head, value, _ := strings.Cut(property, ":")
	if strings.HasSuffix(value, "Z") {
		at, err := time.Parse(utcForm, value)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	if !strings.Contains(head, ";TZID=") {
		t.Fatalf("%s is of no zone", property)
	}
	local, err := time.Parse(localForm, value)
	if err != nil {
		t.Fatal(err)
	}
	offset := rules[0].from // an onset is told in the time that it ends
	for _, r := range rules {
		if !local.Before(r.onset) {
			offset = r.to
		}
	}
	return local.Add(-time.Duration(offset) * time.Second)
}

func rulesOf(t *testing.T, lines []string) (rules []rule) {
	t.Helper()
	seconds := func(text string) int {
		var hours, minutes int
		if _, err := fmt.Sscanf(text[1:], "%02d%02d", &hours, &minutes); err != nil {
			t.Fatal(err)
		}
		total := hours*3600 + minutes*60
		if text[0] == '-' {
			return -total
		}
		return total
	}
	inZone := false
	for _, line := range lines {
		switch name, value, _ := strings.Cut(line, ":"); {
		case line == "BEGIN:VTIMEZONE", line == "END:VTIMEZONE":
			inZone = line == "BEGIN:VTIMEZONE"
		case inZone && name == "DTSTART":
			onset, err := time.Parse(localForm, value)
			if err != nil {
				t.Fatal(err)
			}
			rules = append(rules, rule{onset: onset})
		case name == "TZOFFSETFROM":
			rules[len(rules)-1].from = seconds(value)
		case name == "TZOFFSETTO":
			rules[len(rules)-1].to = seconds(value)
		}
	}
	return rules
}

// Every half hour of the days about every change of two years, read with the
// rules in the file, is the instant that Go's zones have.
func TestInstantsAreReadAsTheyWereWritten(t *testing.T) {
	for _, name := range zones {
		zone := mustZone(t, name)
		days := []time.Time{time.Date(2026, 6, 1, 0, 0, 0, 0, zone)}
		for at := time.Date(2026, 1, 1, 0, 0, 0, 0, zone); at.Year() < 2028; {
			_, ends := at.ZoneBounds()
			if ends.IsZero() {
				break
			}
			days = append(days, ends.Add(-12*time.Hour))
			at = ends
		}
		for _, day := range days {
			c := Calendar{Zone: zone}
			for i := range 96 {
				at := day.Add(time.Duration(i) * 30 * time.Minute)
				c.Events = append(c.Events, Event{UID: fmt.Sprint(i), Start: at, End: at.Add(30 * time.Minute)})
			}
			lines := unfolded(t, c.Bytes())
			rules := rulesOf(t, lines)
			i, inEvent := 0, false
			for _, line := range lines {
				inEvent = inEvent && line != "END:VEVENT" || line == "BEGIN:VEVENT"
				switch {
				case inEvent && strings.HasPrefix(line, "DTSTART"):
					if got := resolve(t, line, rules); !got.Equal(c.Events[i].Start) {
						t.Errorf("%s: %s is read as %s, want %s", name, line, got, c.Events[i].Start.UTC())
					}
				case inEvent && strings.HasPrefix(line, "DTEND"):
					if got := resolve(t, line, rules); !got.Equal(c.Events[i].End) {
						t.Errorf("%s: %s is read as %s, want %s", name, line, got, c.Events[i].End.UTC())
					}
					i++
				}
			}
			if i != len(c.Events) {
				t.Errorf("%s: %d events", name, i)
			}
		}
	}
}

// An expected event, for other readers of the same files.
type expected struct {
	UID         string `json:"uid"`
	Start       string `json:"start"`
	End         string `json:"end"`
	Summary     string `json:"summary"`
	Description string `json:"description"`
	Sequence    int    `json:"sequence"`
	Status      string `json:"status"`
}

const golden = "../../testdata/ical"

// The files that other libraries read: this test holds that they are what is
// written, pwa/src/test/ical.test.ts and readers_verify_test.go that they are
// read as it was meant. UPDATE=1 writes them.
func TestFilesForOtherReaders(t *testing.T) {
	all := map[string][]expected{}
	alarm := 30 * time.Minute
	for _, name := range zones {
		zone := mustZone(t, name)
		c := Calendar{Name: "Cellar; shelf, no. 2", Zone: zone, Refresh: 4 * time.Hour}
		file := strings.ToLower(strings.ReplaceAll(name[strings.Index(name, "/")+1:], "_", "-")) + ".ics"
		// Before, within and after each change of a year, and in the middle.
		var at []time.Time
		for month := 1; month <= 12; month++ {
			at = append(at, time.Date(2026, time.Month(month), 15, 9, 0, 0, 0, zone))
		}
		for now := at[0]; now.Year() < 2027; {
			_, ends := now.ZoneBounds()
			if ends.IsZero() || ends.Year() > 2026 {
				break
			}
			for minutes := -180; minutes <= 180; minutes += 30 {
				at = append(at, ends.Add(time.Duration(minutes)*time.Minute))
			}
			now = ends
		}
		for i, start := range at {
			event := Event{
				UID: fmt.Sprintf("%s-%d", file, i), Sequence: i, Modified: time.Date(2026, 1, 1, 0, 0, i, 0, time.UTC),
				Start: start, End: start.Add(45 * time.Minute), Summary: "Visit, 3 lids; bring \\ water 🍂",
				Description: "W1-1 Ärmel: feel the left end. Dry or barely damp: 6 tablespoons; damp or soaked: nothing to do.\nW1-2 湿った側: nothing\n\nIf something is wrong, call.",
				Cancelled:   i%5 == 4, Alarm: &alarm,
			}
			c.Events = append(c.Events, event)
			status := "CONFIRMED"
			if event.Cancelled {
				status = "CANCELLED"
			}
			all[file] = append(all[file], expected{event.UID, event.Start.UTC().Format(time.RFC3339), event.End.UTC().Format(time.RFC3339),
				event.Summary, event.Description, event.Sequence, status})
		}
		unfolded(t, c.Bytes())
		hold(t, file, c.Bytes())
	}
	raw, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	hold(t, "expected.json", append(raw, '\n'))
}

func hold(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join(golden, name)
	if os.Getenv("UPDATE") != "" {
		if err := os.MkdirAll(golden, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil || string(want) != string(got) {
		t.Errorf("%s is not what is written now (%v): look at it and run with UPDATE=1", path, err)
	}
}

// A zone that has no name is told in UTC, and a calendar without events is
// still one that can be read.
func TestWhatHasNoZoneIsInUTC(t *testing.T) {
	at := time.Date(2026, 5, 1, 9, 0, 0, 0, time.FixedZone("", 7200))
	text := string(Calendar{Zone: at.Location(), Events: []Event{{UID: "a", Start: at, End: at.Add(time.Hour)}}}.Bytes())
	if !strings.Contains(text, "DTSTART:20260501T070000Z\r\n") || strings.Contains(text, "TZID") {
		t.Errorf("got %s", text)
	}
	for _, zone := range []*time.Location{nil, time.UTC, mustZone(t, "Europe/Berlin")} {
		if text := string(Calendar{Zone: zone, Made: at}.Bytes()); strings.Count(text, "BEGIN:VTIMEZONE") != 1 {
			t.Errorf("an empty calendar has no component: %s", text)
		}
	}
}
