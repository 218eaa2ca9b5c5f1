package alerts

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// Bind adds the routes by which a person has a device take alerts.
func (a *Alerts) Bind(se *core.ServeEvent) {
	group := se.Router.Group("/api/underlog/alerts")
	group.Bind(apis.RequireAuth(store.People), apis.BodyLimit(64<<10))
	group.GET("", a.show)
	group.PUT("", a.subscribe)
	group.DELETE("", a.unsubscribe)
	group.PUT("/settings", a.set)
	group.PUT("/contact", a.setContact)
	group.POST("/snooze", a.snooze)
	group.POST("/keep", a.keep)
	group.POST("/test", a.test)
}

func sentence(e *core.RequestEvent, status int, text string) error {
	return e.JSON(status, map[string]any{"status": status, "message": text})
}

const giveDevice = "device: give the device's own id, 32 lower-case hex digits."

// A state is how alerts stand on one device, as the app shows it.
type state struct {
	Key        string                  `json:"key"`
	Subscribed bool                    `json:"subscribed"`
	LastSentAt *string                 `json:"last_sent_at"` // the last that was taken
	AnsweredAt *string                 `json:"answered_at"`  // the last attempt
	LastStatus *int                    `json:"last_status"`  // 0 is no answer at all
	LastAnswer string                  `json:"last_answer"`
	Settings   husbandry.AlertSettings `json:"settings"`
	Round      struct {
		At    string `json:"at"`   // 19:30
		Days  string `json:"days"` // tue thu sun
		Known bool   `json:"known"`
	} `json:"round"`
	SnoozedUntil *string `json:"snoozed_until"`
	SentThisWeek int     `json:"sent_this_week"`
	HeldThisWeek int     `json:"held_this_week"`
	Offers       []offer `json:"offers"`
	Contact      string  `json:"contact"` // for the owner alone
	HasContact   bool    `json:"has_contact"`
	ClockAheadS  int     `json:"clock_ahead_s"` // of the push services', where that matters
}

// show answers how alerts stand on one of the person's devices.
func (a *Alerts) show(e *core.RequestEvent) error {
	device, _, err := a.store.FindDevice(e.Auth.Id, e.Request.URL.Query().Get("device"))
	if err != nil {
		return err
	}
	device.Person = e.Auth.Id
	now := a.store.Clock.Now()
	zone, err := a.store.Zone()
	if err != nil {
		return err
	}
	answer := state{
		Key: a.sender.identity.public, Subscribed: device.Endpoint != "", LastAnswer: device.Answer,
		LastSentAt: given(device.SentAt), AnsweredAt: given(device.AnsweredAt),
		Settings: device.Settings(), ClockAheadS: int(a.sender.skew() / time.Second),
	}
	if answer.AnsweredAt != nil {
		answer.LastStatus = &device.Status
	}
	if device.SnoozedUntil.Time().After(now) {
		answer.SnoozedUntil = given(device.SnoozedUntil)
	}
	usual, err := a.habitOf(e.Auth.Id, zone, now)
	if err != nil {
		return err
	}
	answer.Round.At, answer.Round.Known = fmt.Sprintf("%02d:%02d", usual.Minute/60, usual.Minute%60), usual.Known
	for day, is := range usual.Days {
		if is {
			answer.Round.Days = strings.TrimSpace(answer.Round.Days + " " + husbandry.WeekdayWords[day])
		}
	}
	sent, err := a.messagesSent(device, now.Add(-week))
	if err != nil {
		return err
	}
	answer.SentThisWeek = len(sent)
	if answer.HeldThisWeek, err = a.store.CountHeld(device.ID, now.Add(-week)); err != nil {
		return err
	}
	if answer.Offers, err = a.offers(device, now); err != nil {
		return err
	}
	contact, err := a.store.Key(store.KeyContact)
	if err != nil {
		return err
	}
	answer.HasContact = contact != ""
	if e.Auth.GetString("role") == store.Owner {
		answer.Contact = contact
	}
	return e.JSON(http.StatusOK, answer)
}

// given is an instant for JSON, null where there is none.
func given(at types.DateTime) *string {
	if at.IsZero() {
		return nil
	}
	text := at.Time().UTC().Format(time.RFC3339)
	return &text
}

// deviceOf reads a request and finds the person's device that it names. ok is
// false where an answer was given already, which may have failed.
func (a *Alerts) deviceOf(e *core.RequestEvent, into interface{ device() string }) (device store.Device, ok bool, err error) {
	if e.BindBody(into) != nil || !husbandry.IsRecordID(into.device()) {
		return device, false, sentence(e, http.StatusBadRequest, giveDevice)
	}
	device, _, err = a.store.FindDevice(e.Auth.Id, into.device())
	device.Person, device.Device, device.ID = e.Auth.Id, into.device(), store.DeviceID(e.Auth.Id, into.device())
	return device, err == nil, err
}

type named struct {
	Device string `json:"device"`
}

func (n *named) device() string { return n.Device }

// set changes what a device is told, and when.
func (a *Alerts) set(e *core.RequestEvent) error {
	var change struct {
		named
		Settings json.RawMessage `json:"settings"`
	}
	device, ok, err := a.deviceOf(e, &change)
	if !ok {
		return err
	}
	settings, problems := husbandry.CheckAlertSettings(device.Settings(), change.Settings, a.store.Clock.Now())
	if len(problems) > 0 {
		return sentence(e, http.StatusBadRequest, problems.Error())
	}
	if err := a.store.SetAlerts(device.Person, device.Device, settings); err != nil {
		return err
	}
	return e.JSON(http.StatusOK, settings)
}

