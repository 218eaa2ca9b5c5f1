package alerts

import (
	"slices"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// gather is how far ahead an alert looks for others of its sort, so that bins
// that were fed on one round make one alert and not one a minute. Judgement.
const gather = 90 * time.Minute

// A phone is a device that takes alerts, with what it wants to be told.
type phone struct {
	store.Device
	settings husbandry.AlertSettings
	quiet    Quiet
	owner    bool // it is in an owner's hands
}

// phones returns the devices that take alerts.
func (a *Alerts) phones() ([]phone, error) {
	devices, err := a.store.Subscribed()
	if err != nil {
		return nil, err
	}
	people, err := a.store.People()
	if err != nil {
		return nil, err
	}
	phones := make([]phone, len(devices))
	for i, device := range devices {
		settings := device.Settings()
		owner := slices.ContainsFunc(people, func(one store.Person) bool { return one.ID == device.Person && one.Role == store.Owner })
		phones[i] = phone{device, settings, quietOf(settings), owner}
	}
	return phones, nil
}

// level returns how a sort of alert is told to a phone.
func (p phone) level(sort string) string {
	switch sort {
	case husbandry.AlertWrong:
		return p.settings.Wrong
	case husbandry.AlertLeftovers:
		return p.settings.Leftovers
	case husbandry.AlertDampness:
		return p.settings.Dampness
	default:
		return p.settings.Digest
	}
}

// free returns the first instant from t on at which a phone may ring.
func (p phone) free(t time.Time, zone *time.Location) time.Time {
	return p.quiet.After(later(t, p.SnoozedUntil.Time()), zone)
}

// plan writes down a delivery for every phone of everything that is to be
// told to it by now, or soon after.
func (a *Alerts) plan(now time.Time, zone *time.Location, phones []phone) error {
	if len(phones) == 0 {
		return nil
	}
	matters, err := a.inStep(now.Add(gather))
	if err != nil {
		return err
	}
	reports, err := a.reports(now)
	if err != nil {
		return err
	}
	var planned []store.Delivery
	for _, phone := range phones {
		for _, report := range reports {
			if delivery, is := planReport(phone, report, now); is {
				planned = append(planned, delivery)
			}
		}
		for _, m := range matters {
			delivery, is := planFor(phone, m, zone, now)
			if !is {
				continue
			}
			planned = append(planned, delivery)
		}
		digests, err := a.planDigest(phone, zone, now)
		if err != nil {
			return err
		}
		planned = append(planned, digests...)
	}
	planned, err = a.unknown(planned)
	if err != nil {
		return err
	}
	return a.store.AddDeliveries(planned)
}

// unknown returns the deliveries that were not written down before.
func (a *Alerts) unknown(planned []store.Delivery) (fresh []store.Delivery, err error) {
	for _, delivery := range planned {
		known, err := a.store.HasDelivery(delivery.Chore, delivery.Device)
		if err != nil {
			return nil, err
		}
		if !known {
			fresh = append(fresh, delivery)
		}
	}
	return fresh, nil
}

// planFor decides whether a matter is to be told to a phone, and when.
func planFor(p phone, m matter, zone *time.Location, now time.Time) (store.Delivery, bool) {
	// What was due before the device took alerts is old news to its person,
	// who has just had the app open.
	if p.level(m.sort) != husbandry.AlertAlone || m.at.Before(p.SubscribedAt.Time()) {
		return store.Delivery{}, false
	}
	at := p.free(m.at, zone)
	until := m.until
	if at.After(m.at) {
		until = later(until, at.Add(grace))
	}
	if !until.After(now) {
		return store.Delivery{}, false
	}
	return store.Delivery{
		Chore: m.instance, Instance: m.instance, Sort: m.sort, Device: p.ID, Bin: m.bin, Of: m.of, Food: m.food,
		Due: store.Date(m.at), Until: store.Date(until), NextAt: store.Date(at),
	}, true
}
