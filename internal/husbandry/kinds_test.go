package husbandry

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func mustTable(t *testing.T) map[string]map[string]string {
	t.Helper()
	file, err := os.Open("testdata/kinds.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	table := map[string]map[string]string{}
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		table[row["slug"]] = row
	}
	return table
}

// sourceOf pairs each value of a profile with its source.
func sourceOf(k Kind) map[string]string {
	return map[string]string{
		"moisture": k.MoistureSource, "air": k.AirSource, "temperature": k.TemperatureSource, "brood": k.BroodSource,
		"brood_days": k.BroodDaysSource, "maturity_months": k.MaturitySource, "appetite": k.AppetiteSource,
		"climbs": k.ClimbsSource, "guards": k.GuardsSource,
	}
}

func TestEveryValueOfAKindHasItsSource(t *testing.T) {
	kinds := Kinds()
	if len(kinds) < 24 {
		t.Errorf("%d kinds, want 24 and more", len(kinds))
	}
	springtails := 0
	slugs := map[string]bool{}
	for _, kind := range kinds {
		if slugs[kind.Slug] {
			t.Errorf("%s ships twice", kind.Slug)
		}
		slugs[kind.Slug] = true
		if kind.IsSpringtail() {
			springtails++
		}
		for name, source := range sourceOf(kind) {
			if strings.TrimSpace(source) == "" {
				t.Errorf("%s: %s has no source", kind.Slug, name)
			}
		}
		for name, ends := range map[string]span{
			"temperature": {kind.TemperatureMin, kind.TemperatureMax}, "brood": {kind.BroodMin, kind.BroodMax},
			"brood days": {kind.BroodDaysMin, kind.BroodDaysMax}, "maturity": {kind.MaturityMin, kind.MaturityMax},
		} {
			if !(ends[0] > 0 && ends[1] >= ends[0]) {
				t.Errorf("%s: %s from %g to %g", kind.Slug, name, ends[0], ends[1])
			}
		}
		if kind.Moisture == "" || kind.Air == "" || kind.Appetite <= 0 {
			t.Errorf("%s lacks a value: %+v", kind.Slug, kind)
		}
	}
	if springtails < 3 {
		t.Errorf("%d springtails, want a few", springtails)
	}
}

func TestKindsSayWhatWasRead(t *testing.T) {
	table := mustTable(t)
	found := 0
	for _, kind := range Kinds() {
		row, listed := table[kind.Slug]
		if !listed {
			continue
		}
		found++
		if kind.Moisture != row["moisture"] || !slices.Contains(strings.Split(row["air"], "|"), kind.Air) {
			t.Errorf("%s: %s and %s, read were %s and %s", kind.Slug, kind.Moisture, kind.Air, row["moisture"], row["air"])
		}
		for name, ends := range map[string]span{
			"temperature": {kind.TemperatureMin, kind.TemperatureMax}, "brood": {kind.BroodMin, kind.BroodMax},
			"brood_days": {kind.BroodDaysMin, kind.BroodDaysMax}, "maturity_months": {kind.MaturityMin, kind.MaturityMax},
		} {
			low, high, isRange := strings.Cut(row[name], "-")
			if (isRange && low != plain(ends[0])) || (isRange && high != plain(ends[1])) || (!isRange && low != plain(ends[1])) {
				t.Errorf("%s: %s from %g to %g, read was %s", kind.Slug, name, ends[0], ends[1], row[name])
			}
		}
		low, high, _ := strings.Cut(row["appetite"], "-")
		least, _ := strconv.ParseFloat(low, 64)
		most, err := strconv.ParseFloat(high, 64)
		if err != nil {
			most = least
		}
		if kind.Appetite < least || kind.Appetite > most {
			t.Errorf("%s: appetite %g, read was %s", kind.Slug, kind.Appetite, row["appetite"])
		}
		// What was read names where; what was not says so.
		read := strings.Fields(row["read"])
		for name, source := range sourceOf(kind) {
			own := source == memory || source == practice || source == either
			if slices.Contains(read, name) && own {
				t.Errorf("%s: %s was read, and its source says %q", kind.Slug, name, source)
			}
		}
	}
	if found != len(table) {
		t.Errorf("%d of %d rows have a kind that ships", found, len(table))
	}
}

func TestRangesOfAKindAreTheRightWayRound(t *testing.T) {
	kind := Kinds()[0]
	kind.BroodMin, kind.BroodMax = 40, 20
	raw, _ := json.Marshal(kind)
	var flat map[string]json.RawMessage
	_ = json.Unmarshal(raw, &flat)
	problems := CheckWhole("kinds", flat, now)
	if problems == nil || problems.Error() != "brood_max is 20: give at least brood_min, 40." {
		t.Errorf("got %v", problems)
	}
}

// An edit wins over what ships, whichever version it came with.
func TestAnEditOfAKindOutlivesNewSeeds(t *testing.T) {
	old := mustSheet("kinds", Kinds()[0])
	for name, field := range old.Fields {
		old.Fields[name] = Stamped{field.Value, "000000000000-0000-seed"}
	}
	edit := Sheet{Sheet: "kinds", ID: old.ID, Fields: map[string]Stamped{
		"temperature_max_c": {json.RawMessage("24"), NextStamp(now, "phone", "")},
	}}
	old.Merge(edit)
	delete(old.Fields, "air")
	changed := old.Merge(mustSheet("kinds", Kinds()[0]))
	if !slices.Contains(changed, "air") || slices.Contains(changed, "temperature_max_c") {
		t.Errorf("new seeds changed %v", changed)
	}
	if kind, err := AsKind(old); err != nil || kind.TemperatureMax != 24 {
		t.Errorf("%v, %v", kind, err)
	}
	if !SeedStamp.Seeded() || !Stamp("000000000000-0000-seed").Seeded() || NextStamp(now, "seed", "").Seeded() {
		t.Error("stamps of seeds are not told from others")
	}
}
