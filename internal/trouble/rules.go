package trouble

import (
	"slices"
	"time"

	"underlog/internal/husbandry"
)

// Thresholds. All are judgement, set so that a healthy simulated room is left
// in peace (the test of trouble in internal/trial prints how often it is not); that the signs mean
// something is common practice, no source.
const (
	mealsRunning   = 3              // meals untouched, or furry, one after the other
	mealsWithin    = 30 * day       // and not longer ago
	mealUntouched  = 18 * time.Hour // a look before says nothing about appetite
	mealFurry      = 72 * time.Hour // any food is furry after that
	deathsAtLeast  = 3              // animals, about
	deathsWithin   = 14 * day       //
	dryWithin      = 21 * day       //
	dryTimes       = 4              // found dry
	dryTimesHumid  = 3              // of kinds that never like it
	dryShare       = 0.5            // of all feels of that while
	dryRisk        = 0.5            // found dry last, and dry in depth with this chance
	soakedRunning  = 3              // found soaked one after the other
	soakedFor      = 7 * day        // over at least so long
	soakedWithin   = 30 * day       // and not longer ago
	frassFor       = 30 * day       // mostly frass that long ago and not renewed
	ageTimes       = 2              // of the goal between renewals
	youngGone      = 90 * day       // at least without young
	youngGaps      = 3              // and of the usual time between two sightings
	youngOccasion  = 7 * day        // sightings nearer than that are of one brood
	youngOpenings  = 8              // days on which somebody looked into the bin since
	outsideFor     = 72 * time.Hour // readings that count
	outsideSpan    = 24 * time.Hour // and lie at least so far apart
	outsideLeast   = 3              // so many, all outside the kind's range
	outsideBy      = 1.0            // K
	hotBy          = 6.0            // K above the range: one reading is enough; that they die not far above 35 °C is from memory
	hotWithin      = 24 * time.Hour //
	sightingLasts  = 21 * day       // what the keeper tapped stands so long
	springtailWord = 60 * day       // the last word on springtails counts so long
	escapesWithin  = 30 * day       //
	escapesAtLeast = 2              // occasions
	cameInBefore   = 14 * day       // leaves, wood or substrate that came in so long before the first death
)

// A likely cause with its usual odds. raisedBy names the rule that makes it
// "often"; when, if given, makes it one word likelier.
type likely struct {
	cause, odds string
	raisedBy    string
	when        func(*Case, Finding) bool
}

type rule struct {
	name, weight string
	holds        func(*Case) (Finding, bool)
	causes       []likely
	looks        []string
}

// The rules, by name.
const (
	Hot         = "hot"
	Deaths      = "deaths"
	Dry         = "dry"
	Escapes     = "escapes"
	Mould       = "mould"  // an outbreak that the keeper tapped
	Mouldy      = "mouldy" // one meal after the other
	Uneaten     = "uneaten"
	Mites       = "mites"
	Springtails = "springtails"
	Soaked      = "soaked"
	Cold        = "cold"
	NoYoung     = "no young"
	Frass       = "frass"
)

var rules []rule

