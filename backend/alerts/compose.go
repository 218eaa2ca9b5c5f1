package alerts

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// mostBytes is how long a message may be: some phones take no more than three
// times that, and short ones get through sooner.
const mostBytes = 1000

// Urgencies of RFC 8030, 5.3: high is for what is to be seen today and wakes
// a phone that dozes.
const (
	urgencyHigh   = "high"
	urgencyNormal = "normal"
)

// A message is one push for one device.
type message struct {
	payload []byte
	topic   string
	urgency string
	ttl     time.Duration
}

// notification is a message in the declarative form (Push API, "declarative
// push message"), which newer browsers show by themselves and the service
// worker reads elsewhere.
type notification struct {
	Title    string   `json:"title"`
	Body     string   `json:"body"`
	Navigate string   `json:"navigate"`
	Tag      string   `json:"tag"`
	Data     about    `json:"data"`
	Actions  []action `json:"actions,omitempty"`
}

// about tells the service worker what it cannot read off the address: enough
// to see from the device's own records that everything was settled since.
type about struct {
	Sort string `json:"sort"`
	At   int64  `json:"at"` // Unix seconds, as all instants here
	// Looks is how often each feeding of the address was looked at, as the
	// server knew; absent where none was.
	Looks []int `json:"looks,omitempty"`
	// Last is when each damp side of the address was last felt or watered.
	Last []int64 `json:"last,omitempty"`
	// More is how many the address had no room for.
	More int `json:"more,omitempty"`
}

type action struct {
	Action   string `json:"action"`
	Title    string `json:"title"`
	Navigate string `json:"navigate"`
}

// sortOfMany is what the data of a message calls one that tells of several
// sorts, and sortOfTest the one that somebody asked for.
const (
	sortOfMany = "several"
	sortOfTest = "test"
)

func (n notification) payload(badge int) ([]byte, error) {
	var payload bytes.Buffer
	encoder := json.NewEncoder(&payload)
	encoder.SetEscapeHTML(false) // it would make six bytes of an ampersand
	err := encoder.Encode(struct {
		WebPush      int          `json:"web_push"`
		Notification notification `json:"notification"`
		Badge        int          `json:"app_badge,omitempty"`
		// The worker is asked first: it may know that the bin was settled.
		Mutable bool `json:"mutable"`
	}{8030, n, badge, true})
	return bytes.TrimSpace(payload.Bytes()), err
}

// A line is one bin of a message.
type line struct {
	place, what string
}

func (l line) text(most int) string {
	return short(l.place, most) + ": " + short(l.what, most)
}

// compose words the message that tells deliveries of one phone.
func (a *Alerts) compose(now time.Time, zone *time.Location, p phone, together []store.Delivery) (message, error) {
	together, err := a.byPlace(together)
	if err != nil {
		return message{}, err
	}
	sorted := map[string][]store.Delivery{}
	until := now
	for _, d := range together {
		sorted[d.Sort] = append(sorted[d.Sort], d)
		until = later(until, d.Until.Time())
	}
	leftovers, dampness, digest := sorted[husbandry.AlertLeftovers], sorted[husbandry.AlertDampness], sorted[husbandry.AlertDigest]
	local := now.In(zone)
	var note notification
	var lines []line
	switch {
	case len(sorted) > 1:
		note.Data.Sort = sortOfMany
		note.Title, lines, err = a.wordSeveral(now, p, leftovers, dampness, digest, local)
	case len(leftovers) > 0:
		note.Data.Sort = husbandry.AlertLeftovers
		note.Title, lines, err = a.wordLeftovers(leftovers, local)
	case len(dampness) > 0:
		note.Data.Sort = husbandry.AlertDampness
		note.Title, lines, err = a.wordDampness(dampness, local)
	default:
		note.Data.Sort = husbandry.AlertDigest
		note.Title, note.Body, err = a.wordDigest(now, p)
	}
	if err != nil {
		return message{}, err
	}
	note.Data.At = now.Unix()
	note.Tag = note.Data.Sort + " " + together[0].Message[:12]
	note.Navigate, note.Actions = leads(leftovers, dampness)
	if err := a.know(&note.Data, leftovers, dampness); err != nil {
		return message{}, err
	}
	badge, err := a.open(now)
	if err != nil {
		return message{}, err
	}
	m := message{topic: topic(together[0].Message), ttl: until.Sub(now), urgency: urgencyHigh}
	if len(leftovers)+len(dampness) == 0 {
		m.urgency = urgencyNormal
	}
	m.payload, err = fit(note, lines, badge)
	return m, err
}

