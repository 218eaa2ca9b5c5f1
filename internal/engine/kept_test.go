package engine

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
)

// drawRoom draws a few bins that are as different as bins are.
func drawRoom(t *rapid.T) []husbandry.Sheet {
	sheets := husbandry.Seeds()
	for n := range rapid.IntRange(1, 4).Draw(t, "bins") {
		tub := husbandry.CommonTub()
		tub.ID, tub.Name, tub.Rack, tub.Shelf, tub.Position = fmt.Sprint("b", n), fmt.Sprint("Bin ", n), "Alcove", 1, n+1
		tub.Kind = rapid.SampledFrom([]string{"armadillidium-vulgare", "porcellio-scaber", "no-such-kind"}).Draw(t, "kind")
		tub.SubstrateDepthMM = rapid.SampledFrom([]float64{20, 50, 90}).Draw(t, "depth")
		tub.SubstrateRenewed = rapid.SampledFrom([]string{"", "2026-02-03"}).Draw(t, "renewed")
		sheet, err := husbandry.NewSheet("bins", tub, husbandry.SeedStamp)
		if err != nil {
			t.Fatal(err)
		}
		sheets = append(sheets, sheet)
	}
	return sheets
}

// drawEntries draws what may happen in a room in the days before today and,
// for a device whose clock is ahead, after it.
func drawEntries(t *rapid.T, bins int) []husbandry.Entry {
	entries := make([]husbandry.Entry, rapid.IntRange(0, 60).Draw(t, "entries"))
	whats := []string{
		husbandry.Feel, husbandry.Feel, husbandry.Feel, husbandry.Water, husbandry.Feed, husbandry.Leftovers, husbandry.Leaves,
		husbandry.AddLeaves, husbandry.Substrate, husbandry.Renew, husbandry.Climate, husbandry.Look, husbandry.Note, husbandry.Strike,
	}
	feeds := []string{"nothing"}
	for i := range entries {
		e := &entries[i]
		e.ID, e.Bin = fmt.Sprint("e", i), fmt.Sprint("b", rapid.IntRange(0, bins-1).Draw(t, "bin"))
		e.By = rapid.SampledFrom([]string{"", "ada", "ben"}).Draw(t, "by")
		e.What = rapid.SampledFrom(whats).Draw(t, "what")
		days := rapid.SampledFrom([]int{1, 10, 40, 230}).Draw(t, "how far back")
		e.At = today.Add(time.Hour - time.Duration(rapid.IntRange(0, days*24*60).Draw(t, "minutes before"))*time.Minute)
		switch e.What {
		case husbandry.Feel:
			e.Feel = rapid.SampledFrom(husbandry.FeelWords).Draw(t, "feel")
		case husbandry.Water:
			e.WaterML = float64(rapid.IntRange(5, 90).Draw(t, "mL"))
		case husbandry.Feed:
			e.Food, e.Pieces = rapid.SampledFrom([]string{"carrot", "melon", "moon cheese"}).Draw(t, "food"), 1
			feeds = append(feeds, e.ID)
		case husbandry.Leftovers:
			e.Of = rapid.SampledFrom(feeds).Draw(t, "of")
			e.Left = rapid.SampledFrom(husbandry.LeftWords).Draw(t, "left")
			e.Mould = rapid.SampledFrom(husbandry.MouldWords).Draw(t, "mould")
		case husbandry.Leaves:
			e.Leaves = rapid.SampledFrom(husbandry.LeavesWords).Draw(t, "leaves")
		case husbandry.AddLeaves:
			e.Handfuls = 1.5
		case husbandry.Substrate:
			e.Substrate = rapid.SampledFrom(husbandry.SubstrateWords).Draw(t, "substrate")
		case husbandry.Climate:
			if rapid.Bool().Draw(t, "of the room") {
				e.Bin = ""
			}
			celsius, percent := rapid.Float64Range(14, 28).Draw(t, "celsius"), rapid.Float64Range(20, 80).Draw(t, "percent")
			e.TemperatureC, e.HumidityPct = &celsius, &percent
		case husbandry.Strike:
			e.Struck = fmt.Sprint("e", rapid.IntRange(0, len(entries)-1).Draw(t, "struck"))
		}
	}
	return entries
}

// An engine keeps what it has worked out. Whatever it was told and asked in
// between, it says what one says that has just been told everything: to the
// last digit, since nothing else tells a right short cut from a wrong one.
func TestWhatIsKeptIsWhatWouldBeWorkedOut(t *testing.T) {
	zones := []*time.Location{today.Location(), time.UTC, time.FixedZone("west", -7*3600)}
	law := func(t *rapid.T) {
		sheets := drawRoom(t)
		entries := rapid.Permutation(drawEntries(t, len(sheets)-len(husbandry.Seeds()))).Draw(t, "arrival")
		kept := New()
		kept.Put(sheets, nil)
		told := 0
		at := today
		for range rapid.IntRange(1, 6).Draw(t, "questions") {
			some := rapid.IntRange(0, len(entries)-told).Draw(t, "told")
			kept.Put(nil, entries[told:told+some])
			told += some
			at = at.Add(time.Duration(rapid.SampledFrom([]int{1, 20, 400, 1500, -30, 30000}).Draw(t, "minutes later")) * time.Minute)
			at = at.In(rapid.SampledFrom(zones).Draw(t, "zone"))
			fresh := New()
			fresh.Put(sheets, entries[:told])
			got, want := mustJSON(t, kept.SurveyWithForecasts(at)), mustJSON(t, fresh.SurveyWithForecasts(at))
			if got != want {
				t.Fatalf("at %v the engine says\n%s\na new one\n%s", at, got, want)
			}
			if got, want := mustJSON(t, kept.Outlook("b0", at)), mustJSON(t, fresh.Outlook("b0", at)); got != want {
				t.Fatalf("at %v the outlook is\n%s\na new one's\n%s", at, got, want)
			}
		}
	}
	for range 3 { // its rooms are small
		rapid.Check(t, law)
	}
}
