package trouble

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underlog/internal/husbandry"
)

var evening = time.Date(2026, 6, 3, 19, 0, 0, 0, time.UTC)

func back(days float64) time.Time { return evening.Add(-time.Duration(days * float64(day))) }

func kind(slug string) husbandry.Kind {
	kinds := husbandry.Kinds()
	return kinds[slices.IndexFunc(kinds, func(k husbandry.Kind) bool { return k.Slug == slug })]
}

// the returns a case of a common tub with entries by time.
func the(entries ...husbandry.Entry) Case {
	bin := husbandry.CommonTub()
	bin.ID, bin.Kind = "b1", "armadillidium-vulgare"
	c := Case{Bin: bin, Kind: kind(bin.Kind), Months: 6, At: evening}
	slices.SortStableFunc(entries, func(a, b husbandry.Entry) int { return a.At.Compare(b.At) })
	for i := range entries {
		if entries[i].ID == "" {
			entries[i].ID = fmt.Sprint("e", i)
		}
		if entries[i].What == husbandry.Climate {
			c.Air = append(c.Air, &entries[i])
		} else {
			c.Entries = append(c.Entries, &entries[i])
		}
	}
	return c
}

func names(found []Finding) []string {
	var list []string
	for _, f := range found {
		list = append(list, f.Rule)
	}
	return list
}

func saw(days float64, word string, count int) husbandry.Entry {
	return husbandry.Entry{At: back(days), What: husbandry.Seen, Seen: word, Count: count}
}

func feels(word string, days ...float64) (list []husbandry.Entry) {
	for _, d := range days {
		list = append(list, husbandry.Entry{At: back(d), What: husbandry.Feel, Feel: word})
	}
	return list
}

// ate is a meal of so many days ago and a look a day later.
func ate(days float64, left, mould string) []husbandry.Entry {
	id := fmt.Sprint("fed", days)
	return []husbandry.Entry{
		{ID: id, At: back(days), What: husbandry.Feed, Food: "carrot"},
		{At: back(days - 1), What: husbandry.Leftovers, Of: id, Left: left, Mould: mould},
	}
}

func air(celsius float64, days ...float64) (list []husbandry.Entry) {
	for _, d := range days {
		list = append(list, husbandry.Entry{At: back(d), What: husbandry.Climate, TemperatureC: &celsius})
	}
	return list
}

func opened(n int) (list []husbandry.Entry) {
	for i := range n {
		list = append(list, husbandry.Entry{At: back(1 + float64(i)*8), What: husbandry.Look})
	}
	return list
}

