package chores

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"underlog/internal/gauge"
	"underlog/internal/husbandry"
	"underlog/internal/units"
)

func TestABinNeverFeltIsFeltTonight(t *testing.T) {
	for name, entries := range map[string][]husbandry.Entry{
		"nothing is known":    nil,
		"watered, never felt": {watered(back(5*time.Hour), 40)},
	} {
		chore := the(t, husbandry.ChoreFeel, setUp{entries: entries})
		if chore.Due.After(tonight) || chore.Reason != "never felt yet" {
			t.Errorf("%s: due %v because %q", name, chore.Due, chore.Reason)
		}
		// It is no alarm: what is due tonight is not late tonight.
		if name == "watered, never felt" && !chore.Closes.After(evening.Add(day)) {
			t.Errorf("%s: closes %v", name, chore.Closes)
		}
	}
}

// The wetter it was found, the later it is felt again, and the water given
// then counts too.
func TestWhenToFeelAgain(t *testing.T) {
	at := back(12 * time.Hour)
	history := func(words ...string) []husbandry.Entry {
		entries := []husbandry.Entry{watered(at.Add(-4*day), 35)}
		for _, word := range words {
			entries = append(entries, felt(at, word))
		}
		return entries
	}
	feel := func(entries []husbandry.Entry) husbandry.Chore {
		return the(t, husbandry.ChoreFeel, setUp{entries: entries})
	}
	var due []time.Time
	for _, word := range husbandry.FeelWords {
		due = append(due, feel(history(word)).Due)
	}
	if dry, barely, damp := due[0], due[1], due[2]; dry.After(barely) || !barely.Before(damp) {
		t.Errorf("due %v if dry, %v if barely, %v if damp", dry, barely, damp)
	}
	just := func(word string) time.Time {
		return feel([]husbandry.Entry{watered(at.Add(-day), 40), watered(at.Add(-time.Hour), 60), felt(at, word)}).Due
	}
	if damp, soaked := just("damp"), just("soaked"); !damp.Before(soaked) {
		t.Errorf("just watered due %v if damp, %v if soaked", damp, soaked)
	}
	if dry := feel(history("dry")); dry.Due.After(evening) || dry.Odds < 0.5 {
		t.Errorf("found dry and not watered, yet due %v with odds %.2f", dry.Due, dry.Odds)
	}
	given := feel(append(history("barely"), watered(at, 35)))
	if !given.Due.After(due[1].Add(12 * time.Hour)) {
		t.Errorf("due %v after water, %v without", given.Due, due[1])
	}
	if given.Odds > 0.3 || !strings.Contains(given.Reason, " dry by ") {
		t.Errorf("just watered: odds %.2f, because %q", given.Odds, given.Reason)
	}
}

func TestWhoNeedsDampIsFeltEarlier(t *testing.T) {
	if !slices.IsSorted([]float64{worthALook("wet"), worthALook("humid"), worthALook("moderate"), worthALook("arid")}) ||
		worthALook("wet") >= worthALook("arid") {
		t.Error("the tolerances are not in the order of who needs damp")
	}
	entries := []husbandry.Entry{felt(back(day), "damp")}
	var due []time.Time
	for _, moisture := range []string{"wet", "arid"} {
		settings := settingsOf(nil)
		settings.Kinds["k"] = husbandry.Kind{Slug: "k", Name: "K", Moisture: moisture}
		bin := tub("b1", func(bin *husbandry.Bin) { bin.Kind = "k" })
		r := NewRoom(settings, []Record{{bin, numbered(entries)}}, nil, evening.Add(-200*day), evening, nil, nil)
		due = append(due, all(r, husbandry.ChoreFeel)[0].Due)
	}
	if !due[0].Before(due[1]) {
		t.Errorf("due %v where damp is needed, %v where it is not", due[0], due[1])
	}
}

func TestABinThatDriesFastIsFeltEarlier(t *testing.T) {
	entries := []husbandry.Entry{felt(back(day), "damp"), watered(back(day), 20)}
	due := func(change func(*husbandry.Bin)) time.Time {
		return the(t, husbandry.ChoreFeel, setUp{bin: change, entries: entries}).Due
	}
	usual := due(nil)
	airy := due(func(bin *husbandry.Bin) { bin.Openings[0].LengthMM, bin.Openings[0].WidthMM = 300, 180 })
	shut := due(func(bin *husbandry.Bin) { bin.Openings = nil })
	if !airy.Before(usual) || !usual.Before(shut) {
		t.Errorf("due %v with a wide vent, %v as usual, %v without", airy, usual, shut)
	}
	// However tight it is.
	if limit := back(day).Add(longestUnfelt); shut.After(limit) {
		t.Errorf("without vents due %v, more than %v after it was felt", shut, longestUnfelt)
	}
}