func init() { // rules and their causes refer to each other
	rules = []rule{
		{Hot, Soon, hot,
			[]likely{{cause: "season", odds: Often}, {cause: "lamp or sun", odds: Sometimes}, {cause: "heater", odds: Sometimes}, {cause: "thermometer", odds: Sometimes}},
			[]string{"move cooler", "shade", "feel depth", "second thermometer"}},
		{Deaths, Soon, deaths,
			[]likely{{cause: "age", odds: Often}, {cause: "dried out", odds: Sometimes, raisedBy: Dry}, {cause: "too wet", odds: Sometimes, raisedBy: Soaked},
				{cause: "moult", odds: Sometimes}, {cause: "heat", odds: Rarely, raisedBy: Hot}, {cause: "what came in", odds: Rarely, when: cameIn}, {cause: "fights", odds: Rarely, when: guards}},
			[]string{"feel depth", "smell", "thermometer", "what came in", "count again", "set aside"}},
		{Dry, Watch, dry,
			[]likely{{cause: "small doses", odds: Often}, {cause: "vents", odds: Sometimes, when: tooAiry}, {cause: "dry air", odds: Sometimes}, {cause: "runs past", odds: Rarely}, {cause: "shallow", odds: Rarely}},
			[]string{"feel depth", "bigger dose", "cover a vent", "add moss"}},
		{Escapes, Soon, escapes,
			[]likely{{cause: "ramp", odds: Often}, {cause: "lid", odds: Sometimes}, {cause: "mesh", odds: Sometimes}, {cause: "crowded", odds: Sometimes},
				{cause: "dried out", odds: Rarely, raisedBy: Dry}, {cause: "too wet", odds: Rarely, raisedBy: Soaked}},
			[]string{"rim", "mesh", "lid", "neighbours"}},
		{Mould, Watch, outbreak,
			[]likely{{cause: "first flush", odds: Sometimes, when: cameIn}, {cause: "too wet", odds: Sometimes, raisedBy: Soaked}, {cause: "still air", odds: Sometimes}, {cause: "few springtails", odds: Sometimes, raisedBy: Springtails}},
			[]string{"take out", "dry side", "vents", "springtails"}},
		{Mouldy, Watch, mouldy,
			[]likely{{cause: "much food", odds: Often}, {cause: "too wet", odds: Sometimes, raisedBy: Soaked}, {cause: "still air", odds: Sometimes},
				{cause: "few springtails", odds: Sometimes, raisedBy: Springtails}, {cause: "few animals", odds: Sometimes, raisedBy: Deaths}},
			[]string{"smaller pieces", "dry side", "springtails", "vents"}},
		{Uneaten, Watch, uneaten,
			[]likely{{cause: "full", odds: Often}, {cause: "disliked", odds: Sometimes}, {cause: "moult", odds: Sometimes}, {cause: "cool", odds: Sometimes, raisedBy: Cold},
				{cause: "few animals", odds: Sometimes, raisedBy: Deaths}, {cause: "dried out", odds: Rarely, raisedBy: Dry}, {cause: "spent ground", odds: Rarely, raisedBy: Frass}},
			[]string{"skip a meal", "other food", "count", "feel depth", "thermometer"}},
		{Mites, Watch, mites,
			[]likely{{cause: "grain mites", odds: Often}, {cause: "soil mites", odds: Often}, {cause: "predators", odds: Rarely}, {cause: "riders", odds: Rarely}},
			[]string{"less protein", "look closer", "own tools", "neighbours"}},
		{Springtails, Watch, springtails,
			[]likely{{cause: "dried out", odds: Sometimes, raisedBy: Dry}, {cause: "mites", odds: Sometimes, raisedBy: Mites}, {cause: "little mould", odds: Sometimes}, {cause: "hiding", odds: Sometimes}},
			[]string{"under wood", "feel depth", "reseed"}},
		{Soaked, Watch, soaked,
			[]likely{{cause: "big doses", odds: Often}, {cause: "closed vents", odds: Sometimes}, {cause: "deep water", odds: Sometimes}},
			[]string{"smell", "skip water", "vents"}},
		{Cold, Watch, cold,
			[]likely{{cause: "season", odds: Often}, {cause: "cold spot", odds: Sometimes}, {cause: "heater", odds: Sometimes}, {cause: "thermometer", odds: Sometimes}},
			[]string{"move warmer", "second thermometer"}},
		{NoYoung, Watch, noYoung,
			[]likely{{cause: "not noted", odds: Often}, {cause: "cool", odds: Sometimes, raisedBy: Cold}, {cause: "few animals", odds: Sometimes, raisedBy: Deaths},
				{cause: "crowded", odds: Sometimes}, {cause: "protein or calcium", odds: Sometimes}, {cause: "rest", odds: Sometimes}, {cause: "dried out", odds: Rarely, raisedBy: Dry}},
			[]string{"under wood", "thermometer", "calcium", "count"}},
		{Frass, Watch, frass,
			[]likely{{cause: "put off", odds: Often}, {cause: "crowded", odds: Sometimes}, {cause: "leaves ran out", odds: Sometimes}},
			[]string{"renew", "leaves", "count"}},
	}
}

// Rules returns the names of all rules.
func Rules() []string {
	names := make([]string, len(rules))
	for i, r := range rules {
		names[i] = r.name
	}
	return names
}

// A meal is a feeding with the looks at what was left.
type meal struct {
	fed   *husbandry.Entry
	looks []*husbandry.Entry
}

// meals returns those of the last while that somebody looked at again, by time.
func (c *Case) meals() []meal {
	var all []meal
	place := map[string]int{}
	for _, e := range c.Entries {
		switch {
		case c.At.Sub(e.At) > mealsWithin:
		case e.What == husbandry.Feed:
			place[e.ID] = len(all)
			all = append(all, meal{fed: e})
		case e.What == husbandry.Leftovers:
			if i, known := place[e.Of]; known {
				all[i].looks = append(all[i].looks, e)
			}
		}
	}
	return slices.DeleteFunc(all, func(m meal) bool { return len(m.looks) == 0 })
}

// What a meal tells.
type told int

const (
	nothing told = iota // nobody looked at the right time
	well
	badly
)

// running holds if the last meals that tell anything all tell badly; tells
// returns the look that does.
func (c *Case) running(tells func(meal) (told, *husbandry.Entry)) (Finding, bool) {
	meals := c.meals()
	var bad []*husbandry.Entry
	for i := len(meals) - 1; i >= 0; i-- {
		how, look := tells(meals[i])
		if how == well {
			break
		}
		if how == badly {
			bad = append(bad, look)
		}
	}
	slices.Reverse(bad)
	return signs(bad), len(bad) >= mealsRunning
}