func TestEachRuleHoldsAtItsThresholdAndNotBelow(t *testing.T) {
	many := func(lists ...[]husbandry.Entry) []husbandry.Entry { return slices.Concat(lists...) }
	say := func(what, word string, days ...float64) (list []husbandry.Entry) {
		for _, d := range days {
			list = append(list, husbandry.Entry{At: back(d), What: what, Substrate: word})
		}
		return list
	}
	tests := []struct {
		rule   string
		below  []husbandry.Entry
		at     []husbandry.Entry
		change func(*Case)
	}{
		{Uneaten, many(ate(9, "some left", "none"), ate(6, "untouched", "none"), ate(3, "untouched", "none")),
			many(ate(9, "untouched", "none"), ate(6, "untouched", "none"), ate(3, "untouched", "none")), nil},
		{Mouldy, many(ate(9, "some left", "specks"), ate(6, "some left", "furry"), ate(3, "some left", "furry")),
			many(ate(9, "some left", "furry"), ate(6, "some left", "furry"), ate(3, "some left", "furry")), nil},
		{Mould, []husbandry.Entry{saw(30, husbandry.SeenMould, 0)}, []husbandry.Entry{saw(2, husbandry.SeenMould, 0)}, nil},
		{Mites, []husbandry.Entry{saw(30, husbandry.SeenMites, 0)}, []husbandry.Entry{saw(2, husbandry.SeenMites, 0)}, nil},
		{Deaths, []husbandry.Entry{saw(8, husbandry.SeenDead, 0), saw(2, husbandry.SeenDead, 0)}, []husbandry.Entry{saw(8, husbandry.SeenDead, 0), saw(2, husbandry.SeenDead, 2)}, nil},
		{Escapes, []husbandry.Entry{saw(2, husbandry.SeenEscaped, 9)}, []husbandry.Entry{saw(12, husbandry.SeenEscaped, 1), saw(2, husbandry.SeenEscaped, 1)}, nil},
		{Springtails, []husbandry.Entry{saw(20, husbandry.SeenFew, 0)}, []husbandry.Entry{saw(20, husbandry.SeenFew, 0), saw(2, husbandry.SeenFew, 0)}, nil},
		{Springtails, []husbandry.Entry{saw(20, husbandry.SeenNone, 0), saw(2, husbandry.SeenPlenty, 0)}, []husbandry.Entry{saw(20, husbandry.SeenPlenty, 0), saw(2, husbandry.SeenNone, 0)}, nil},
		{Dry, feels("dry", 18, 12, 6), feels("dry", 18, 12, 6, 1), nil},
		{Dry, feels("dry", 12, 6), feels("dry", 18, 12, 6), func(c *Case) { c.Kind = kind("cubaris") }},
		{Dry, many(feels("dry", 3), feels("damp", 1)), feels("dry", 1), func(c *Case) { c.Risk = 0.6 }},
		{Soaked, many(feels("soaked", 9, 5), feels("damp", 1)), feels("soaked", 9, 5, 1), nil},
		{Frass, say(husbandry.Substrate, "mostly frass", 20), say(husbandry.Substrate, "mostly frass", 40), nil},
		{Frass, many(say(husbandry.Substrate, "mostly frass", 40), say(husbandry.Renew, "", 20)), say(husbandry.Substrate, "mostly frass", 40, 20), nil},
		{Cold, many(air(12, 2.5, 0.5), air(17, 1.5)), air(12, 2.5, 1.5, 0.5), nil},
		{Hot, air(29, 2.5, 0.5), air(29, 2.5, 1.5, 0.5), nil},
		{Hot, air(32, 0.2), air(33.5, 0.2), nil},
		{NoYoung, many(young(180), opened(12)), many(young(180, 150), opened(12)), nil},
		{NoYoung, many(young(180, 150, 80), opened(12)), many(young(180, 150), opened(12)), nil},
		{NoYoung, many(young(180, 150), opened(7)), many(young(180, 150), opened(8)), nil},
	}
	tried := map[string]bool{}
	for i, test := range tests {
		t.Run(fmt.Sprint(test.rule, " ", i), func(t *testing.T) {
			tried[test.rule] = true
			below, at := the(test.below...), the(test.at...)
			if test.change != nil {
				test.change(&below)
				test.change(&at)
			}
			if found := names(Find(below)); slices.Contains(found, test.rule) {
				t.Errorf("holds below its threshold")
			}
			found := Find(at)
			i := slices.IndexFunc(found, func(f Finding) bool { return f.Rule == test.rule })
			if i < 0 {
				t.Fatalf("found %v", names(found))
			}
			f := found[i]
			if len(f.Entries) == 0 || len(f.Causes) < 3 || len(f.Looks) < 2 || f.Since.After(f.Last) || f.Last.After(evening) {
				t.Errorf("the finding is not whole: %+v", f)
			}
		})
	}
	for _, name := range Rules() {
		if !tried[name] {
			t.Errorf("%s is not tried", name)
		}
	}
}

func young(days ...float64) (list []husbandry.Entry) {
	for _, d := range days {
		list = append(list, husbandry.Entry{At: back(d), What: husbandry.Young})
	}
	return list
}

// What else was found moves the odds of a cause.
func TestCausesAreRaisedByWhatElseHolds(t *testing.T) {
	odds := func(c Case, rule, cause string) string {
		for _, f := range Find(c) {
			for _, one := range f.Causes {
				if f.Rule == rule && one.Cause == cause {
					return one.Odds
				}
			}
		}
		return "not named"
	}
	dead := saw(2, husbandry.SeenDead, 5)
	if got := odds(the(dead), Deaths, "dried out"); got != Sometimes {
		t.Errorf("dried out is %s", got)
	}
	if got := odds(the(append(feels("dry", 18, 12, 6, 1), dead)...), Deaths, "dried out"); got != Often {
		t.Errorf("in a dry bin dried out is %s", got)
	}
	leaves := husbandry.Entry{At: back(6), What: husbandry.AddLeaves, Handfuls: 2}
	if got := odds(the(dead), Deaths, "what came in"); got != Rarely {
		t.Errorf("what came in is %s", got)
	}
	if got := odds(the(leaves, dead), Deaths, "what came in"); got != Sometimes {
		t.Errorf("after new leaves what came in is %s", got)
	}
	late := saw(2, husbandry.SeenDead, 5)
	after := husbandry.Entry{At: back(1), What: husbandry.AddLeaves, Handfuls: 2}
	if got := odds(the(late, after), Deaths, "what came in"); got != Rarely {
		t.Errorf("leaves that came after the deaths are %s to blame", got)
	}
}

