package alerts

import (
	"errors"
	"net/http"
	"slices"
	"sync"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// atOnce bounds how many messages are on their way at a time.
const atOnce = 4

// overdue is how late a delivery must be to show that the server was down or
// asleep: what waited is then told in one message. Judgement.
const overdue = 15 * time.Minute

const week = 7 * 24 * time.Hour

// deliver sends what is due, one phone's messages one after another.
func (a *Alerts) deliver(now time.Time, zone *time.Location, phones []phone) error {
	due, err := a.store.DueDeliveries(now.Add(gather))
	if err != nil || len(due) == 0 {
		return err
	}
	takes := map[string]phone{}
	for _, phone := range phones {
		takes[phone.ID] = phone
	}
	queues := map[string][]store.Delivery{}
	var gone []store.Delivery
	for _, delivery := range due {
		switch _, is := takes[delivery.Device]; {
		case is:
			queues[delivery.Device] = append(queues[delivery.Device], delivery)
		case !delivery.Until.Time().After(now):
			delivery.State = store.Gone
			gone = append(gone, delivery)
		default: // its browser may be about to subscribe anew
		}
	}
	if err := a.store.WriteDeliveries(gone...); err != nil {
		return err
	}
	slots := make(chan struct{}, atOnce)
	var waiting sync.WaitGroup
	var mu sync.Mutex
	var failures error
	for id, queue := range queues {
		if queue[0].NextAt.Time().After(now) {
			continue // nothing yet, only soon
		}
		slots <- struct{}{}
		waiting.Go(func() {
			defer func() { <-slots }()
			err := a.deliverTo(now, zone, takes[id], queue)
			mu.Lock()
			failures = errors.Join(failures, err)
			mu.Unlock()
		})
	}
	waiting.Wait()
	return failures
}

// deliverTo sends one phone's messages and writes down what became of each.
func (a *Alerts) deliverTo(now time.Time, zone *time.Location, p phone, queue []store.Delivery) error {
	queue, err := a.sift(now, zone, p, queue)
	if err != nil {
		return err
	}
	for _, together := range inMessages(queue, now) {
		if a.context.Err() != nil {
			return nil // closing: they stay waiting
		}
		over, err := a.deliverMessage(now, zone, p, together)
		if err != nil || over {
			return err
		}
	}
	return nil
}

// sift returns the deliveries that may be sent now, and writes down what
// becomes of the others.
func (a *Alerts) sift(now time.Time, zone *time.Location, p phone, queue []store.Delivery) (fit []store.Delivery, err error) {
	var put []store.Delivery
	free := p.free(now, zone)
	for _, d := range queue {
		soon := d.NextAt.Time().After(now)
		switch {
		case !soon && !d.Until.Time().After(now):
			d.State = store.Late
		case !soon && free.After(now) && d.Sort != husbandry.AlertWrong:
			// It is quiet, though it was not to be: the machine slept, or the
			// hours or the zone were changed.
			d.NextAt = store.Date(free)
			if d.Sort != husbandry.AlertDigest {
				d.Until = store.Date(later(d.Until.Time(), free.Add(grace)))
			} else if !d.Until.Time().After(free) {
				d.State = store.Late
			}
		case p.level(d.Sort) == husbandry.AlertOff || p.level(d.Sort) == husbandry.AlertInDigest:
			d.State = store.Settled // turned down since
		default:
			fit = append(fit, d)
			continue
		}
		put = append(put, d)
	}
	return fit, a.store.WriteDeliveries(put...)
}

// inMessages says which deliveries of one phone go together: those of one
// sort, with what of it is due soon; everything, where the server was down.
// What went together before, and was not taken, stays together.
func inMessages(queue []store.Delivery, now time.Time) [][]store.Delivery {
	asleep := slices.ContainsFunc(queue, func(d store.Delivery) bool {
		return d.Attempts == 0 && now.Sub(d.NextAt.Time()) > overdue
	})
	var messages [][]store.Delivery
	of := map[string]int{} // by message, and by what else may join it
	begin := func(d store.Delivery, keys ...string) {
		for _, key := range keys {
			if _, known := of[key]; !known {
				of[key] = len(messages)
			}
		}
		messages = append(messages, []store.Delivery{d})
	}
	join := func(d store.Delivery, key string) bool {
		i, known := of[key]
		if known {
			messages[i] = append(messages[i], d)
		}
		return known
	}
	sort := func(d store.Delivery) string {
		if asleep && d.Sort != husbandry.AlertWrong {
			return "everything"
		}
		return "all " + d.Sort
	}
	soon := func(d store.Delivery) bool { return d.NextAt.Time().After(now) }
	for _, d := range queue {
		if !soon(d) && d.Message != "" && !join(d, d.Message) {
			begin(d, d.Message, sort(d))
		}
	}
	for _, d := range queue {
		if !soon(d) && d.Message == "" && !join(d, sort(d)) {
			begin(d, sort(d))
		}
	}
	for _, d := range queue {
		if soon(d) && d.Attempts == 0 {
			join(d, sort(d))
		}
	}
	slices.SortStableFunc(messages, func(a, b []store.Delivery) int {
		return slices.Index(husbandry.AlertSorts, a[0].Sort) - slices.Index(husbandry.AlertSorts, b[0].Sort)
	})
	return messages
}

// deliverMessage sends deliveries of one phone in one message; over says that
// the phone takes no more for now.
func (a *Alerts) deliverMessage(now time.Time, zone *time.Location, p phone, together []store.Delivery) (over bool, err error) {
	standing, err := a.standing(now, p, together)
	if err != nil || len(standing) == 0 {
		return false, err
	}
	if standing, err = a.ration(now, p, standing); err != nil || len(standing) == 0 {
		return false, err
	}
	// Written before it is sent: whatever happens now, a second attempt has the
	// same topic and tag, and takes the first one's place.
	if err := a.claim(standing); err != nil {
		return false, err
	}
	message, err := a.compose(now, zone, p, standing)
	if err != nil {
		return false, err
	}
	answer := a.sender.send(a.context, p.Device, message)
	if a.context.Err() != nil && answer.status == 0 {
		return true, nil
	}
	return answer.gone(), a.note(now, p.Device, standing, answer)
}

// standing returns the deliveries that still stand, and writes down those
// that do not.
func (a *Alerts) standing(now time.Time, p phone, together []store.Delivery) (standing []store.Delivery, err error) {
	for _, d := range together {
		stands := false
		if d.Sort == husbandry.AlertDigest {
			wanted, err := a.wanted(p, now)
			if err != nil {
				return nil, err
			}
			stands = len(wanted) > 0
		} else if stands, err = a.stands(d); err != nil {
			return nil, err
		}
		if stands {
			standing = append(standing, d)
			continue
		}
		d.State = store.Settled
		if err := a.store.WriteDeliveries(d); err != nil {
			return nil, err
		}
	}
	return standing, nil
}

// claim writes into deliveries the name of the message that they go in: that
// of an earlier attempt, where there was one.
func (a *Alerts) claim(together []store.Delivery) error {
	message := store.NewID()
	for _, d := range together {
		if d.Message != "" {
			message = d.Message
			break
		}
	}
	var changed []store.Delivery
	for i := range together {
		if together[i].Message != message {
			together[i].Message = message
			changed = append(changed, together[i])
		}
	}
	return a.store.WriteDeliveries(changed...)
}

// ration returns the deliveries that a phone's share of the week has room
// for: all of a message or none. What a sitter finds wrong is not counted. The
// digest leaves a third of the share to what has alerts of its own. What must wait until it would be late is held for good.
func (a *Alerts) ration(now time.Time, p phone, together []store.Delivery) ([]store.Delivery, error) {
	if together[0].Sort == husbandry.AlertWrong {
		return together, nil
	}
	most := p.settings.WeeklyCap
	if !slices.ContainsFunc(together, func(d store.Delivery) bool { return d.Sort != husbandry.AlertDigest }) {
		most = max(1, most*2/3)
	}
	sent, err := a.messagesSent(p.Device, now.Add(-week))
	if err != nil || len(sent) < most {
		return together, err
	}
	room := sent[most-1].Add(week) // when the last that is too many drops out of the week
	for i := range together {
		together[i].NextAt = store.Date(room)
		if !together[i].Until.Time().After(room) {
			together[i].State = store.Held
		}
	}
	return nil, a.store.WriteDeliveries(together...)
}

// messagesSent returns when a device's messages since an instant were taken,
// last first, without what a sitter found wrong.
func (a *Alerts) messagesSent(device store.Device, since time.Time) ([]time.Time, error) {
	deliveries, err := a.store.DeliveriesSent(device.ID, since)
	if err != nil {
		return nil, err
	}
	var times []time.Time
	seen := map[string]bool{}
	for _, d := range deliveries {
		if !seen[d.Message] && d.Sort != husbandry.AlertWrong {
			seen[d.Message] = true
			times = append(times, d.SentAt.Time())
		}
	}
	return times, nil
}

// note writes down what a push service answered.
func (a *Alerts) note(now time.Time, device store.Device, deliveries []store.Delivery, answer answer) error {
	for i := range deliveries {
		settle(&deliveries[i], answer, now)
	}
	if err := a.store.NoteAnswer(device.ID, answer.status, answer.text, deliveries...); err != nil {
		return err
	}
	switch {
	case answer.gone():
		a.log.Info("alerts: a device takes no more", "device", device.Label, "status", answer.status)
		return a.store.Unsubscribe(device.ID, device.Endpoint)
	case !answer.taken():
		a.log.Warn("alerts: a message was not taken", "device", device.Label, "status", answer.status, "answer", answer.text)
	}
	if skew := a.sender.skew(); skew != 0 {
		a.log.Error("alerts: this machine's clock differs from the push service's; set it right, or services will refuse the alerts", "ahead", skew)
	}
	return nil
}

// settle writes an answer into a delivery. 413 says that this message will
// never be taken; everything else may pass: a refused token may be mended by
// the owner, a service may come back, and a browser whose subscription is over
// (404 and 410, RFC 8030, 7.3) may subscribe anew.
func settle(d *store.Delivery, answer answer, now time.Time) {
	d.Attempts++
	d.Status, d.Answer = answer.status, answer.text
	switch {
	case answer.taken():
		d.State, d.SentAt = store.Sent, store.Date(now)
	case answer.status == http.StatusRequestEntityTooLarge:
		d.State = store.Failed
	default:
		d.NextAt = store.Date(now.Add(max(answer.retryAfter, pause(d.Attempts))))
	}
}

// pause is the time between attempts: a minute, doubled each time, an hour at
// most.
func pause(attempts int) time.Duration {
	return min(time.Minute<<min(attempts-1, 6), time.Hour)
}