// The dose: more the drier it is found, none on a wet damp side, never more
// than stays in, in what the household measures with.
func TestHowMuchToGive(t *testing.T) {
	var entries []husbandry.Entry
	for i := range 8 {
		at := back(time.Duration(8-i) * 4 * day)
		entries = append(entries, felt(at, "barely"), watered(at, 35))
	}
	ask := func(units string, change func(*husbandry.Bin)) husbandry.Chore {
		return the(t, husbandry.ChoreFeel, setUp{
			bin: change, room: func(room *husbandry.Room) { room.Units = units },
			at: evening.Add(4 * day), entries: entries})
	}
	metric := ask("metric", nil)
	dose := metric.DoseIfML
	if len(dose) != len(husbandry.FeelWords) {
		t.Fatalf("doses %v of a bin that is due %v", dose, metric.Due)
	}
	if dose["dry"] < dose["barely"] || dose["barely"] <= 0 || dose["barely"] < dose["damp"] || dose["soaked"] != 0 {
		t.Errorf("doses %v", dose)
	}
	if metric.DoseML <= 0 {
		t.Errorf("dose %g", metric.DoseML)
	}
	most := largestDose * dampArea(tub("b1", nil)) * 1000
	for word, ml := range dose {
		if ml > most+2.5 {
			t.Errorf("%s: %g mL where %.1f stays in", word, ml, most)
		}
		if math.Mod(ml, 5) != 0 {
			t.Errorf("%s: %g mL is not measured in steps of 5", word, ml)
		}
	}
	const halfSpoon = 14.78676478125 / 2 // US tablespoon: 231 cubic inches a gallon / 256
	for word, ml := range ask("us", nil).DoseIfML {
		if spoons := ml / halfSpoon; math.Abs(spoons-math.Round(spoons)) > 0.02 {
			t.Errorf("%s: %g mL is not measured in half tablespoons", word, ml)
		}
	}
	large := ask("metric", func(bin *husbandry.Bin) { bin.LengthMM, bin.WidthMM = 680, 400 })
	if large.DoseML <= 2*metric.DoseML {
		t.Errorf("%g mL on four times the area, %g mL on one", large.DoseML, metric.DoseML)
	}
	late := the(t, husbandry.ChoreFeel, setUp{entries: []husbandry.Entry{watered(back(day), 35), felt(back(time.Hour), "soaked")}})
	if late.DoseIfML != nil {
		t.Errorf("doses %v for a bin that is due only %v", late.DoseIfML, late.Due)
	}
}

// A damp side is not topped up day after day: a dose has to sink in first.
func TestATopUpWaitsForTheLastDose(t *testing.T) {
	dose := func(since time.Duration) float64 {
		entries := []husbandry.Entry{felt(back(20*day), "damp"), felt(back(since), "barely"), watered(back(since), 15)}
		r := setUp{entries: entries}.make()
		return r.bins[0].damp.dose(2, evening, anyDay, units.Metric)
	}
	if early, in := dose(topUpAfter-time.Hour), dose(topUpAfter+time.Hour); early != 0 || in <= 0 {
		t.Errorf("a damp side with room gets %g mL before a dose has sunk in and %g mL after", early, in)
	}
}

// Two full doses do not meet in the depth because a hand took damp for barely damp.
func TestADoseSoonAfterAnotherIsNoMoreThanATopUp(t *testing.T) {
	dose := func(since time.Duration, isBeforeTrip bool) float64 {
		entries := []husbandry.Entry{felt(back(20*day), "damp"), felt(back(since), "dry"), watered(back(since), 20)}
		tr := setUp{entries: entries}.make().bins[0].damp
		return tr.dose(0, evening, isBeforeTrip, units.Metric) / tr.mm
	}
	if soon, later := dose(soonAfter-time.Hour, anyDay), dose(soonAfter+time.Hour, anyDay); soon > topUpMost+0.2 || later < topUpMost+0.3 {
		t.Errorf("a dry side gets %.2f mm soon after a dose and %.2f mm later", soon, later)
	}
	if before := dose(soonAfter-time.Hour, beforeTrip); before < topUpMost+0.3 {
		t.Errorf("a dry side gets %.2f mm before a trip", before)
	}
}

