package alerts_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"underlog/backend/pushtest"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// A shown message as the tests look at it.
type shown struct {
	WebPush      int `json:"web_push"`
	Notification struct {
		Title, Body, Navigate, Tag string
		Data                       struct {
			Sort  string
			At    int64
			Looks []int
			Last  []int64
			More  int
		}
		Actions []map[string]string
	}
	Badge   int `json:"app_badge"`
	Mutable bool
}

func mustRead(tb testing.TB, m pushtest.Message) shown {
	tb.Helper()
	var s shown
	if err := json.Unmarshal(m.Payload, &s); err != nil {
		tb.Fatal(err)
	}
	return s
}

// arrivals are when messages came, and what they said.
type arrival struct {
	at time.Time
	shown
	pushtest.Message
}

// watch lets time pass in steps and returns what came meanwhile and when.
func watch(p *trial.Phone, total, step time.Duration) []arrival {
	p.Helper()
	var all []arrival
	have := len(p.Push.Messages())
	for left := total; left > 0; left -= step {
		p.MustAdvance(min(step, left))
		messages := p.Push.Messages()
		for _, m := range messages[have:] {
			all = append(all, arrival{p.Clock.Now(), mustRead(p.TB, m), m})
		}
		have = len(messages)
	}
	return all
}

// watchFinely is watch in steps between two times of the household's day, and
// otherwise in one: a tick costs a real survey.
func watchFinely(p *trial.Phone, total, step, from, to time.Duration, zone string) []arrival {
	p.Helper()
	var all []arrival
	for left := total; left > 0; {
		local := p.Clock.Now().In(zoneOf(zone))
		passed := time.Duration(local.Hour())*time.Hour + time.Duration(local.Minute())*time.Minute
		pause := step
		switch {
		case passed < from:
			pause = from - passed
		case passed >= to:
			pause = 24*time.Hour - passed
		}
		pause = min(pause, left)
		all = append(all, watch(p, pause, pause)...)
		left -= pause
	}
	return all
}

func sorts(all []arrival) string {
	var words []string
	for _, one := range all {
		words = append(words, one.Notification.Data.Sort)
	}
	return strings.Join(words, " ")
}

// room starts a household with alerts and bins, of which nothing is logged.
func room(t *testing.T, at time.Time, zone string, many int, settings map[string]any) (*trial.Phone, []husbandry.Sheet) {
	t.Helper()
	phone := trial.MustStart(t, at).MustSetUp(zone)
	phone.MustAllowAlerts()
	if settings != nil {
		phone.MustSetAlerts(settings)
	}
	var bins []husbandry.Sheet
	for i := range many {
		bins = append(bins, phone.Bin(fmt.Sprintf("Bin %d", i+1)))
	}
	phone.MustStore(bins)
	return phone, bins
}

var noDigest = map[string]any{"digest": "off"}

func zoneOf(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		panic(err) // a slip in this file
	}
	return zone
}

func clock(one arrival, zone string) string { return one.at.In(zoneOf(zone)).Format("Mon 15:04") }
