package alerts

import (
	"fmt"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// ignoredInARow is how many alerts of a sort, one after the other, must have
// been followed by nothing before the app offers to turn it down. Judgement.
const ignoredInARow = 5

// followed is how long after an alert what it asked for counts as its
// consequence. Judgement.
const followed = 24 * time.Hour

// An offer is to turn a sort of alert down that is ignored again and again.
type offer struct {
	Sort    string `json:"sort"`
	Ignored int    `json:"ignored"`
}

// offers returns which sorts of alert a device's person seems not to want.
func (a *Alerts) offers(device store.Device, now time.Time) ([]offer, error) {
	sent, err := a.store.DeliveriesSent(device.ID, now.Add(-habitsFor))
	if err != nil {
		return nil, err
	}
	keptAt := device.KeptAt()
	offers := []offer{}
	p := phone{Device: device, settings: device.Settings()}
	for _, sort := range husbandry.AlertSorts {
		if sort == husbandry.AlertWrong { // whether it is acted on shows in no entry
			continue
		}
		if level := p.level(sort); level != husbandry.AlertAlone && level != husbandry.AlertOn {
			continue
		}
		ignored, err := a.ignored(sent, sort, now, keptAt[sort])
		if err != nil {
			return nil, err
		}
		if ignored >= ignoredInARow {
			offers = append(offers, offer{sort, ignored})
		}
	}
	return offers, nil
}

// ignored counts the messages of a sort, from the last one on backwards, that
// nothing followed: those sent after an instant, and long enough ago. sent is
// in the order of DeliveriesSent.
func (a *Alerts) ignored(sent []store.Delivery, sort string, now, after time.Time) (count int, err error) {
	for len(sent) > 0 {
		first, acted := sent[0], false
		counts := first.Sort == sort && now.Sub(first.SentAt.Time()) >= followed
		if !first.SentAt.Time().After(after) {
			break
		}
		for len(sent) > 0 && sent[0].Message == first.Message {
			if counts && !acted {
				if acted, err = a.hasFollowed(sent[0]); err != nil {
					return 0, err
				}
			}
			sent = sent[1:]
		}
		if acted {
			break
		}
		if counts {
			count++
		}
	}
	return count, nil
}

// hasFollowed reports whether somebody did what a delivery asked for.
func (a *Alerts) hasFollowed(d store.Delivery) (bool, error) {
	from, to := d.SentAt.Time(), d.SentAt.Time().Add(followed)
	switch d.Sort {
	case husbandry.AlertLeftovers:
		return a.store.HasEntry(d.Bin, d.Of, []any{husbandry.Leftovers}, from, to)
	case husbandry.AlertDampness:
		return a.store.HasEntry(d.Bin, "", []any{husbandry.Feel, husbandry.Water, husbandry.Renew}, from, to)
	default:
		return a.store.HasEntry("", "", nil, from, to)
	}
}

// Snoozes that a person may ask for.
const (
	tonight  = "tonight"
	tomorrow = "tomorrow"
)

// Judgement.
const (
	tomorrowMinute = 9 * 60    // a snooze until tomorrow ends at 9:00
	leastSnooze    = time.Hour // a snooze until tonight lasts at least so long
)

// snoozeEnd returns when a snooze ends that is asked for at now: tonight is
// when the round usually begins, or an hour from now, and tomorrow where that
// would be in the night.
func (a *Alerts) snoozeEnd(p phone, until string, zone *time.Location, now time.Time) (time.Time, error) {
	year, month, day := now.In(zone).Date()
	morning := p.quiet.After(civil(year, month, day+1, tomorrowMinute, zone), zone)
	switch until {
	case tomorrow:
		return morning, nil
	case tonight:
		usual, err := a.habitOf(p.Person, zone, now)
		if err != nil {
			return now, err
		}
		evening := later(civil(year, month, day, usual.Minute, zone), now.Add(leastSnooze))
		if p.quiet.Holds(evening, zone) {
			evening = p.quiet.Before(evening, zone)
		}
		if evening.Before(now.Add(leastSnooze / 2)) {
			return morning, nil
		}
		return evening, nil
	}
	return now, fmt.Errorf("until is %s: give tonight or tomorrow", quoted(until))
}

// tellAgain plans that feedings and damp sides are told to a phone once more
// at an instant, as far as they stand.
func (a *Alerts) tellAgain(p phone, feedings, damp []string, at, now time.Time) error {
	var planned []store.Delivery
	again := func(sort, instance, bin, of, food string) {
		planned = append(planned, store.Delivery{
			Chore: instance + " again " + at.UTC().Format("2006-01-02T15:04Z"), Instance: instance, Sort: sort,
			Device: p.ID, Bin: bin, Of: of, Food: food,
			Due: store.Date(now), Until: store.Date(at.Add(grace)), NextAt: store.Date(at),
		})
	}
	for _, feeding := range feedings {
		entry, err := a.store.Entry(feeding)
		if err != nil {
			return err
		}
		looks, _, err := a.store.Looks(feeding)
		if err != nil {
			return err
		}
		if entry.What == husbandry.Feed {
			again(husbandry.AlertLeftovers, leftoversInstance(feeding, looks), entry.Bin, feeding, entry.Food)
		}
	}
	for _, bin := range damp {
		last, _, err := a.store.LastDamp(bin)
		if err != nil {
			return err
		}
		again(husbandry.AlertDampness, dampnessInstance(bin, last), bin, "", "")
	}
	return a.store.AddDeliveries(planned)
}