// Water that is given before a surface ever dries may fill the depth unseen.
func TestDosesAreHeldBackUntilASurfaceFeelsDryOnce(t *testing.T) {
	doses := func(once string, isBeforeTrip bool) map[string]float64 {
		var entries []husbandry.Entry
		for n := 60; n >= 6; n -= 3 {
			word := "barely"
			if n == 9 {
				word = once
			}
			entries = append(entries, felt(back(time.Duration(n)*day), word), watered(back(time.Duration(n)*day), 80))
		}
		return setUp{entries: entries}.make().bins[0].damp.dosesIf(evening, isBeforeTrip, units.Metric)
	}
	never, once := doses("barely", anyDay), doses("dry", anyDay)
	if never["barely"] >= once["barely"] || never["damp"] != 0 {
		t.Errorf("doses %v where it never felt dry, %v where it did", never, once)
	}
	if never["dry"] != once["dry"] {
		t.Errorf("a dry side gets %g mL where it never felt dry before, %g mL where it did", never["dry"], once["dry"])
	}
	if before := doses("barely", beforeTrip); before["barely"] <= never["barely"] || before["damp"] == 0 {
		t.Errorf("doses %v before a trip, %v otherwise", before, never)
	}
}

// What one bin teaches counts for another from the next day on.
func TestARoomTeachesANewBin(t *testing.T) {
	dries := func(gap time.Duration) []*husbandry.Entry {
		var entries []husbandry.Entry
		for at := back(60 * day); at.Before(back(2 * day)); at = at.Add(gap) {
			entries = append(entries, felt(at, "barely"), watered(at, 25))
		}
		return numbered(entries)
	}
	young := numbered([]husbandry.Entry{felt(back(20*time.Hour), "damp")})
	due := func(others []*husbandry.Entry) time.Time {
		records := []Record{{Bin: tub("b1", nil), Entries: young}}
		for _, id := range []string{"b2", "b3", "b4", "b5"} {
			records = append(records, Record{Bin: tub(id, nil), Entries: others})
		}
		r := NewRoom(settingsOf(nil), records, nil, evening.Add(-200*day), evening, nil, nil)
		for _, c := range all(r, husbandry.ChoreFeel) {
			if c.Bin == "b1" {
				return c.Due
			}
		}
		t.Fatal("no chore")
		return time.Time{}
	}
	fast, slow := due(dries(2*day)), due(dries(8*day))
	if !fast.Before(slow) {
		t.Errorf("a new bin is due %v where all dry fast, %v where none does", fast, slow)
	}
	today := slices.Clone(dries(2 * day))
	if same := due(append(today, numbered([]husbandry.Entry{felt(back(2*time.Hour), "soaked")})...)); !same.Equal(fast) {
		t.Errorf("what was felt in other bins today moves this one from %v to %v", fast, same)
	}
}

// A story that is taken up in the middle comes to what a new one comes to.
func TestAStoryGoesOnFromWhereItChanges(t *testing.T) {
	p := dampParams(0.034, 0.05)
	word := func(hours float64, word, person int) gauge.Event {
		return gauge.Event{Clock: 4 * hours, Hours: hours, Kind: gauge.Word, Word: word, Person: person}
	}
	dose := gauge.Event{Clock: 400, Hours: 100, Kind: gauge.Dose, Amount: 30}
	first := []gauge.Event{word(50, 2, 0), word(100, 1, 0), dose, word(150, 2, 0)}
	heavy := []gauge.Touch{{}, {Bias: 0.2}}
	for name, c := range map[string]struct {
		touch  []gauge.Touch
		events []gauge.Event
	}{
		"it is the same":        {nil, first},
		"something is added":    {nil, append(slices.Clone(first), word(200, 1, 0))},
		"the last is struck":    {nil, first[:3]},
		"the first is struck":   {nil, first[1:]},
		"one comes late":        {nil, []gauge.Event{first[0], word(75, 3, 0), first[1], first[2], first[3]}},
		"a finger is known":     {[]gauge.Touch{{Bias: 0.2}}, first},
		"another finger is":     {heavy, first},
		"and the other is used": {heavy, append(slices.Clone(first), word(200, 1, 1))},
	} {
		t.Run(name, func(t *testing.T) {
			tables := new(gauge.Tables)
			for _, settled := range []int{0, 1, 3} {
				settled = min(settled, len(c.events))
				var other, kept, fresh story
				kept.follow(p, nil, first, settled, nil, tables)
				kept.follow(p, c.touch, c.events, settled, nil, tables)
				fresh.follow(p, c.touch, c.events, 0, nil, tables)
				if got, want := kept.filter.Now(), fresh.filter.Now(); got != want || kept.filter.Evidence() != fresh.filter.Evidence() {
					t.Errorf("taken up after %d: %+v, a new one %+v", settled, got, want)
				}
				if !unbiased(c.touch, c.events[:settled]) {
					continue
				}
				var begun story
				other.follow(p, nil, c.events[:settled], 0, nil, tables)
				begun.follow(p, c.touch, c.events, settled, &other, tables)
				if got, want := begun.filter.Now(), fresh.filter.Now(); got != want {
					t.Errorf("begun with another's first %d: %+v, a new one %+v", settled, got, want)
				}
			}
		})
	}
}