func uneaten(c *Case) (Finding, bool) {
	return c.running(func(m meal) (told, *husbandry.Entry) {
		for _, look := range m.looks {
			if look.Left != husbandry.LeftWords[2] {
				return well, nil
			}
		}
		if last := m.looks[len(m.looks)-1]; last.At.Sub(m.fed.At) >= mealUntouched {
			return badly, last
		}
		return nothing, nil
	})
}

func mouldy(c *Case) (Finding, bool) {
	return c.running(func(m meal) (told, *husbandry.Entry) {
		how := nothing
		for _, look := range m.looks {
			furry := look.Mould == husbandry.MouldWords[2]
			if furry && look.At.Sub(m.fed.At) <= mealFurry {
				return badly, look
			}
			if !furry && look.Mould != "" { // what is not said counts for nothing
				how = well
			}
		}
		return how, nil
	})
}

func outbreak(c *Case) (Finding, bool) {
	found := c.lately(sightingLasts, seen(husbandry.SeenMould))
	return signs(found), len(found) > 0
}

func mites(c *Case) (Finding, bool) {
	found := c.lately(sightingLasts, seen(husbandry.SeenMites))
	return signs(found), len(found) > 0
}

func deaths(c *Case) (Finding, bool) {
	found := c.lately(deathsWithin, seen(husbandry.SeenDead))
	f := signs(found)
	f.Count = 0
	for _, e := range found {
		f.Count += float64(max(1, e.Count))
	}
	return f, f.Count >= deathsAtLeast && !c.Kind.IsSpringtail()
}

func escapes(c *Case) (Finding, bool) {
	found := c.lately(escapesWithin, seen(husbandry.SeenEscaped))
	days := map[string]bool{}
	for _, e := range found {
		days[e.At.In(c.At.Location()).Format(time.DateOnly)] = true
	}
	f := signs(found)
	f.Count = float64(len(days))
	return f, len(days) >= escapesAtLeast
}

func springtails(c *Case) (Finding, bool) {
	if !c.Bin.Springtails || c.Kind.IsSpringtail() {
		return Finding{}, false
	}
	said := c.lately(springtailWord, func(e *husbandry.Entry) bool {
		return e.What == husbandry.Seen && slices.Contains([]string{husbandry.SeenPlenty, husbandry.SeenFew, husbandry.SeenNone}, e.Seen)
	})
	var bad []*husbandry.Entry
	for i := len(said) - 1; i >= 0 && said[i].Seen != husbandry.SeenPlenty; i-- {
		bad = append(bad, said[i])
	}
	return signs(bad), len(bad) >= 2 || len(bad) == 1 && bad[0].Seen == husbandry.SeenNone
}

func isDry(e *husbandry.Entry) bool {
	return e.What == husbandry.Feel && e.Feel == husbandry.FeelWords[0]
}

func dry(c *Case) (Finding, bool) {
	found := c.lately(dryWithin, isDry)
	f := signs(found)
	enough := dryTimes
	if c.Kind.Moisture == husbandry.MoistureWords[0] || c.Kind.Moisture == husbandry.MoistureWords[1] {
		enough = dryTimesHumid
	}
	var last *husbandry.Entry
	for _, e := range c.Entries {
		if e.What == husbandry.Feel || e.What == husbandry.Water {
			last = e
		}
	}
	if last != nil && isDry(last) && c.Risk >= dryRisk && c.At.Sub(last.At) <= dryWithin {
		f.Weight = Soon
		return f, true
	}
	felt := c.lately(dryWithin, func(e *husbandry.Entry) bool { return e.What == husbandry.Feel })
	return f, len(found) >= enough && float64(len(found)) >= dryShare*float64(len(felt))
}

func soaked(c *Case) (Finding, bool) {
	var run []*husbandry.Entry
	for _, e := range c.lately(soakedWithin, func(e *husbandry.Entry) bool { return e.What == husbandry.Feel }) {
		if e.Feel == husbandry.FeelWords[3] {
			run = append(run, e)
		} else {
			run = nil
		}
	}
	f := signs(run)
	return f, len(run) >= soakedRunning && f.Last.Sub(f.Since) >= soakedFor
}

func frass(c *Case) (Finding, bool) {
	var said []*husbandry.Entry
	for _, e := range c.Entries {
		switch {
		case e.What == husbandry.Renew, e.What == husbandry.Substrate && e.Substrate != husbandry.SubstrateWords[2]:
			said = nil
		case e.What == husbandry.Substrate:
			said = append(said, e)
		}
	}
	if f := signs(said); len(said) > 0 && c.At.Sub(f.Since) >= frassFor {
		return f, true
	}
	const month = 30.44 * 24 * float64(time.Hour)
	old := !c.Renewed.IsZero() && c.Months > 0 && float64(c.At.Sub(c.Renewed)) > ageTimes*c.Months*month
	return Finding{Since: c.Renewed, Last: c.At, Entries: []string{}}, old
}