// isSign says what a rule counts. Of no young the sign is that somebody looked.
var isSign = map[string]func(*husbandry.Entry) bool{
	Uneaten: func(e *husbandry.Entry) bool { return e.What == husbandry.Leftovers && e.Left == "untouched" },
	Mouldy:  func(e *husbandry.Entry) bool { return e.What == husbandry.Leftovers && e.Mould == "furry" },
	Mould:   seen(husbandry.SeenMould), Mites: seen(husbandry.SeenMites), Deaths: seen(husbandry.SeenDead), Escapes: seen(husbandry.SeenEscaped),
	Springtails: func(e *husbandry.Entry) bool { return seen(husbandry.SeenFew)(e) || seen(husbandry.SeenNone)(e) },
	Dry:         isDry,
	Soaked:      func(e *husbandry.Entry) bool { return e.Feel == "soaked" },
	Frass:       func(e *husbandry.Entry) bool { return e.Substrate == "mostly frass" },
	NoYoung:     looksIn,
	Cold:        func(e *husbandry.Entry) bool { return e.TemperatureC != nil && *e.TemperatureC <= 15 },
	Hot:         func(e *husbandry.Entry) bool { return e.TemperatureC != nil && *e.TemperatureC >= 28 },
}

func drawAny(t *rapid.T) []husbandry.Entry {
	var list []husbandry.Entry
	n := rapid.IntRange(0, 40).Draw(t, "n")
	fed := ""
	at := back(190)
	for i := range n {
		at = at.Add(time.Duration(rapid.IntRange(1, 24*9).Draw(t, "hours")) * time.Hour)
		if at.After(evening) {
			break
		}
		e := husbandry.Entry{ID: fmt.Sprint("e", i), At: at}
		switch rapid.IntRange(0, 8).Draw(t, "what") {
		case 0, 1:
			e.What, e.Feel = husbandry.Feel, rapid.SampledFrom([]string{"dry", "dry", "damp", "soaked", "soaked"}).Draw(t, "feel")
		case 2, 3:
			e.What, e.Food, fed = husbandry.Feed, "carrot", e.ID
		case 4, 5:
			if fed == "" {
				continue
			}
			e.What, e.Of = husbandry.Leftovers, fed
			e.Left = rapid.SampledFrom([]string{"untouched", "untouched", "some left"}).Draw(t, "left")
			e.Mould = rapid.SampledFrom([]string{"none", "furry", "furry"}).Draw(t, "mould")
		case 6:
			e.What, e.Seen = husbandry.Seen, rapid.SampledFrom(husbandry.SeenWords).Draw(t, "seen")
			e.Count = rapid.IntRange(0, 4).Draw(t, "count")
		case 7:
			e.What, e.Substrate = husbandry.Substrate, rapid.SampledFrom(husbandry.SubstrateWords).Draw(t, "substrate")
		case 8:
			if rapid.Bool().Draw(t, "young") {
				e.What = husbandry.Young
			} else {
				c := rapid.SampledFrom([]float64{12, 13, 22, 29, 34}).Draw(t, "celsius")
				e.What, e.TemperatureC = husbandry.Climate, &c
				e.At = evening.Add(-time.Duration(rapid.IntRange(1, 80).Draw(t, "ago")) * time.Hour)
			}
		}
		list = append(list, e)
	}
	return list
}

