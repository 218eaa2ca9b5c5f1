package roomsim

import (
	"math"
	"strings"
	"testing"
	"time"
)

func TestPiece(t *testing.T) {
	for _, c := range []struct {
		name                    string
		eatWork, mouldWork      float64
		hours, eatPace, mouldAt float64
		gone, mouldy            bool
		mouldyHours             float64
	}{
		{"eaten first", 10, 20, 30, 1, 1, true, false, 0},
		{"mouldy first", 20, 10, 30, 1, 1, false, true, 20},
		{"neither yet", 20, 10, 5, 1, 1, false, false, 0},
		{"a quick colony", 20, 10, 30, 3, 1, true, false, 0},
		{"a warm room", 10, 20, 30, 1, 4, false, true, 25},
	} {
		t.Run(c.name, func(t *testing.T) {
			whole := piece{eatWork: c.eatWork, mouldWork: c.mouldWork, furryWork: 1.5 * c.mouldWork}
			steps := whole
			mouldy := whole.advance(c.hours, c.eatPace, c.mouldAt)
			stepped := 0.0
			for range 60 {
				stepped += steps.advance(c.hours/60, c.eatPace, c.mouldAt)
			}
			if whole.gone() != c.gone || whole.mouldy() != c.mouldy || math.Abs(mouldy-c.mouldyHours) > 1e-9 {
				t.Errorf("gone %v, mouldy %v for %v h", whole.gone(), whole.mouldy(), mouldy)
			}
			if steps.gone() != c.gone || steps.mouldy() != c.mouldy || math.Abs(stepped-c.mouldyHours) > 1e-9 {
				t.Errorf("in 60 steps: gone %v, mouldy %v for %v h", steps.gone(), steps.mouldy(), stepped)
			}
		})
	}
}

// byFood looks at a fixed share of the hours in which each food is apt to
// mould: what somebody who had learnt the foods, and nothing else, would do.
func byFood(share float64) func(feeding Entry, looks []Entry, room View) time.Time {
	return func(feeding Entry, looks []Entry, _ View) time.Time {
		for _, f := range foods {
			if f.name == feeding.Food {
				after := time.Duration(share * f.mould * float64(time.Hour))
				if len(looks) > 0 {
					return looks[len(looks)-1].At.Add(after * 6 / 10)
				}
				return feeding.At.Add(after)
			}
		}
		return feeding.At.Add(24 * time.Hour)
	}
}

// TestLeftovers prints the tables of looks at leftovers:
//
//	go test -run TestLeftovers -v ./internal/roomsim
func TestLeftovers(t *testing.T) {
	for _, clearOut := range []bool{false, true} {
		cfgs := MustConfigs(t, TuningRoom, 2)
		for i := range cfgs {
			cfgs[i].Bins, cfgs[i].Feeding, cfgs[i].ClearOut = testBins, true, clearOut
		}
		var rows []Row
		for _, policy := range []struct {
			name string
			next func(Entry, []Entry, View) time.Time
		}{
			{"after 24 h", LookAfter(24 * time.Hour)}, {"after 12 h", LookAfter(12 * time.Hour)},
			{"after 48 h", LookAfter(48 * time.Hour)}, {"by food", byFood(0.55)},
		} {
			rows = append(rows, Row{policy.name, RunSeasons(cfgs, func() Keeper { return Looks{Weekly(), policy.next} })})
		}
		var table strings.Builder
		if err := WriteFoodTable(&table, rows); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s, %d seasons, everything taken out at a look: %v\n%s", TuningRoom, len(cfgs), clearOut, table.String())
		day, half, two, food := rows[0].Report.Food, rows[1].Report.Food, rows[2].Report.Food, rows[3].Report.Food
		if !(half.MouldyHours/half.Feedings < day.MouldyHours/day.Feedings && day.MouldyHours/day.Feedings < two.MouldyHours/two.Feedings) {
			t.Error("food looked at later does not lie mouldy longer")
		}
		if !clearOut && !(half.Looks/half.Feedings > day.Looks/day.Feedings && day.Looks/day.Feedings > two.Looks/two.Feedings) {
			t.Error("earlier looks are not more looks")
		}
		// If knowing the foods were no help, no forecast could be.
		if food.Looks/food.Feedings > 1.01*day.Looks/day.Feedings || food.Furry/food.Feedings >= day.Furry/day.Feedings && !clearOut {
			t.Errorf("looks by food: %.2f a feeding, %.3f furry; after a day %.2f, %.3f",
				food.Looks/food.Feedings, food.Furry/food.Feedings, day.Looks/day.Feedings, day.Furry/day.Feedings)
		}
	}
}

// A keeper that never looks is told what it let rot.
type never struct{ Keeper }

func (never) NextLook(feeding Entry, _ []Entry, _ View) time.Time { return feeding.At.AddDate(1, 0, 0) }

func TestNeverLookingHidesNothing(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Feeding, cfg.Days = true, 30
	_, report := MustRun(t, cfg, never{Weekly()})
	f := report.Food
	if f.Looks != 0 || f.Feedings < 30 || f.MouldyHours/f.Feedings < 24 {
		t.Errorf("%+v", f)
	}
}

// Looks happen when somebody is up, at or after the time asked for, and not
// days late.
func TestLooksFindSomebodyAtHome(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	cfg.Feeding, cfg.Days = true, 40
	asked := make(map[string]time.Time)
	room, _ := MustRun(t, cfg, Looks{Weekly(), func(feeding Entry, looks []Entry, _ View) time.Time {
		when := LookAfter(24*time.Hour)(feeding, looks, View{})
		asked[feeding.ID] = when
		return when
	}})
	lastOf := make(map[string]Entry)
	for _, e := range room.View(cfg.Start.AddDate(0, 0, 40)).Entries {
		if e.What == "leftovers" {
			lastOf[e.Of] = e
			if e.At.Hour() < 7 || e.At.Hour() > 22 {
				t.Errorf("a look at %v", e.At)
			}
		}
	}
	late := 0
	for id, look := range lastOf {
		when, known := asked[id]
		if known && look.Left == "all gone" && look.At.Before(when) {
			t.Errorf("looked at %v, asked for %v", look.At, when)
		}
		if known && look.At.Sub(when) > 20*time.Hour {
			late++
		}
	}
	if len(lastOf) < 100 || late > len(lastOf)/20 {
		t.Errorf("%d of %d last looks were most of a day late", late, len(lastOf))
	}
}