// noYoung wants two broods seen, and then none for long though the bin was
// looked into.
func noYoung(c *Case) (Finding, bool) {
	var broods []*husbandry.Entry
	var last time.Time
	for _, e := range c.Entries {
		if e.What != husbandry.Young && !seen(husbandry.SeenGravid)(e) {
			continue
		}
		if len(broods) == 0 || e.At.Sub(last) > youngOccasion {
			broods = append(broods, e)
		}
		last = e.At
	}
	if len(broods) < 2 {
		return Finding{}, false
	}
	gap := broods[len(broods)-1].At.Sub(broods[0].At) / time.Duration(len(broods)-1)
	opened := map[string]bool{}
	for _, e := range c.Entries {
		if e.At.After(last) && looksIn(e) {
			opened[e.At.In(c.At.Location()).Format(time.DateOnly)] = true
		}
	}
	f := signs(broods)
	f.Last = last
	return f, c.At.Sub(last) > max(youngGone, youngGaps*gap) && len(opened) >= youngOpenings
}

// looksIn says whether whoever logged the entry had the bin open.
func looksIn(e *husbandry.Entry) bool {
	switch e.What {
	case husbandry.Feel, husbandry.Feed, husbandry.Leftovers, husbandry.Leaves, husbandry.Look, husbandry.AddLeaves:
		return true
	}
	return false
}

// readings returns those of the bin's own air, or of the room's where it has
// none, in the last days.
func (c *Case) readings() []*husbandry.Entry {
	measured := func(e *husbandry.Entry) bool { return e.What == husbandry.Climate && e.TemperatureC != nil }
	if own := c.lately(outsideFor, measured); len(own) > 0 {
		return own
	}
	room := Case{Entries: c.Air, At: c.At}
	return room.lately(outsideFor, measured)
}

// outside holds if every reading of the last days lies outside the kind's
// range by a degree, on the side where beyond is positive.
func (c *Case) outside(beyond func(celsius float64) float64) (Finding, bool) {
	if c.Kind.TemperatureMax <= c.Kind.TemperatureMin {
		return Finding{}, false // nobody knows what the kind bears
	}
	readings := c.readings()
	f := signs(readings)
	f.Count = 0
	for _, e := range readings {
		over := beyond(*e.TemperatureC)
		if over < outsideBy {
			return Finding{}, false
		}
		f.Count = max(f.Count, over)
	}
	return f, len(readings) >= outsideLeast && f.Last.Sub(f.Since) >= outsideSpan
}

func cold(c *Case) (Finding, bool) {
	return c.outside(func(celsius float64) float64 { return c.Kind.TemperatureMin - celsius })
}

func hot(c *Case) (Finding, bool) {
	beyond := func(celsius float64) float64 { return celsius - c.Kind.TemperatureMax }
	if f, is := c.outside(beyond); is {
		return f, true
	}
	if c.Kind.TemperatureMax <= c.Kind.TemperatureMin {
		return Finding{}, false
	}
	var worst []*husbandry.Entry
	f := Finding{}
	for _, e := range c.readings() {
		if over := beyond(*e.TemperatureC); over >= hotBy && c.At.Sub(e.At) <= hotWithin {
			worst, f.Count = append(worst, e), max(f.Count, over)
		}
	}
	count := f.Count
	f = signs(worst)
	f.Count = count
	return f, len(worst) > 0
}

// cameIn: leaves, wood or substrate came in shortly before the first sign.
func cameIn(c *Case, f Finding) bool {
	for _, e := range c.Entries {
		came := e.What == husbandry.AddLeaves || e.What == husbandry.AddWood || e.What == husbandry.Renew
		if before := f.Since.Sub(e.At); came && before >= 0 && before <= cameInBefore {
			return true
		}
	}
	return false
}

func guards(c *Case, _ Finding) bool { return c.Kind.Guards }

// tooAiry: the lid lets through more than the kind wants.
func tooAiry(c *Case, _ Finding) bool {
	open := 0.0
	for _, o := range c.Bin.Openings {
		area := o.LengthMM * o.WidthMM
		if o.Shape == "round" {
			area = 0.785 * o.DiameterMM * o.DiameterMM
		}
		if o.MeshOpenShare > 0 {
			area *= o.MeshOpenShare
		}
		open += area * float64(max(1, o.Count))
	}
	const cutOut = 2500 // mm2 open: from there on it is a screened cut-out, not holes (judgement)
	return open >= cutOut && (c.Kind.Air == husbandry.AirWords[0] || c.Kind.Air == husbandry.AirWords[1])
}