// setContact sets how push services can reach whoever runs this server.
func (a *Alerts) setContact(e *core.RequestEvent) error {
	if e.Auth.GetString("role") != store.Owner {
		return sentence(e, http.StatusForbidden, "The owner of the room sets this.")
	}
	var wish struct {
		Contact string `json:"contact"`
	}
	if err := e.BindBody(&wish); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give contact.")
	}
	contact, problem := checkContact(wish.Contact)
	if problem != nil {
		return sentence(e, http.StatusBadRequest, problem.Error())
	}
	if err := a.store.SetKey(a.store.App, store.KeyContact, contact); err != nil {
		return err
	}
	return e.JSON(http.StatusOK, map[string]string{"contact": contact})
}

// snooze puts off everything that a device is to be told, or the feedings and
// damp sides that it names.
func (a *Alerts) snooze(e *core.RequestEvent) error {
	var wish struct {
		named
		Until string   `json:"until"` // tonight, tomorrow, or empty to end it
		Of    []string `json:"of"`
		Damp  []string `json:"damp"`
	}
	device, ok, err := a.deviceOf(e, &wish)
	if !ok {
		return err
	}
	if wish.Until == "" {
		if err := a.store.Snooze(device.Person, device.Device, time.Time{}); err != nil {
			return err
		}
		return e.JSON(http.StatusOK, map[string]any{"until": nil})
	}
	zone, err := a.store.Zone()
	if err != nil {
		return err
	}
	now, settings := a.store.Clock.Now(), device.Settings()
	p := phone{Device: device, settings: settings, quiet: quietOf(settings)}
	until, err := a.snoozeEnd(p, wish.Until, zone, now)
	if err != nil {
		return sentence(e, http.StatusBadRequest, err.Error()+".")
	}
	if len(wish.Of)+len(wish.Damp) > 0 {
		err = a.tellAgain(p, wish.Of, wish.Damp, until, now)
	} else {
		err = a.store.Snooze(device.Person, device.Device, until)
	}
	if err != nil {
		return err
	}
	return e.JSON(http.StatusOK, map[string]any{"until": until.UTC().Format(time.RFC3339)})
}

// keep takes note that a person wants a sort of alert as it is.
func (a *Alerts) keep(e *core.RequestEvent) error {
	var wish struct {
		named
		Sort string `json:"sort"`
	}
	device, ok, err := a.deviceOf(e, &wish)
	if !ok {
		return err
	}
	if !slices.Contains(husbandry.AlertSorts, wish.Sort) {
		return sentence(e, http.StatusBadRequest, fmt.Sprintf("sort is %s: give one of %s.", quoted(wish.Sort), strings.Join(husbandry.AlertSorts, ", ")))
	}
	if err := a.store.KeepAlert(device, wish.Sort); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}

type wish struct {
	Device       string `json:"device"`
	Label        string `json:"label"`
	Subscription struct {
		Endpoint string `json:"endpoint"`
		Keys     struct {
			P256dh string `json:"p256dh"`
			Auth   string `json:"auth"`
		} `json:"keys"`
	} `json:"subscription"`
}

func (a *Alerts) subscribe(e *core.RequestEvent) error {
	var w wish
	if err := e.BindBody(&w); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give device, label and subscription.")
	}
	if !husbandry.IsRecordID(w.Device) {
		return sentence(e, http.StatusBadRequest, giveDevice)
	}
	if err := checkKeys(w.Subscription.Keys.P256dh, w.Subscription.Keys.Auth); err != nil {
		return sentence(e, http.StatusBadRequest, err.Error()+".")
	}
	if err := a.doorman.check(e.Request.Context(), w.Subscription.Endpoint); err != nil {
		return sentence(e, http.StatusBadRequest, err.Error()+".")
	}
	err := a.store.Subscribe(store.Device{
		Person: e.Auth.Id, Device: w.Device, Label: short(strings.TrimSpace(w.Label), 80),
		Endpoint: w.Subscription.Endpoint, P256dh: w.Subscription.Keys.P256dh, Auth: w.Subscription.Keys.Auth,
	})
	if err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}

func (a *Alerts) unsubscribe(e *core.RequestEvent) error {
	var wish named
	device, ok, err := a.deviceOf(e, &wish)
	if !ok {
		return err
	}
	if err := a.store.Unsubscribe(device.ID, ""); err != nil {
		return err
	}
	if err := a.store.DropDeliveries(device.ID); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}

// test sends one message now and answers what the push service said.
func (a *Alerts) test(e *core.RequestEvent) error {
	var wish named
	device, ok, err := a.deviceOf(e, &wish)
	if !ok {
		return err
	}
	if device.Endpoint == "" {
		return sentence(e, http.StatusConflict, "Alerts are off on this device: allow them first.")
	}
	now := a.store.Clock.Now()
	badge, err := a.open(now)
	if err != nil {
		return err
	}
	payload, err := notification{
		Title: "Alerts reach this device", Body: "You asked for this one. The next will come when something wants a look.",
		Navigate: "/#/room", Tag: sortOfTest, Data: about{Sort: sortOfTest, At: now.Unix()},
	}.payload(badge)
	if err != nil {
		return err
	}
	answer := a.sender.send(e.Request.Context(), device, message{payload: payload, topic: topic("test"), urgency: urgencyHigh, ttl: 10 * time.Minute})
	if err := a.store.NoteAnswer(device.ID, answer.status, answer.text); err != nil {
		return err
	}
	if answer.gone() {
		if err := a.store.Unsubscribe(device.ID, device.Endpoint); err != nil {
			return err
		}
	}
	return e.JSON(http.StatusOK, map[string]any{"status": answer.status, "answer": answer.text})
}
