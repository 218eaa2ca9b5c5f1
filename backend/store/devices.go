package store

import (
	"cmp"
	"encoding/json"
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
	SubscribedAt types.DateTime `db:"subscribed_at"`
	SentAt       types.DateTime `db:"sent_at"`     // the last message that was taken
	AnsweredAt   types.DateTime `db:"answered_at"` // the last attempt
	Status       int            `db:"status"`      // what was answered to it; 0 is no answer
	Answer       string         `db:"answer"`

	// As they were chosen; empty and 0 are the usual.
	Wrong        string         `db:"wrong"`
	Leftovers    string         `db:"leftovers"`
	Dampness     string         `db:"dampness"`
	Digest       string         `db:"digest"`
	QuietFrom    string         `db:"quiet_from"`
	QuietTo      string         `db:"quiet_to"`
	DigestAt     string         `db:"digest_at"`
	DigestDays   string         `db:"digest_days"`
	WeeklyCap    int            `db:"weekly_cap"`
	SnoozedUntil types.DateTime `db:"snoozed_until"` // nothing rings until then
	Kept         []byte         `db:"kept"`          // when its person last said to leave a sort of alert as it is
}

// Settings returns what the device is told, and when.
func (d Device) Settings() husbandry.AlertSettings {
	settings := husbandry.UsualAlerts()
	settings.Wrong = cmp.Or(d.Wrong, settings.Wrong)
	settings.Leftovers = cmp.Or(d.Leftovers, settings.Leftovers)
	settings.Dampness = cmp.Or(d.Dampness, settings.Dampness)
	settings.Digest = cmp.Or(d.Digest, settings.Digest)
	settings.QuietFrom = cmp.Or(d.QuietFrom, settings.QuietFrom)
	settings.QuietTo = cmp.Or(d.QuietTo, settings.QuietTo)
	settings.WeeklyCap = cmp.Or(d.WeeklyCap, settings.WeeklyCap)
	settings.DigestAt, settings.DigestDays = d.DigestAt, d.DigestDays
	return settings
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

// NoteAnswer keeps what a push service answered for a device, and when, and
// with it what became of the deliveries that it was asked about.
func (s *Store) NoteAnswer(id string, status int, answer string, deliveries ...Delivery) error {
	now := dateTime(s.Clock.Now())
	columns := dbx.Params{"answered_at": now, "status": status, "answer": answer}
	if status >= 200 && status < 300 {
		columns["sent_at"] = now
	}
	return s.App.RunInTransaction(func(tx core.App) error {
		db := tx.NonconcurrentDB()
		if _, err := db.Update(Devices, columns, dbx.HashExp{"id": id}).Execute(); err != nil {
			return err
		}
		return writeDeliveries(db, deliveries)
	})
}

// SetAlerts sets what a person's device is told, and when.
func (s *Store) SetAlerts(person, device string, settings husbandry.AlertSettings) error {
	return s.setDevice(person, device, dbx.Params{
		"wrong": settings.Wrong, "leftovers": settings.Leftovers, "dampness": settings.Dampness, "digest": settings.Digest,
		"quiet_from": settings.QuietFrom, "quiet_to": settings.QuietTo,
		"digest_at": settings.DigestAt, "digest_days": settings.DigestDays, "weekly_cap": settings.WeeklyCap,
	})
}

// Snooze has nothing ring on a person's device until an instant; the zero
// time ends it.
func (s *Store) Snooze(person, device string, until time.Time) error {
	text := ""
	if !until.IsZero() {
		text = dateTime(until)
	}
	return s.setDevice(person, device, dbx.Params{"snoozed_until": text})
}

// KeepAlert writes down that a person wants a sort of alert as it is.
func (s *Store) KeepAlert(d Device, sort string) error {
	kept := d.KeptAt()
	kept[sort] = s.Clock.Now().UTC()
	raw, err := json.Marshal(kept)
	if err != nil {
		return err
	}
	return s.setDevice(d.Person, d.Device, dbx.Params{"kept": string(raw)})
}

// KeptAt returns when the device's person last said to leave sorts of alert
// as they are.
func (d Device) KeptAt() map[string]time.Time {
	kept := map[string]time.Time{}
	_ = json.Unmarshal(d.Kept, &kept) // empty before anything was said
	return kept
}

// setDevice sets columns of a person's device, which need not be known yet.
func (s *Store) setDevice(person, device string, columns dbx.Params) error {
	return s.App.RunInTransaction(func(tx core.App) error {
		db, id := tx.NonconcurrentDB(), DeviceID(person, device)
		_, err := db.NewQuery(`INSERT INTO devices (id, person, device, seen_at) VALUES ({:id}, {:person}, {:device}, {:now})
			ON CONFLICT (id) DO NOTHING`).
			Bind(dbx.Params{"id": id, "person": person, "device": device, "now": dateTime(s.Clock.Now())}).Execute()
		if err != nil {
			return err
		}
		_, err = db.Update(Devices, columns, dbx.HashExp{"id": id}).Execute()
		return err
	})
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

// Entry returns a stored entry; one without an id where there is none.
func (s *Store) Entry(id string) (entry husbandry.Entry, err error) {
	raw, err := value[[]byte](s.App.ConcurrentDB(), "SELECT raw FROM logs WHERE id = {:id}", dbx.Params{"id": id})
	if err != nil || len(raw) == 0 {
		return entry, err
	}
	return entry, json.Unmarshal(raw, &entry)
}

// EntryTime returns when a stored entry happened.
func (s *Store) EntryTime(id string) (time.Time, error) {
	at, err := value[types.DateTime](s.App.ConcurrentDB(), "SELECT at FROM logs WHERE id = {:id}", dbx.Params{"id": id})
	return at.Time(), err
}
