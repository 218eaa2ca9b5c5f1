package alerts

import (
	"errors"
	"net/http"
	"sync"
	"time"

	"underlog/backend/store"
)

// atOnce bounds how many messages are on their way at a time.
const atOnce = 4

// deliver sends what is due, one device's messages one after another.
func (a *Alerts) deliver(now time.Time, standing map[string]bool) error {
	due, err := a.store.DueDeliveries(now)
	if err != nil || len(due) == 0 {
		return err
	}
	subscribed, err := a.store.Subscribed()
	if err != nil {
		return err
	}
	devices := make(map[string]store.Device, len(subscribed))
	for _, device := range subscribed {
		devices[device.ID] = device
	}
	ready := map[string][]store.Delivery{}
	for _, delivery := range due {
		_, takes := devices[delivery.Device]
		switch {
		case !takes:
			delivery.State = store.Gone
		case !standing[delivery.Chore]:
			delivery.State = store.Settled
		case !delivery.Until.Time().After(now):
			delivery.State = store.Late
		default:
			ready[delivery.Device] = append(ready[delivery.Device], delivery)
			continue
		}
		if err := a.store.WriteDelivery(delivery); err != nil {
			return err
		}
	}
	return a.deliverAll(now, devices, ready)
}

func (a *Alerts) deliverAll(now time.Time, devices map[string]store.Device, ready map[string][]store.Delivery) error {
	slots := make(chan struct{}, atOnce)
	var waiting sync.WaitGroup
	var mu sync.Mutex
	var failures error
	for id, deliveries := range ready {
		waiting.Add(1)
		slots <- struct{}{}
		go func() {
			defer func() { <-slots; waiting.Done() }()
			err := a.deliverTo(now, devices[id], deliveries)
			mu.Lock()
			failures = errors.Join(failures, err)
			mu.Unlock()
		}()
	}
	waiting.Wait()
	return failures
}

// deliverTo sends one device's messages and writes down what became of each.
func (a *Alerts) deliverTo(now time.Time, device store.Device, deliveries []store.Delivery) error {
	for _, together := range inMessages(deliveries) {
		if a.context.Err() != nil {
			return nil // closing: they stay waiting
		}
		standing, err := a.standing(together)
		if err != nil {
			return err
		}
		if len(standing) == 0 {
			continue
		}
		message, err := a.compose(now, standing)
		if err != nil {
			return err
		}
		answer := a.sender.send(a.context, device, message)
		if a.context.Err() != nil && answer.status == 0 {
			return nil
		}
		if err := a.note(now, device, standing, answer); err != nil {
			return err
		}
		if answer.gone() {
			return nil
		}
	}
	return nil
}

// inMessages says which deliveries of one device go together in a message:
// each alone, for now.
func inMessages(deliveries []store.Delivery) [][]store.Delivery {
	messages := make([][]store.Delivery, len(deliveries))
	for i, delivery := range deliveries {
		messages[i] = []store.Delivery{delivery}
	}
	return messages
}

// standing returns the deliveries that still stand, and writes down those
// that do not.
func (a *Alerts) standing(deliveries []store.Delivery) (standing []store.Delivery, err error) {
	for _, delivery := range deliveries {
		stands, err := a.stands(delivery)
		if err != nil {
			return nil, err
		}
		if stands {
			standing = append(standing, delivery)
			continue
		}
		delivery.State = store.Settled
		if err := a.store.WriteDelivery(delivery); err != nil {
			return nil, err
		}
	}
	return standing, nil
}

// note writes down what a push service answered.
func (a *Alerts) note(now time.Time, device store.Device, deliveries []store.Delivery, answer answer) error {
	if err := a.store.NoteAnswer(device.ID, answer.status); err != nil {
		return err
	}
	for _, delivery := range deliveries {
		settle(&delivery, answer, now)
		if err := a.store.WriteDelivery(delivery); err != nil {
			return err
		}
	}
	switch {
	case answer.gone():
		a.log.Info("alerts: a device takes no more", "device", device.Label, "status", answer.status)
		return a.store.Unsubscribe(device.ID, device.Endpoint)
	case answer.status < 200 || answer.status >= 300:
		a.log.Warn("alerts: a message was not taken", "device", device.Label, "status", answer.status, "answer", answer.text)
	}
	return nil
}

// settle writes an answer into a delivery. Only 404 and 410 say that the
// subscription is over (RFC 8030, 7.3); 400 and 413 say that this message
// will never be taken; everything else may pass.
func settle(d *store.Delivery, answer answer, now time.Time) {
	d.Attempts++
	d.Status, d.Answer = answer.status, answer.text
	switch {
	case answer.status >= 200 && answer.status < 300:
		d.State, d.SentAt = store.Sent, store.Date(now)
	case answer.gone():
		d.State = store.Gone
	case answer.status == http.StatusBadRequest, answer.status == http.StatusRequestEntityTooLarge:
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
