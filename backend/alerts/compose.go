package alerts

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"time"
	"unicode/utf8"

	"underlog/backend/store"
)

// A message is one push for one device.
type message struct {
	payload []byte
	topic   string
	ttl     time.Duration
}

// notification is a message in the declarative form, which newer browsers
// show by themselves and the service worker reads elsewhere.
type notification struct {
	Title    string            `json:"title"`
	Body     string            `json:"body"`
	Navigate string            `json:"navigate"`
	Tag      string            `json:"tag"`
	Data     map[string]string `json:"data,omitempty"`
	Actions  []action          `json:"actions,omitempty"`
}

type action struct {
	Action string `json:"action"`
	Title  string `json:"title"`
}

func (n notification) payload() ([]byte, error) {
	return json.Marshal(struct {
		WebPush      int          `json:"web_push"`
		Notification notification `json:"notification"`
	}{8030, n})
}

// compose words the message that carries deliveries of one device; there is
// one of them, as long as inMessages says so.
func (a *Alerts) compose(now time.Time, deliveries []store.Delivery) (message, error) {
	zone, err := a.store.Zone()
	if err != nil {
		return message{}, err
	}
	d := deliveries[0]
	note, err := a.leftovers(d, now.In(zone))
	if err != nil {
		return message{}, err
	}
	payload, err := note.payload()
	return message{payload: payload, topic: topic(d.Chore), ttl: d.Until.Time().Sub(now)}, err
}

// leftovers words the alert of a look that is due.
func (a *Alerts) leftovers(d store.Delivery, now time.Time) (notification, error) {
	bin, err := a.store.Bin(d.Bin)
	if err != nil && !errors.Is(err, store.ErrUnknown) {
		return notification{}, err
	}
	fed, err := a.store.EntryTime(d.Of)
	if err != nil {
		return notification{}, err
	}
	food := short(d.Food, 40)
	return notification{
		Title:    "Check leftover food",
		Body:     fmt.Sprintf("%s %s: %s since %s", bin.Place(), short(bin.Name, 60), food, since(fed, now)),
		Navigate: "/#/stop/" + d.Bin + "?of=" + d.Of,
		Tag:      "leftovers-" + d.Of,
		Data:     map[string]string{"chore": "leftovers", "bin": d.Bin, "of": d.Of, "food": food},
		Actions:  []action{{"all-gone", "All gone"}, {"open", "Open"}},
	}, nil
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
