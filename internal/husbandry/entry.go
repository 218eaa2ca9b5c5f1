package husbandry

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"
)

// What an entry says happened.
const (
	Feel      = "feel"       // the damp side was felt: Feel
	Water     = "water"      // water was given to the damp side: WaterML
	Feed      = "feed"       // food was put in: Food, Pieces, and Item, the stock that it came from
	Leftovers = "leftovers"  // a feeding was looked at again: Of, Left, Mould, Removed
	Leaves    = "leaves"     // the leaf litter was looked at: Leaves
	AddLeaves = "add leaves" // leaf litter was added: Handfuls, Batch
	Substrate = "substrate"  // the substrate was looked at: Substrate
	Renew     = "renew"      // the substrate was renewed: Mix
	Young     = "young"      // young were seen
	Seen      = "seen"       // something else was seen in the bin: Seen, Count, Place
	AddWood   = "add wood"   // wood or bark was added
	Escape    = "escape"     // rim, mesh and lid were checked for ways out: Rim, Mesh, Lid
	Climate   = "climate"    // a reading of the room's (or one bin's) air
	Look      = "look"       // the bin was opened and nothing was amiss
	Note      = "note"       // words only
	Photo     = "photo"      // a picture was taken: Photo, and Of where it goes with another entry
	Larder    = "larder"     // a thing of the larder was looked at, used or added to: Item, Found, Used, Added
	Strike    = "strike"     // another entry is struck: Struck
)

// Readings are words that a thumb can find, from least to most.
var (
	FeelWords      = []string{"dry", "barely", "damp", "soaked"}
	LeftWords      = []string{"all gone", "some left", "untouched"}
	MouldWords     = []string{"none", "specks", "furry"}
	LeavesWords    = []string{"bare", "thin", "plenty"}
	SubstrateWords = []string{"fresh", "mixed", "mostly frass"}
	SideWords      = []string{"damp", "dry"}
	FoundWords     = []string{"nearly out", "low", "enough"}
	RimWords       = []string{"clear", "ramp"} // ramp: a stem or a leaf leads to the rim
	MeshWords      = []string{"whole", "torn", "missing"}
	LidWords       = []string{"shut", "ajar"}
)

// What may be seen in a bin beside young.
const (
	SeenGravid  = "gravid"  // a female that carries a brood
	SeenMoult   = "moult"   // a moult, whole or half
	SeenOdd     = "odd one" // an animal of another colour or form
	SeenPlenty  = "springtails plenty"
	SeenFew     = "springtails few"
	SeenNone    = "springtails gone"
	SeenMites   = "mites"
	SeenMould   = "mould"   // an outbreak, beyond a piece of food
	SeenDead    = "dead"    // Count died, about
	SeenEscaped = "escaped" // Count were found outside, at Place
)

// SeenWords is everything that a Seen entry may say.
var SeenWords = []string{SeenGravid, SeenMoult, SeenOdd, SeenPlenty, SeenFew, SeenNone, SeenMites, SeenMould, SeenDead, SeenEscaped}

