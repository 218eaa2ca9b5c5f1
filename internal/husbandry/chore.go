package husbandry

import "time"

// What a bin will want.
const (
	ChoreFeel      = "feel"      // feel the damp side, water only if it wants it
	ChoreLeftovers = "leftovers" // look at what is left of a feeding
	ChoreFeed      = "feed"      // feed
	ChoreLeaves    = "leaves"    // top up leaf litter
	ChoreRenew     = "renew"     // renew the substrate
	ChoreLook      = "look"      // look in: nothing else has opened this bin for long
	ChoreSetUp     = "set_up"    // get the bin ready for a trip
	ChoreEscape    = "escape"    // look for ways out: rim, mesh, lid
)

// ChoreSorts is every sort of chore.
var ChoreSorts = []string{ChoreFeel, ChoreLeftovers, ChoreFeed, ChoreLeaves, ChoreRenew, ChoreLook, ChoreSetUp, ChoreEscape}

// A Chore is something that a bin will want, with its window: from Opens on,
// doing it could change something; at Due it should be done; at Closes it is
// late enough to do harm. Opens <= Due <= Closes, in whole minutes.
type Chore struct {
	Bin    string    `json:"bin"`
	Chore  string    `json:"chore"`
	Of     string    `json:"of,omitempty"` // the feeding, for leftovers
	Food   string    `json:"food,omitempty"`
	Opens  time.Time `json:"opens"`
	Due    time.Time `json:"due"`
	Closes time.Time `json:"closes"`
	// DoseML is the water to add, or Handfuls the leaves, if the bin is found at its expected level at Due.
	DoseML   float64 `json:"dose_ml,omitempty"`
	Handfuls float64 `json:"handfuls,omitempty"`
	// DoseIfML is the water to add for each word that the damp side may feel
	// like at the time of asking; only where Due is near.
	DoseIfML map[string]float64 `json:"dose_if_ml,omitempty"`
	// HandfulsIf is the leaves to add for each word that the litter may look
	// like, likewise.
	HandfulsIf map[string]float64 `json:"handfuls_if,omitempty"`
	// Odds is the chance, at the time of asking, that the thing to be
	// prevented or noticed is already so: the damp side feels dry, the food
	// is mouldy, the leaves are bare.
	Odds float64 `json:"odds"`
	// Reason is Why as an English sentence, for terminals and tables.
	Reason   string      `json:"reason"`
	Why      Why         `json:"why,omitzero"`
	Forecast []OddsPoint `json:"forecast,omitempty"`
	Pick     *Pick       `json:"pick,omitempty"` // of a feeding: what to give
}

// A Pick is what a bin is to be fed next, and why: codes of package rota, the
// strongest first, and what belongs to them.
type Pick struct {
	Food    string    `json:"food,omitempty"`    // slug; empty: nothing that is at hand fits
	Calcium string    `json:"calcium,omitempty"` // slug of a calcium source that is due too
	Pieces  int       `json:"pieces,omitempty"`
	Why     []string  `json:"why,omitempty"`
	Days    float64   `json:"days,omitempty"`    // since it last had this food; 0: never, as far as is known
	Share   float64   `json:"share,omitempty"`   // of its meals that should be protein
	UseBy   string    `json:"use_by,omitempty"`  // a day
	Mouldy  float64   `json:"mouldy,omitempty"`  // odds at its next look
	LooksAt time.Time `json:"looks_at,omitzero"` // when that is
}

// An OddsPoint is the odds of the states of a bin (Dry, Risk) or of a
// feeding (Gone, Mouldy) at an instant if nobody does anything.
type OddsPoint struct {
	At     time.Time `json:"at"`
	Dry    *float64  `json:"dry,omitempty"`
	Risk   *float64  `json:"risk,omitempty"`
	Gone   *float64  `json:"gone,omitempty"`
	Mouldy *float64  `json:"mouldy,omitempty"`
}

// What a Why can say.
const (
	WhyNeverFelt   = "never felt"   // no reading of the damp side yet
	WhyDry         = "dry"          // the damp side feels dry at At with the chance Odds
	WhyLies        = "lies"         // a food lies since At, mouldy by now with the chance Odds
	WhyMouldLeft   = "mould left"   // mould (Word) was seen at At, and the food was left in
	WhyNeverFed    = "never fed"    // no meal logged yet
	WhyFed         = "fed"          // the last meal was at At
	WhyLeaves      = "leaves"       // leaves were added at At; bare by now with the chance Odds
	WhyNoLeaves    = "no leaves"    // no leaves logged yet; bare by now with the chance Odds
	WhyAge         = "age"          // substrate of At (none: nobody knows) reaches its goal of Months
	WhyFrass       = "frass"        // substrate of At (none: nobody knows), mostly frass with the chance Odds
	WhyPlanned     = "planned"      // the plan of renewals has it in the week of At
	WhyNeverOpened = "never opened" // nothing logged yet
	WhyUnopened    = "unopened"     // last opened at At
	WhyTrip        = "trip"         // a trip begins on the day of At; dry in depth before the return with the chance Odds
	WhyEscaped     = "escaped"      // an animal was found outside at At
	WhyWayOut      = "way out"      // a check at At found a way out: Word
	WhyRamp        = "ramp"         // leaves, wood or new substrate came in at At
	WhyUnchecked   = "unchecked"    // ways out were last looked for at At
)

// A Why says why a chore will be due, as a code and what belongs to it, so
// that a screen can write the sentence in its reader's language. Odds are from
// 0 to 1.
type Why struct {
	Code   string    `json:"code"`
	At     time.Time `json:"at,omitzero"`
	Odds   float64   `json:"odds,omitempty"`
	Months float64   `json:"months,omitempty"`
	Word   string    `json:"word,omitempty"`
	Food   string    `json:"food,omitempty"` // slug
}