// fit shortens a message until it is short enough: first its lines, then how
// many there are.
func fit(note notification, lines []line, badge int) ([]byte, error) {
	for most := 60; most >= 12; most -= 8 {
		for shown := min(len(lines), 6); shown >= 1; shown-- {
			texts := make([]string, 0, shown+1)
			for _, l := range lines[:shown] {
				texts = append(texts, l.text(most))
			}
			if rest := len(lines) - shown; rest > 0 {
				texts = append(texts, fmt.Sprintf("and %d more", rest))
			}
			note.Body = strings.Join(texts, "\n")
			payload, err := note.payload(badge)
			if err != nil || len(payload) <= mostBytes {
				return payload, err
			}
			if most > 28 && shown <= 3 {
				break // three names in short rather than two at length
			}
		}
		if len(lines) == 0 {
			return note.payload(badge)
		}
	}
	return nil, errTooLong
}

// mostIDs is how many feedings, and how many damp sides, an address has room
// for; the screen that it leads to finds the others by itself.
const mostIDs = 5

// leads says where a tap leads, and the buttons of a message about a single
// feeding.
func leads(leftovers, dampness []store.Delivery) (navigate string, actions []action) {
	var query []string
	if feedings := ids(leftovers, func(d store.Delivery) string { return d.Of }); len(feedings) > 0 {
		query = append(query, "of="+strings.Join(feedings, ","))
	}
	if bins := ids(dampness, func(d store.Delivery) string { return d.Bin }); len(bins) > 0 {
		query = append(query, "damp="+strings.Join(bins, ","))
	}
	if len(query) == 0 {
		return "/#/", nil
	}
	navigate = "/#/alert?" + strings.Join(query, "&")
	if len(leftovers) != 1 || len(dampness) > 0 {
		return navigate, nil
	}
	navigate += "&in=" + leftovers[0].Bin
	return navigate, []action{
		{"all-gone", "All gone", navigate + "&did=all-gone"},
		{"took-out", "Took it out", navigate + "&did=took-out"},
	}
}

func ids(deliveries []store.Delivery, of func(store.Delivery) string) []string {
	found := make([]string, 0, mostIDs)
	for _, d := range deliveries[:min(len(deliveries), mostIDs)] {
		found = append(found, of(d))
	}
	return found
}

// know tells the worker how things stood when the message was made.
func (a *Alerts) know(data *about, leftovers, dampness []store.Delivery) error {
	data.More = max(0, len(leftovers)-mostIDs) + max(0, len(dampness)-mostIDs)
	looked := false
	for _, d := range leftovers[:min(len(leftovers), mostIDs)] {
		looks, _, err := a.store.Looks(d.Of)
		if err != nil {
			return err
		}
		looked = looked || looks > 0
		data.Looks = append(data.Looks, looks)
	}
	if !looked {
		data.Looks = nil
	}
	for _, d := range dampness[:min(len(dampness), mostIDs)] {
		_, at, err := a.store.LastDamp(d.Bin)
		if err != nil {
			return err
		}
		data.Last = append(data.Last, at.Unix())
	}
	return nil
}

// byPlace returns deliveries in the order in which their bins stand.
func (a *Alerts) byPlace(deliveries []store.Delivery) ([]store.Delivery, error) {
	bins := map[string]husbandry.Bin{}
	for _, d := range deliveries {
		bin, err := a.store.Bin(d.Bin)
		if err != nil && !errors.Is(err, store.ErrUnknown) {
			return nil, err
		}
		bins[d.Bin] = bin
	}
	sorted := slices.Clone(deliveries)
	slices.SortStableFunc(sorted, func(a, b store.Delivery) int {
		p, q := bins[a.Bin], bins[b.Bin]
		return cmp.Or(cmp.Compare(p.Rack, q.Rack), cmp.Compare(p.Shelf, q.Shelf), cmp.Compare(p.Position, q.Position),
			cmp.Compare(p.Name, q.Name), cmp.Compare(a.Due.String(), b.Due.String()))
	})
	return sorted, nil
}

// byBin makes a line of every bin, in the order of the deliveries.
func (a *Alerts) byBin(deliveries []store.Delivery, what func(store.Delivery) (string, error)) ([]line, error) {
	var lines []line
	at := map[string]int{}
	for _, d := range deliveries {
		text, err := what(d)
		if err != nil {
			return nil, err
		}
		if i, known := at[d.Bin]; known {
			lines[i].what += ", " + text
			continue
		}
		bin, err := a.store.Bin(d.Bin)
		if err != nil && !errors.Is(err, store.ErrUnknown) {
			return nil, err
		}
		at[d.Bin] = len(lines)
		lines = append(lines, line{strings.TrimSpace(bin.Place() + " " + bin.Name), text})
	}
	return lines, nil
}

// inBins ends a title: nothing for one bin, their number for several.
func inBins(title string, lines []line) string {
	if len(lines) == 1 {
		return title
	}
	return fmt.Sprintf("%s in %d bins", title, len(lines))
}