// An Entry is one thing that happened. What decides which further fields
// count. It is never changed; a Strike entry can void it.
type Entry struct {
	ID     string    `json:"id"`
	Bin    string    `json:"bin,omitempty"`
	At     time.Time `json:"at"`
	What   string    `json:"what"`
	By     string    `json:"by,omitempty"`
	Device string    `json:"device,omitempty"`

	Feel         string   `json:"feel,omitempty"`
	WaterML      float64  `json:"water_ml,omitempty"`
	Food         string   `json:"food,omitempty"`
	Pieces       int      `json:"pieces,omitempty"`
	Side         string   `json:"side,omitempty"`
	Cooked       bool     `json:"cooked,omitempty"`
	Of           string   `json:"of,omitempty"`
	Left         string   `json:"left,omitempty"`
	Mould        string   `json:"mould,omitempty"`
	Removed      bool     `json:"removed,omitempty"`
	Leaves       string   `json:"leaves,omitempty"`
	Handfuls     float64  `json:"handfuls,omitempty"`
	Batch        string   `json:"batch,omitempty"`
	Substrate    string   `json:"substrate,omitempty"`
	Mix          string   `json:"mix,omitempty"`
	Item         string   `json:"item,omitempty"`
	Found        string   `json:"found,omitempty"`
	Used         float64  `json:"used,omitempty"`
	Added        float64  `json:"added,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	HumidityPct  *float64 `json:"humidity_pct,omitempty"`
	Seen         string   `json:"seen,omitempty"`
	Count        int      `json:"count,omitempty"` // about; 0 is not said
	Place        string   `json:"place,omitempty"` // where it was seen, in words
	Rim          string   `json:"rim,omitempty"`
	Mesh         string   `json:"mesh,omitempty"`
	Lid          string   `json:"lid,omitempty"`
	Struck       string   `json:"struck,omitempty"`
	Photo        string   `json:"photo,omitempty"`
	Note         string   `json:"note,omitempty"`
}

// commonEntryFields are part of every entry, whatever it says.
var commonEntryFields = []Field{
	{Name: "id", Type: Ref, Required: true},
	{Name: "at", Type: Time, Required: true},
	{Name: "by", Type: Text, Max: 80},
	{Name: "device", Type: Ref},
	{Name: "note", Type: Text, Max: 2000},
}

var (
	binField    = Field{Name: "bin", Type: Ref, Required: true}
	maybeBin    = Field{Name: "bin", Type: Ref}
	foodField   = Field{Name: "food", Type: Text, Max: 80, Required: true}
	piecesField = Field{Name: "pieces", Type: Whole, Min: 1, Max: 200}
	itemField   = Field{Name: "item", Type: Ref} // the stock that it was taken from
)

// entryFields lists, for each What, the fields that count beyond the common
// ones. A field of another What is a problem: it would be lost silently.
var entryFields = map[string][]Field{
	Feel:  {binField, {Name: "feel", Type: Word, Words: FeelWords, Required: true}},
	Water: {binField, {Name: "water_ml", Type: Number, Min: 1, Max: 2000, Unit: "mL", Required: true}},
	Feed: {binField, foodField, piecesField, {Name: "side", Type: Word, Words: SideWords},
		{Name: "cooked", Type: Truth}, itemField},
	Leftovers: {binField, {Name: "of", Type: Ref, Required: true},
		{Name: "left", Type: Word, Words: LeftWords, Required: true},
		{Name: "mould", Type: Word, Words: MouldWords}, {Name: "removed", Type: Truth}},
	Leaves: {binField, {Name: "leaves", Type: Word, Words: LeavesWords, Required: true}},
	AddLeaves: {binField, {Name: "handfuls", Type: Number, Min: 0.25, Max: 50, Unit: "handfuls", Required: true},
		batchSlugField},
	Substrate: {binField, {Name: "substrate", Type: Word, Words: SubstrateWords, Required: true}},
	Renew:     {binField, {Name: "mix", Type: Text, Max: 80}},
	Young:     {binField},
	Seen: {binField, {Name: "seen", Type: Word, Words: SeenWords, Required: true},
		{Name: "count", Type: Whole, Min: 1, Max: 5000}, {Name: "place", Type: Text, Max: 80}},
	AddWood: {binField},
	Escape: {binField, {Name: "rim", Type: Word, Words: RimWords}, {Name: "mesh", Type: Word, Words: MeshWords},
		{Name: "lid", Type: Word, Words: LidWords}},
	Climate: {maybeBin, {Name: "temperature_c", Type: Number, Min: -20, Max: 60, Unit: "°C"},
		{Name: "humidity_pct", Type: Number, Min: 0, Max: 100, Unit: "%"}},
	Larder: {maybeBin, {Name: "item", Type: Ref, Required: true}, {Name: "found", Type: Word, Words: FoundWords},
		{Name: "used", Type: Number, Min: 0.01, Max: 100000}, {Name: "added", Type: Number, Min: 0.01, Max: 100000}},
	Look:   {binField},
	Note:   {maybeBin},
	Photo:  {maybeBin, {Name: "photo", Type: Digest, Required: true}, {Name: "of", Type: Ref}},
	Strike: {maybeBin, {Name: "struck", Type: Ref, Required: true}},
}

// FoundAWay reports whether the entry is an escape check that found a way out.
// What it says nothing about was not looked at.
func (e Entry) FoundAWay() bool { return e.What == Escape && e.WayOut() != "" }

// WayOut names what an escape check found, the widest way first; empty: none.
func (e Entry) WayOut() string {
	switch {
	case e.Lid != "" && e.Lid != LidWords[0]:
		return e.Lid
	case e.Mesh != "" && e.Mesh != MeshWords[0]:
		return e.Mesh
	case e.Rim != "" && e.Rim != RimWords[0]:
		return e.Rim
	}
	return ""
}

// Whats returns every What, sorted.
func Whats() []string {
	whats := make([]string, 0, len(entryFields))
	for what := range entryFields {
		whats = append(whats, what)
	}
	sort.Strings(whats)
	return whats
}

// EntryFields returns the rules for an entry that says what, the common
// fields first; nil for an unknown what.
func EntryFields(what string) []Field {
	return allEntryFields[what]
}

var allEntryFields = func() map[string][]Field {
	all := make(map[string][]Field, len(entryFields))
	for what, own := range entryFields {
		all[what] = slices.Concat(commonEntryFields, own)
	}
	return all
}()

var whatField = Field{Name: "what", Type: Word, Words: Whats(), Required: true}

// CheckEntry checks one entry as it came from outside against every rule and
// returns it typed. now bounds its time. Whether the bin, the struck entry
// and the feeding exist is for whoever holds the records to say.
func CheckEntry(raw []byte, now time.Time) (Entry, Problems) {
	given, isPlain := takeApart(raw)
	if !isPlain {
		var problem *Problem
		if given, problem = object(raw); problem != nil {
			return Entry{}, Problems{*problem}
		}
	}
	return CheckEntryFields(given, now)
}

// CheckEntryFields is CheckEntry for an object that has been taken apart.
func CheckEntryFields(given map[string]json.RawMessage, now time.Time) (Entry, Problems) {
	if p := whatField.check(given["what"], now); p != nil {
		return Entry{}, Problems{*p}
	}
	var what string
	_ = json.Unmarshal(given["what"], &what)
	problems := checkFields(given, EntryFields(what), []string{"what", "type"}, now, "leave it out of an entry that says "+strconv.Quote(what))
	if what == Climate && absent(given["temperature_c"]) && absent(given["humidity_pct"]) {
		problems = append(problems, Problem{Field: "temperature_c", Accepted: "give temperature_c, humidity_pct or both"})
	}
	if what == Escape && absent(given["rim"]) && absent(given["mesh"]) && absent(given["lid"]) {
		problems = append(problems, Problem{Field: "rim", Accepted: "give rim, mesh, lid or some of them"})
	}
	if what == Larder && absent(given["found"]) && absent(given["used"]) && absent(given["added"]) {
		problems = append(problems, Problem{Field: "found", Accepted: "give found, used or added"})
	}
	if what == Note && absent(given["note"]) {
		problems = append(problems, Problem{Field: "note", Accepted: "give 1 to 2000 characters"})
	}
	if len(problems) > 0 {
		return Entry{}, problems
	}
	entry, err := entryOf(given)
	if err != nil {
		return Entry{}, Problems{{Field: "entry", Value: err.Error(), Accepted: "give a JSON object"}}
	}
	return entry, nil
}

// entryPlaces says where in an Entry each field stands, by its name in JSON.
var entryPlaces = func() map[string]int {
	places := map[string]int{}
	for i, t := 0, reflect.TypeFor[Entry](); i < t.NumField(); i++ {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		places[name] = i
	}
	return places
}()

// entryOf types the fields of an entry. It is what json.Unmarshal does, without
// reading the whole object once more: most of the work on a book is this.
func entryOf(given map[string]json.RawMessage) (entry Entry, err error) {
	fields := reflect.ValueOf(&entry).Elem()
	for name, raw := range given {
		place, known := entryPlaces[name]
		if !known || string(raw) == "null" {
			continue
		}
		field := fields.Field(place)
		if field.Kind() == reflect.String {
			if s, simple := plainText(raw); simple {
				field.SetString(s)
				continue
			}
		}
		if err := json.Unmarshal(raw, field.Addr().Interface()); err != nil {
			return Entry{}, err
		}
	}
	return entry, nil
}

// checkFields checks given against the rules; names in known are let through
// unchecked and any other name that no rule covers is a problem.
func checkFields(given map[string]json.RawMessage, rules []Field, known []string, now time.Time, unknown string) Problems {
	var problems Problems
	for i := range rules {
		rule := &rules[i]
		if p := rule.check(given[rule.Name], now); p != nil {
			problems = append(problems, *p)
		}
	}
	var names []string
	for name := range given {
		if !slices.Contains(known, name) && !slices.ContainsFunc(rules, func(rule Field) bool { return rule.Name == name }) {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, name := range names {
		problems = append(problems, Problem{Field: shorten(name, 40), Value: shorten(string(given[name]), 60), Accepted: unknown})
	}
	return problems
}

func absent(raw json.RawMessage) bool {
	trimmed := bytes.TrimSpace(raw)
	return len(trimmed) == 0 || bytes.Equal(trimmed, []byte("null")) || strings.TrimSpace(string(trimmed)) == `""`
}

func object(raw []byte) (map[string]json.RawMessage, *Problem) {
	var given map[string]json.RawMessage
	if err := json.Unmarshal(raw, &given); err != nil || given == nil {
		return nil, &Problem{Field: "record", Value: shorten(strings.TrimSpace(string(raw)), 60), Accepted: "give one whole JSON object"}
	}
	return given, nil
}
