package alerts

import (
	"slices"
	"strings"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

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
	wrong := sorted[husbandry.AlertWrong]
	switch {
	case len(wrong) > 0: // nothing else goes with it
		note.Data.Sort = husbandry.AlertWrong
		note.Title, lines, err = a.wordWrong(wrong)
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
	if len(wrong) > 0 {
		note.Navigate = leadsToReports(wrong)
	}
	if err := a.know(&note.Data, leftovers, dampness); err != nil {
		return message{}, err
	}
	badge, err := a.open(now)
	if err != nil {
		return message{}, err
	}
	m := message{topic: topic(together[0].Message), ttl: until.Sub(now), urgency: urgencyHigh}
	if len(wrong)+len(leftovers)+len(dampness) == 0 {
		m.urgency = urgencyNormal
	}
	m.payload, err = fit(note, lines, badge)
	return m, err
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

// open counts the bins that want something now or on the next round, for the
// number on the app's sign.
func (a *Alerts) open(now time.Time) (int, error) {
	chores, err := a.store.Chores()
	until := now.Add(reach)
	return bins(slices.DeleteFunc(chores, func(c husbandry.Chore) bool {
		return c.Opens.After(until) || c.Due.After(until)
	})), err
}