// Taking away a sign that a rule counts never makes the rule hold.
func TestRemovingEvidenceNeverAddsTrouble(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := drawAny(t)
		before := names(Find(the(slices.Clone(list)...)))
		for i := range list {
			after := names(Find(the(append(slices.Clone(list[:i]), list[i+1:]...)...)))
			for _, rule := range after {
				if isSign[rule](&list[i]) && !slices.Contains(before, rule) {
					// A look that was a bad sign of one sort may have been a good one of
					// another; only what is nothing but a sign is held to the law.
					if e := list[i]; e.What == husbandry.Leftovers && (e.Left != "untouched" || e.Mould != "furry") {
						continue
					}
					t.Fatalf("without %+v %s holds, and did not before", list[i], rule)
				}
			}
		}
	})
}

// A history in which all is well, with the odd single mishap, never trips.
func TestAHealthyHistoryIsLeftInPeace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []husbandry.Entry
		slug := rapid.SampledFrom(husbandry.Kinds()).Draw(t, "kind").Slug
		own := kind(slug)
		add := func(e husbandry.Entry) {
			e.ID = fmt.Sprint("h", len(list))
			list = append(list, e)
		}
		dryDays := 0
		for d := 190; d > 0; d-- {
			at := back(float64(d) - 0.1)
			switch rapid.IntRange(0, 6).Draw(t, "what") {
			case 0:
				words := []string{"barely", "damp", "damp"}
				if dryDays <= 0 {
					words = append(words, "dry")
				}
				word := rapid.SampledFrom(words).Draw(t, "feel")
				if word == "dry" {
					dryDays = 14 // the next dose is larger
				}
				add(husbandry.Entry{At: at, What: husbandry.Feel, Feel: word})
				if word == "dry" {
					add(husbandry.Entry{At: at.Add(time.Minute), What: husbandry.Water, WaterML: 40})
				}
			case 1:
				add(husbandry.Entry{At: at, What: husbandry.Feed, Food: "carrot"})
				id := list[len(list)-1].ID
				left := rapid.SampledFrom([]string{"all gone", "some left", "some left"}).Draw(t, "left")
				add(husbandry.Entry{At: at.Add(20 * time.Hour), What: husbandry.Leftovers, Of: id, Left: left,
					Mould: rapid.SampledFrom([]string{"none", "none", "specks"}).Draw(t, "mould")})
			case 2:
				add(husbandry.Entry{At: at, What: husbandry.Substrate, Substrate: rapid.SampledFrom([]string{"fresh", "mixed"}).Draw(t, "substrate")})
			case 3:
				celsius := rapid.Float64Range(own.TemperatureMin, own.TemperatureMax).Draw(t, "celsius")
				add(husbandry.Entry{At: at, What: husbandry.Climate, TemperatureC: &celsius})
			case 4:
				add(husbandry.Entry{At: at, What: husbandry.Leaves, Leaves: "thin"})
			case 5:
				if d%30 == 0 {
					add(husbandry.Entry{At: at, What: husbandry.Seen, Seen: rapid.SampledFrom([]string{husbandry.SeenDead, husbandry.SeenMoult, husbandry.SeenGravid, husbandry.SeenPlenty}).Draw(t, "seen")})
				}
			}
			dryDays--
			if d%45 == 0 {
				add(husbandry.Entry{At: at, What: husbandry.Young})
			}
		}
		c := the(list...)
		c.Kind = own
		c.Renewed = back(100)
		if found := Find(c); len(found) > 0 {
			t.Fatalf("%s: %+v", slug, found)
		}
	})
}

// Fine mesh over a cut-out is not an open lid; a kind of open air never has too much.
func TestWhetherALidLetsThroughTooMuch(t *testing.T) {
	for _, one := range []struct {
		name  string
		air   string
		mesh  float64
		count int
		want  bool
	}{
		{"an open cut-out over a kind of still air", husbandry.AirWords[0], 1, 1, true},
		{"half of it closed by mesh", husbandry.AirWords[0], 0.5, 1, true},
		{"most of it closed by mesh", husbandry.AirWords[0], 0.2, 1, false},
		{"two such", husbandry.AirWords[0], 0.2, 2, true},
		{"a kind of open air", husbandry.AirWords[2], 1, 1, false},
	} {
		c := the()
		c.Kind.Air = one.air
		c.Bin.Openings = []husbandry.Opening{{Where: "lid", Shape: "rectangle", LengthMM: 100, WidthMM: 80, Count: one.count, MeshOpenShare: one.mesh}}
		if got := tooAiry(&c, Finding{}); got != one.want {
			t.Errorf("%s: too airy %v", one.name, got)
		}
	}
}
