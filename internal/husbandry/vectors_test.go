package husbandry_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"testing"
	"time"

	"underlog/internal/husbandry"
)

// The app has the clock of stamps and the check of fields in TypeScript too;
// files of vectors hold both to the same answers.

var update = flag.Bool("update", false, "write the golden answers anew")

func TestStampsAgreeWithTheApp(t *testing.T) {
	var file struct {
		Cases []struct {
			Name   string
			Now    int64
			Device string
			Seen   husbandry.Stamp
			Want   husbandry.Stamp
		}
	}
	MustReadJSON(t, "../../testdata/stamps.json", &file)
	for _, c := range file.Cases {
		t.Run(c.Name, func(t *testing.T) {
			if got := husbandry.NextStamp(time.UnixMilli(c.Now), c.Device, c.Seen); got != c.Want {
				t.Errorf("NextStamp(%d, %q, %q) = %q, want %q", c.Now, c.Device, c.Seen, got, c.Want)
			}
		})
	}
}

type checkCase struct {
	Name     string                     `json:"name"`
	Entry    json.RawMessage            `json:"entry,omitempty"`
	Sort     string                     `json:"sort,omitempty"`
	Fields   map[string]json.RawMessage `json:"fields,omitempty"`
	Problems husbandry.Problems         `json:"problems"`
}

func TestChecksAgreeWithTheApp(t *testing.T) {
	const path = "../../testdata/checks.json"
	var file struct {
		About string      `json:"about"`
		Now   time.Time   `json:"now"`
		Cases []checkCase `json:"cases"`
	}
	MustReadJSON(t, path, &file)
	for i, c := range file.Cases {
		got := problemsOf(t, c, file.Now)
		if *update {
			file.Cases[i].Problems = got
			continue
		}
		if len(got)+len(c.Problems) > 0 && !reflect.DeepEqual(got, c.Problems) {
			t.Errorf("%s: problems %v, want %v", c.Name, got, c.Problems)
		}
	}
	if *update {
		var out bytes.Buffer
		lines := json.NewEncoder(&out)
		lines.SetEscapeHTML(false)
		lines.SetIndent("", " ")
		if err := lines.Encode(file); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func problemsOf(tb testing.TB, c checkCase, now time.Time) husbandry.Problems {
	tb.Helper()
	if c.Sort == "" {
		_, problems := husbandry.CheckEntry(c.Entry, now)
		return problems
	}
	sheet := husbandry.Sheet{Sheet: c.Sort, ID: "room00000000000", Fields: map[string]husbandry.Stamped{}}
	for name, value := range c.Fields {
		sheet.Fields[name] = husbandry.Stamped{Value: value, Stamp: husbandry.SeedStamp}
	}
	raw, err := json.Marshal(sheet)
	if err != nil {
		tb.Fatal(err)
	}
	_, problems := husbandry.CheckSheet(raw, now)
	return problems
}

func MustReadJSON(tb testing.TB, path string, into any) {
	tb.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		tb.Fatal(err)
	}
}
