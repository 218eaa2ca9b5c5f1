package store

import (
	"errors"
	"fmt"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// A Device is one phone or computer in one person's hands. Endpoint is empty
// where alerts are off.
type Device struct {
	ID           string         `db:"id"`
	Person       string         `db:"person"`
	Device       string         `db:"device"`
	Label        string         `db:"label"`
	Endpoint     string         `db:"endpoint"`
	P256dh       string         `db:"p256dh"`
	Auth         string         `db:"auth"`
	QuietFrom    string         `db:"quiet_from"`
	QuietTo      string         `db:"quiet_to"`
	SubscribedAt types.DateTime `db:"subscribed_at"`
	SentAt       types.DateTime `db:"sent_at"`
	Status       int            `db:"status"`
}

// States of a delivery.
const (
	Waiting = "waiting" // to be sent at NextAt
	Sent    = "sent"
	Settled = "settled" // somebody did the chore before it was sent
	Late    = "late"    // it would have come too late to be of use
	Gone    = "gone"    // the device takes no alerts any more
	Failed  = "failed"  // the push service will never take it
)

// DeliveryStates is every state of a delivery.
var DeliveryStates = []string{Waiting, Sent, Settled, Late, Gone, Failed}

// A Delivery is one alert for one device: there is at most one for each
// instance of a chore and each device.
type Delivery struct {
	ID       string         `db:"id"`
	Chore    string         `db:"chore"` // the instance
	Device   string         `db:"device"`
	Bin      string         `db:"bin"`
	Of       string         `db:"of"`
	Food     string         `db:"food"`
	State    string         `db:"state"`
	Due      types.DateTime `db:"due"`
	Until    types.DateTime `db:"until"` // of use no longer
	NextAt   types.DateTime `db:"next_at"`
	SentAt   types.DateTime `db:"sent_at"`
	Attempts int            `db:"attempts"`
	Status   int            `db:"status"`
	Answer   string         `db:"answer"`
}

// Date is a time as the collections hold it, to the millisecond.
func Date(t time.Time) types.DateTime {
	date, _ := types.ParseDateTime(t.UTC()) // a time always parses
	return date
}

// FindDevice returns a person's device; ok is false where it was never seen.
func (s *Store) FindDevice(person, device string) (found Device, ok bool, err error) {
	devices, err := s.devices(dbx.HashExp{"id": DeviceID(person, device)})
	if err != nil || len(devices) == 0 {
		return Device{}, false, err
	}
	return devices[0], true, nil
}

// Subscribed returns the devices that take alerts.
func (s *Store) Subscribed() ([]Device, error) {
	return s.devices(dbx.NewExp("endpoint != ''"))
}

func (s *Store) devices(where dbx.Expression) ([]Device, error) {
	var devices []Device
	if err := s.App.ConcurrentDB().Select().From(Devices).Where(where).OrderBy("id").All(&devices); err != nil {
		return nil, fmt.Errorf("store: the devices: %w", err)
	}
	return devices, nil
}

// Subscribe has a device take alerts. Whoever brings a subscription holds the
// device, so the subscription leaves whatever other record had it.
func (s *Store) Subscribe(d Device) error {
	now := dateTime(s.Clock.Now())
	return s.App.RunInTransaction(func(tx core.App) error {
		db := tx.NonconcurrentDB()
		_, err := db.NewQuery(`UPDATE devices SET endpoint = '', p256dh = '', auth = '' WHERE endpoint = {:endpoint} AND id != {:id}`).
			Bind(dbx.Params{"endpoint": d.Endpoint, "id": DeviceID(d.Person, d.Device)}).Execute()
		if err != nil {
			return err
		}
		_, err = db.NewQuery(`INSERT INTO devices (id, person, device, label, endpoint, p256dh, auth, seen_at, subscribed_at)
			VALUES ({:id}, {:person}, {:device}, {:label}, {:endpoint}, {:p256dh}, {:auth}, {:now}, {:now})
			ON CONFLICT (id) DO UPDATE SET label = excluded.label, endpoint = excluded.endpoint, p256dh = excluded.p256dh,
				auth = excluded.auth, seen_at = excluded.seen_at,
				subscribed_at = CASE WHEN devices.endpoint = '' THEN excluded.subscribed_at ELSE devices.subscribed_at END`).
			Bind(dbx.Params{"id": DeviceID(d.Person, d.Device), "person": d.Person, "device": d.Device, "label": d.Label,
				"endpoint": d.Endpoint, "p256dh": d.P256dh, "auth": d.Auth, "now": now}).Execute()
		return err
	})
}

// Unsubscribe has a device take no more alerts. With an endpoint given it
// does so only while the device still has that one.
func (s *Store) Unsubscribe(id, endpoint string) error {
	_, err := s.App.NonconcurrentDB().NewQuery(`UPDATE devices SET endpoint = '', p256dh = '', auth = ''
		WHERE id = {:id} AND ({:endpoint} = '' OR endpoint = {:endpoint})`).
		Bind(dbx.Params{"id": id, "endpoint": endpoint}).Execute()
	return err
}

// NoteAnswer keeps what a push service answered for a device, and when.
func (s *Store) NoteAnswer(id string, status int) error {
	_, err := s.App.NonconcurrentDB().Update(Devices,
		dbx.Params{"sent_at": dateTime(s.Clock.Now()), "status": status}, dbx.HashExp{"id": id}).Execute()
	return err
}

// AddDeliveries writes deliveries down, those that are there already left as
// they are.
func (s *Store) AddDeliveries(deliveries []Delivery) error {
	if len(deliveries) == 0 {
		return nil
	}
	return s.App.RunInTransaction(func(tx core.App) error {
		for _, d := range deliveries {
			_, err := tx.NonconcurrentDB().NewQuery("INSERT INTO deliveries (id, chore, device, bin, [[of]], food, state, due, until, next_at) " +
				"VALUES ({:id}, {:chore}, {:device}, {:bin}, {:of}, {:food}, {:state}, {:due}, {:until}, {:next}) ON CONFLICT (chore, device) DO NOTHING").
				Bind(dbx.Params{"id": NewID(), "chore": d.Chore, "device": d.Device, "bin": d.Bin, "of": d.Of, "food": d.Food,
					"state": Waiting, "due": d.Due.String(), "until": d.Until.String(), "next": d.NextAt.String()}).Execute()
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// DueDeliveries returns the deliveries whose instant has come, first come
// first.
func (s *Store) DueDeliveries(now time.Time) ([]Delivery, error) {
	var due []Delivery
	err := s.App.ConcurrentDB().Select().From(Deliveries).
		Where(dbx.NewExp("state = {:state} AND next_at <= {:now}", dbx.Params{"state": Waiting, "now": dateTime(now)})).
		OrderBy("next_at", "due", "id").All(&due)
	if err != nil {
		return nil, fmt.Errorf("store: the deliveries: %w", err)
	}
	return due, nil
}

// WriteDelivery writes down what became of a delivery.
func (s *Store) WriteDelivery(d Delivery) error {
	_, err := s.App.NonconcurrentDB().Update(Deliveries, dbx.Params{
		"state": d.State, "next_at": d.NextAt.String(), "sent_at": d.SentAt.String(),
		"attempts": d.Attempts, "status": d.Status, "answer": d.Answer,
	}, dbx.HashExp{"id": d.ID}).Execute()
	return err
}

// Looks counts how often a feeding was looked at again, struck looks left
// out.
func (s *Store) Looks(feeding string) (int, error) {
	return value[int](s.App.ConcurrentDB(), `SELECT COUNT(*) FROM logs WHERE [[of]] = {:of} AND what = 'leftovers'
		AND NOT EXISTS (SELECT 1 FROM logs AS strikes WHERE strikes.struck = logs.id)`, dbx.Params{"of": feeding})
}

// IsStruck reports whether a stored entry is struck.
func (s *Store) IsStruck(id string) (bool, error) {
	return value[bool](s.App.ConcurrentDB(), "SELECT COUNT(*) > 0 FROM logs WHERE struck = {:id}", dbx.Params{"id": id})
}

// ErrUnknown is the error of a record that is not there.
var ErrUnknown = errors.New("there is no such record")

// Bin returns one bin.
func (s *Store) Bin(id string) (husbandry.Bin, error) {
	sheet, err := s.sheet(s.App, "bins", id)
	if err != nil {
		return husbandry.Bin{}, err
	}
	if sheet.ID == "" {
		return husbandry.Bin{}, ErrUnknown
	}
	return husbandry.AsBin(sheet)
}

// EntryTime returns when a stored entry happened.
func (s *Store) EntryTime(id string) (time.Time, error) {
	at, err := value[types.DateTime](s.App.ConcurrentDB(), "SELECT at FROM logs WHERE id = {:id}", dbx.Params{"id": id})
	return at.Time(), err
}
