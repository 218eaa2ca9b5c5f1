package husbandry

import (
	"encoding/json"
	"slices"
	"strings"
	"time"
)

// Sorts of alert.
const (
	AlertWrong     = "wrong"     // a sitter says that something is wrong
	AlertLeftovers = "leftovers" // the look at leftovers is due
	AlertDampness  = "dampness"  // the depth of a damp side is about to be dry
	AlertDigest    = "digest"    // everything else that the coming round wants
)

// AlertSorts is every sort of alert.
var AlertSorts = []string{AlertWrong, AlertLeftovers, AlertDampness, AlertDigest}

// How an alert is told to a device.
const (
	AlertAlone    = "alone"  // by an alert of its own
	AlertInDigest = "digest" // within the digest
	AlertOff      = "off"    // not at all
	AlertOn       = "on"     // the digest itself, and what a sitter finds wrong
)

// WeekdayWords are the days of the week as settings spell them, from Sunday
// as time.Weekday counts.
var WeekdayWords = []string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// AlertSettings say what one device is told, and when. They are of the
// device, not of the room: a phone by the bed and a tablet in the cellar
// differ.
type AlertSettings struct {
	Wrong      string `json:"wrong"`       // on or off; nothing else holds it back
	Leftovers  string `json:"leftovers"`   // alone, digest or off
	Dampness   string `json:"dampness"`    // alone, digest or off
	Digest     string `json:"digest"`      // on or off
	QuietFrom  string `json:"quiet_from"`  // from then on nothing rings
	QuietTo    string `json:"quiet_to"`    // until then; the same as QuietFrom is no quiet at all
	DigestAt   string `json:"digest_at"`   // empty: before the usual round, as learned from the entries
	DigestDays string `json:"digest_days"` // empty: on the days of the usual round
	WeeklyCap  int    `json:"weekly_cap"`  // messages in seven days, at most
}

// UsualAlerts are the settings of a new device. Judgement.
func UsualAlerts() AlertSettings {
	return AlertSettings{Wrong: AlertOn, Leftovers: AlertAlone, Dampness: AlertAlone, Digest: AlertOn,
		QuietFrom: "22:00", QuietTo: "08:00", WeeklyCap: 14}
}

// AlertFields are the rules of AlertSettings.
func AlertFields() []Field {
	levels := []string{AlertAlone, AlertInDigest, AlertOff}
	return []Field{
		{Name: "wrong", Type: Word, Words: []string{AlertOn, AlertOff}},
		{Name: "leftovers", Type: Word, Words: levels},
		{Name: "dampness", Type: Word, Words: levels},
		{Name: "digest", Type: Word, Words: []string{AlertOn, AlertOff}},
		{Name: "quiet_from", Type: Clock, Required: true},
		{Name: "quiet_to", Type: Clock, Required: true},
		{Name: "digest_at", Type: Clock},
		{Name: "digest_days", Type: Week},
		{Name: "weekly_cap", Type: Whole, Min: 1, Max: 70, Unit: "alerts"},
	}
}

// CheckAlertSettings checks a change of settings, which names only what it
// changes, and returns the settings with it.
func CheckAlertSettings(before AlertSettings, raw []byte, now time.Time) (AlertSettings, Problems) {
	given, problem := object(raw)
	if problem != nil {
		return before, Problems{*problem}
	}
	var asked []Field
	for _, rule := range AlertFields() {
		if _, is := given[rule.Name]; is {
			asked = append(asked, rule)
		}
	}
	if problems := checkFields(given, asked, nil, now, "leave it out: alerts have no such setting"); len(problems) > 0 {
		return before, problems
	}
	after := before
	if err := json.Unmarshal(raw, &after); err != nil {
		return before, Problems{{Field: "settings", Value: err.Error(), Accepted: "give a JSON object"}}
	}
	return after, nil
}

// ClockMinute reads a time of the wall clock such as 22:00 as minutes after
// midnight.
func ClockMinute(text string) (minute int, ok bool) {
	t, err := time.Parse("15:04", text)
	if err != nil || len(text) != 5 {
		return 0, false
	}
	return t.Hour()*60 + t.Minute(), true
}

// Weekdays reads days of the week such as "tue thu sun"; none is allowed.
func Weekdays(text string) (days [7]bool, ok bool) {
	for _, word := range strings.Fields(text) {
		day := slices.Index(WeekdayWords, word)
		if day < 0 {
			return days, false
		}
		days[day] = true
	}
	return days, true
}
