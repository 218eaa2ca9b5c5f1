package alerts

import (
	"fmt"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// grace is how long after quiet hours an alert is still of use whose window
// closed in them. Judgement.
const grace = 4 * time.Hour

// plan writes down a delivery for every device and every chore that is due
// for it by now, and returns which instances of chores stand.
func (a *Alerts) plan(now time.Time) (standing map[string]bool, err error) {
	chores, err := a.store.Chores()
	if err != nil {
		return nil, err
	}
	devices, err := a.store.Subscribed()
	if err != nil {
		return nil, err
	}
	zone, err := a.store.Zone()
	if err != nil {
		return nil, err
	}
	standing = map[string]bool{}
	var planned []store.Delivery
	for _, chore := range chores {
		if chore.Chore != husbandry.ChoreLeftovers {
			continue
		}
		instance, err := a.instance(chore.Chore, chore.Of)
		if err != nil {
			return nil, err
		}
		standing[instance] = true
		if chore.Due.After(now) {
			continue
		}
		for _, device := range devices {
			if delivery, due := planFor(device, chore, zone, now); due {
				delivery.Chore = instance
				planned = append(planned, delivery)
			}
		}
	}
	return standing, a.store.AddDeliveries(planned)
}

// instance names one standing of a chore: a feeding that was looked at and
// left in stands anew.
func (a *Alerts) instance(chore, feeding string) (string, error) {
	looks, err := a.store.Looks(feeding)
	return fmt.Sprintf("%s %s %d", chore, feeding, looks), err
}

// stands reports whether nobody has looked at a delivery's feeding, or struck
// it, since the delivery was planned. It asks the records themselves, at the
// last moment: the chores may be a survey behind.
func (a *Alerts) stands(d store.Delivery) (bool, error) {
	struck, err := a.store.IsStruck(d.Of)
	if err != nil || struck {
		return false, err
	}
	instance, err := a.instance(husbandry.ChoreLeftovers, d.Of)
	return instance == d.Chore, err
}

// planFor decides whether a chore is to be told to a device by now.
func planFor(device store.Device, chore husbandry.Chore, zone *time.Location, now time.Time) (store.Delivery, bool) {
	// What was due before the device took alerts is old news to its person,
	// who has just had the app open.
	if chore.Due.Before(device.SubscribedAt.Time()) {
		return store.Delivery{}, false
	}
	quiet, err := ParseQuiet(device.QuietFrom, device.QuietTo)
	if err != nil {
		quiet = UsualQuiet
	}
	at := quiet.After(chore.Due, zone)
	until := chore.Closes
	if at.After(chore.Due) && until.Before(at.Add(grace)) {
		until = at.Add(grace)
	}
	if at.After(now) || !until.After(now) {
		return store.Delivery{}, false
	}
	// After a time of standing still the instant may lie far back, and now
	// be quiet.
	at = quiet.After(now, zone)
	if until.Before(at) {
		until = at.Add(grace)
	}
	return store.Delivery{
		Device: device.ID, Bin: chore.Bin, Of: chore.Of, Food: chore.Food,
		Due: store.Date(chore.Due), Until: store.Date(until), NextAt: store.Date(at),
	}, true
}
