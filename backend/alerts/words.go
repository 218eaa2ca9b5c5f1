package alerts

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

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
	{husbandry.ChoreSetUp, "get ready"}, {husbandry.ChoreLeaves, "top up leaves in"}, {husbandry.ChoreRenew, "renew"}, {husbandry.ChoreEscape, "look for ways out of"}, {husbandry.ChoreLook, "look in on"},
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
