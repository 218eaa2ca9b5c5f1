package store

import (
	"fmt"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// States of a delivery.
const (
	Waiting = "waiting" // to be sent at NextAt
	Sent    = "sent"
	Settled = "settled" // somebody did the chore before it was sent
	Late    = "late"    // it would have come too late to be of use
	Held    = "held"    // so too, because the device had had its share of the week
	Gone    = "gone"    // the device takes no alerts any more
	Failed  = "failed"  // the push service will never take it
)

// DeliveryStates is every state of a delivery.
var DeliveryStates = []string{Waiting, Sent, Settled, Late, Held, Gone, Failed}

// A Delivery is one alert for one device: there is at most one for each Chore
// and each device. Deliveries that went together have the same Message, which
// is written before it is sent.
type Delivery struct {
	ID       string         `db:"id"`
	Chore    string         `db:"chore"`    // what is told once: the instance, or the instance told again
	Instance string         `db:"instance"` // one standing of a chore, or a day's digest
	Sort     string         `db:"sort"`     // of alert
	Device   string         `db:"device"`
	Bin      string         `db:"bin"`
	Of       string         `db:"of"`
	Food     string         `db:"food"`
	State    string         `db:"state"`
	Message  string         `db:"message"`
	Due      types.DateTime `db:"due"`
	Until    types.DateTime `db:"until"` // of use no longer
	NextAt   types.DateTime `db:"next_at"`
	SentAt   types.DateTime `db:"sent_at"`
	Attempts int            `db:"attempts"`
	Status   int            `db:"status"`
	Answer   string         `db:"answer"`
}

func init() {
	core.AppMigrations.Register(widenAlerts, nil, "5_alerts.go")
}

// widenAlerts adds what came after the first alerts: settings of a device,
// sorts of alert, messages of several.
func widenAlerts(app core.App) error {
	devices, err := app.FindCollectionByNameOrId(Devices)
	if err != nil {
		return err
	}
	for _, name := range []string{"leftovers", "dampness", "digest", "digest_at", "digest_days"} {
		devices.Fields.Add(&core.TextField{Name: name, Max: 40})
	}
	devices.Fields.Add(
		&core.NumberField{Name: "weekly_cap", OnlyInt: true}, &core.DateField{Name: "snoozed_until"},
		&core.JSONField{Name: "kept", MaxSize: 1000},
		&core.DateField{Name: "answered_at"}, &core.TextField{Name: "answer", Max: 500},
	)
	if err := app.Save(devices); err != nil {
		return err
	}
	deliveries, err := app.FindCollectionByNameOrId(Deliveries)
	if err != nil {
		return err
	}
	deliveries.Fields.Add(&core.TextField{Name: "instance"}, &core.TextField{Name: "sort", Max: 40}, &core.TextField{Name: "message"})
	deliveries.Fields.GetByName("state").(*core.SelectField).Values = DeliveryStates
	deliveries.AddIndex("idx_deliveries_sent", false, "device, sent_at", "")
	if err := app.Save(deliveries); err != nil {
		return err
	}
	_, err = app.NonconcurrentDB().NewQuery("UPDATE deliveries SET sort = {:sort}, instance = chore, message = id WHERE sort = ''").
		Bind(dbx.Params{"sort": husbandry.AlertLeftovers}).Execute()
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
			_, err := tx.NonconcurrentDB().NewQuery("INSERT INTO deliveries (id, chore, instance, sort, device, bin, [[of]], food, state, due, until, next_at) " +
				"VALUES ({:id}, {:chore}, {:instance}, {:sort}, {:device}, {:bin}, {:of}, {:food}, {:state}, {:due}, {:until}, {:next}) ON CONFLICT (chore, device) DO NOTHING").
				Bind(dbx.Params{"id": NewID(), "chore": d.Chore, "instance": d.Instance, "sort": d.Sort, "device": d.Device,
					"bin": d.Bin, "of": d.Of, "food": d.Food, "state": Waiting,
					"due": d.Due.String(), "until": d.Until.String(), "next": d.NextAt.String()}).Execute()
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// HasDelivery reports whether a delivery was written down before.
func (s *Store) HasDelivery(chore, device string) (bool, error) {
	return value[bool](s.App.ConcurrentDB(), "SELECT COUNT(*) > 0 FROM deliveries WHERE chore = {:chore} AND device = {:device}",
		dbx.Params{"chore": chore, "device": device})
}

// DueDeliveries returns the deliveries whose instant comes until then, first
// come first.
func (s *Store) DueDeliveries(until time.Time) ([]Delivery, error) {
	return s.deliveries(dbx.NewExp("state = {:state} AND next_at <= {:until}",
		dbx.Params{"state": Waiting, "until": dateTime(until)}), "next_at", "due", "id")
}

// DeliveriesSent returns the deliveries of a device that were sent from an
// instant on, last come first.
func (s *Store) DeliveriesSent(device string, from time.Time) ([]Delivery, error) {
	return s.deliveries(dbx.NewExp("device = {:device} AND sent_at >= {:from} AND state = {:state}",
		dbx.Params{"device": device, "from": dateTime(from), "state": Sent}), "sent_at DESC", "message", "id")
}

func (s *Store) deliveries(where dbx.Expression, order ...string) ([]Delivery, error) {
	var found []Delivery
	if err := s.App.ConcurrentDB().Select().From(Deliveries).Where(where).OrderBy(order...).All(&found); err != nil {
		return nil, fmt.Errorf("store: the deliveries: %w", err)
	}
	return found, nil
}

// WriteDeliveries writes down what became of deliveries, all or none.
func (s *Store) WriteDeliveries(deliveries ...Delivery) error {
	if len(deliveries) == 0 {
		return nil
	}
	return s.App.RunInTransaction(func(tx core.App) error { return writeDeliveries(tx.NonconcurrentDB(), deliveries) })
}

func writeDeliveries(db dbx.Builder, deliveries []Delivery) error {
	for _, d := range deliveries {
		_, err := db.Update(Deliveries, dbx.Params{
			"state": d.State, "message": d.Message, "until": d.Until.String(), "next_at": d.NextAt.String(), "sent_at": d.SentAt.String(),
			"attempts": d.Attempts, "status": d.Status, "answer": d.Answer,
		}, dbx.HashExp{"id": d.ID}).Execute()
		if err != nil {
			return err
		}
	}
	return nil
}

// DropDeliveries gives up what waits for a device.
func (s *Store) DropDeliveries(device string) error {
	_, err := s.App.NonconcurrentDB().Update(Deliveries, dbx.Params{"state": Gone}, dbx.HashExp{"device": device, "state": Waiting}).Execute()
	return err
}

// CountHeld counts the deliveries of a device that were held for good since
// an instant.
func (s *Store) CountHeld(device string, from time.Time) (int, error) {
	return value[int](s.App.ConcurrentDB(), "SELECT COUNT(*) FROM deliveries WHERE device = {:device} AND state = {:held} AND due >= {:from}",
		dbx.Params{"device": device, "held": Held, "from": dateTime(from)})
}

// TidyDeliveries removes what became of deliveries that were due before an
// instant.
func (s *Store) TidyDeliveries(before time.Time) error {
	_, err := s.App.NonconcurrentDB().Delete(Deliveries, dbx.NewExp("due < {:before} AND state != {:waiting}",
		dbx.Params{"before": dateTime(before), "waiting": Waiting})).Execute()
	return err
}

// unstruck is the condition that an entry counts.
const unstruck = "NOT EXISTS (SELECT 1 FROM logs AS strikes WHERE strikes.struck != '' AND strikes.struck = logs.id)"

// Looks counts how often a feeding was looked at again, struck looks left
// out, and returns when it was for the last time.
func (s *Store) Looks(feeding string) (count int, last time.Time, err error) {
	var ats []types.DateTime
	err = s.App.ConcurrentDB().NewQuery("SELECT at FROM logs WHERE [[of]] = {:of} AND what = 'leftovers' AND " + unstruck + " ORDER BY at DESC").
		Bind(dbx.Params{"of": feeding}).Column(&ats)
	if err != nil {
		return 0, last, fmt.Errorf("store: the looks at %s: %w", feeding, err)
	}
	if len(ats) > 0 {
		last = ats[0].Time()
	}
	return len(ats), last, nil
}

// IsStruck reports whether a stored entry is struck.
func (s *Store) IsStruck(id string) (bool, error) {
	return value[bool](s.App.ConcurrentDB(), "SELECT COUNT(*) > 0 FROM logs WHERE struck = {:id}", dbx.Params{"id": id})
}

// LastDamp returns the last entry by which the damp side of a bin was felt,
// watered or renewed; the zero values where there is none.
func (s *Store) LastDamp(bin string) (id string, at time.Time, err error) {
	var found []struct {
		ID string         `db:"id"`
		At types.DateTime `db:"at"`
	}
	err = s.App.ConcurrentDB().NewQuery("SELECT id, at FROM logs WHERE bin = {:bin} AND what IN ('feel', 'water', 'renew') AND " + unstruck + " ORDER BY at DESC, id DESC LIMIT 1").
		Bind(dbx.Params{"bin": bin}).All(&found)
	if err != nil {
		return "", time.Time{}, fmt.Errorf("store: the entries of %s: %w", bin, err)
	}
	if len(found) == 0 {
		return "", time.Time{}, nil
	}
	return found[0].ID, found[0].At.Time(), nil
}

// HasEntry reports whether something of one of the sorts was logged between
// two instants: about a feeding, or in a bin, or with both empty anywhere.
func (s *Store) HasEntry(bin, of string, whats []any, from, to time.Time) (bool, error) {
	where := dbx.And(dbx.NewExp("at >= {:from} AND at <= {:to}", dbx.Params{"from": dateTime(from), "to": dateTime(to)}), dbx.NewExp(unstruck))
	if bin != "" {
		where = dbx.And(where, dbx.HashExp{"bin": bin})
	}
	if of != "" {
		where = dbx.And(where, dbx.HashExp{"of": of})
	}
	if len(whats) > 0 {
		where = dbx.And(where, dbx.In("what", whats...))
	}
	var count int
	err := s.App.ConcurrentDB().Select("COUNT(*)").From(Logs).Where(where).Row(&count)
	return count > 0, err
}

// EntryTimes returns when entries happened from an instant on: those of one
// person, or with an empty id of the household. Readings of the air are left
// out, since devices make them, and what sitters log, who come when they can.
func (s *Store) EntryTimes(person string, from time.Time) ([]time.Time, error) {
	var ats []types.DateTime
	err := s.App.ConcurrentDB().NewQuery(`SELECT at FROM logs WHERE at >= {:from} AND what NOT IN ('climate', 'strike')
		AND ([[by]] = {:person} OR {:person} = '' AND [[by]] NOT IN (SELECT person FROM passes))`).
		Bind(dbx.Params{"from": dateTime(from), "person": person}).Column(&ats)
	if err != nil {
		return nil, fmt.Errorf("store: the times of entries: %w", err)
	}
	times := make([]time.Time, len(ats))
	for i, at := range ats {
		times[i] = at.Time()
	}
	return times, nil
}