func (a *Alerts) wordLeftovers(deliveries []store.Delivery, now time.Time) (title string, lines []line, err error) {
	lines, err = a.byBin(deliveries, func(d store.Delivery) (string, error) {
		fed, err := a.store.EntryTime(d.Of)
		if len(deliveries) > 1 {
			return d.Food, err
		}
		return d.Food + " since " + since(fed, now), err
	})
	return inBins("Check leftover food", lines), lines, err
}

func (a *Alerts) wordDampness(deliveries []store.Delivery, now time.Time) (title string, lines []line, err error) {
	lines, err = a.byBin(deliveries, func(d store.Delivery) (string, error) {
		_, at, err := a.store.LastDamp(d.Bin)
		if len(deliveries) > 1 {
			return "untouched since " + since(at, now), err
		}
		return "may dry out soon, nobody felt or watered it since " + since(at, now), err
	})
	return inBins("Dampness at risk", lines), lines, err
}

// roundWords name what a round does, in the order in which it is told.
var roundWords = []struct{ chore, word string }{
	{husbandry.ChoreLeftovers, "check leftovers in"}, {husbandry.ChoreFeel, "feel"}, {husbandry.ChoreFeed, "feed"},
	{husbandry.ChoreSetUp, "get ready"}, {husbandry.ChoreLeaves, "top up leaves in"}, {husbandry.ChoreRenew, "renew"}, {husbandry.ChoreLook, "look in on"},
}

func (a *Alerts) wordDigest(now time.Time, p phone) (title, body string, err error) {
	wanted, err := a.wanted(p, now)
	if err != nil {
		return "", "", err
	}
	var parts []string
	for _, round := range roundWords {
		count := bins(slices.DeleteFunc(slices.Clone(wanted), func(c husbandry.Chore) bool { return c.Chore != round.chore }))
		if count > 0 {
			parts = append(parts, fmt.Sprintf("%s %d", round.word, count))
		}
	}
	body = strings.Join(parts, ", ") + "."
	body = strings.ToUpper(body[:1]) + body[1:]
	if n := bins(wanted); n != 1 {
		return fmt.Sprintf("%d bins want something on this round", n), body, nil
	}
	bin, err := a.store.Bin(wanted[0].Bin)
	if err != nil && !errors.Is(err, store.ErrUnknown) {
		return "", "", err
	}
	return "One bin wants something on this round", short(bin.Place()+" "+bin.Name, 80) + ". " + body, nil
}

// wordSeveral is for after the server was down: everything in one message.
func (a *Alerts) wordSeveral(now time.Time, p phone, leftovers, dampness, digest []store.Delivery, local time.Time) (title string, lines []line, err error) {
	seen := map[string]bool{}
	for _, d := range slices.Concat(leftovers, dampness) {
		seen[d.Bin] = true
	}
	_, food, err := a.wordLeftovers(leftovers, local)
	if err != nil {
		return "", nil, err
	}
	for i := range food {
		food[i].what = "leftover " + food[i].what
	}
	_, damp, err := a.wordDampness(dampness, local)
	if err != nil {
		return "", nil, err
	}
	for i := range damp {
		damp[i].what = "dampness at risk"
	}
	lines = slices.Concat(food, damp)
	if len(digest) > 0 {
		wanted, err := a.wanted(p, now)
		if err != nil {
			return "", nil, err
		}
		for _, chore := range wanted {
			seen[chore.Bin] = true
		}
		_, body, err := a.wordDigest(now, p)
		if err != nil {
			return "", nil, err
		}
		lines = append(lines, line{"The round", strings.ToLower(body[:1]) + body[1:]})
	}
	title = "One bin wants a look"
	if len(seen) != 1 {
		title = fmt.Sprintf("%d bins want a look", len(seen))
	}
	return title, lines, nil
}

// open counts the bins that want something now or on the next round, for the
// number on the app's sign.
func (a *Alerts) open(now time.Time) (int, error) {
	chores, err := a.store.Chores()
	until := now.Add(reach)
	return bins(slices.DeleteFunc(chores, func(c husbandry.Chore) bool {
		return c.Opens.After(until) || c.Due.After(until)
	})), err
}

// since names a past time as a person at now would.
func since(then, now time.Time) string {
	then = then.In(now.Location())
	day := func(t time.Time) time.Time {
		year, month, day := t.Date()
		return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	}
	clock := then.Format("15:04")
	switch days := int(day(now).Sub(day(then)).Hours() / 24); {
	case days <= 0:
		return clock
	case days == 1:
		return "yesterday " + clock
	case days < 7:
		return then.Format("Monday ") + clock
	default:
		return then.Format("2 January")
	}
}

func short(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

// topic is what a newer message of the same matter replaces, where the older
// still waits at the push service: 32 characters of base64url, which is the
// longest that RFC 8030 allows and the only length that all services take.
func topic(matter string) string {
	sum := sha256.Sum256([]byte(matter))
	return base64.RawURLEncoding.EncodeToString(sum[:24])
}
