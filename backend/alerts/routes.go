package alerts

import (
	"net/http"
	"strings"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

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
	group.POST("/test", a.test)
}

func sentence(e *core.RequestEvent, status int, text string) error {
	return e.JSON(status, map[string]any{"status": status, "message": text})
}

const giveDevice = "device: give the device's own id, 32 lower-case hex digits."

// show answers how alerts stand on one of the person's devices.
func (a *Alerts) show(e *core.RequestEvent) error {
	device, _, err := a.store.FindDevice(e.Auth.Id, e.Request.URL.Query().Get("device"))
	if err != nil {
		return err
	}
	answer := map[string]any{"key": a.sender.public, "subscribed": device.Endpoint != "", "last_sent_at": nil, "last_status": nil}
	if !device.SentAt.IsZero() {
		answer["last_sent_at"] = device.SentAt.Time().UTC().Format(time.RFC3339)
		answer["last_status"] = device.Status
	}
	return e.JSON(http.StatusOK, answer)
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
	var w wish
	if err := e.BindBody(&w); err != nil || !husbandry.IsRecordID(w.Device) {
		return sentence(e, http.StatusBadRequest, giveDevice)
	}
	if err := a.store.Unsubscribe(store.DeviceID(e.Auth.Id, w.Device), ""); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}

// test sends one message now and answers what the push service said.
func (a *Alerts) test(e *core.RequestEvent) error {
	var w wish
	if err := e.BindBody(&w); err != nil || !husbandry.IsRecordID(w.Device) {
		return sentence(e, http.StatusBadRequest, giveDevice)
	}
	device, _, err := a.store.FindDevice(e.Auth.Id, w.Device)
	if err != nil {
		return err
	}
	if device.Endpoint == "" {
		return sentence(e, http.StatusConflict, "Alerts are off on this device: allow them first.")
	}
	payload, err := notification{
		Title: "Alerts reach this device", Body: "You asked for this one. The next will come when leftovers want a look.",
		Navigate: "/", Tag: "test",
	}.payload()
	if err != nil {
		return err
	}
	answer := a.sender.send(e.Request.Context(), device, message{payload: payload, topic: topic("test"), ttl: 10 * time.Minute})
	if err := a.store.NoteAnswer(device.ID, answer.status); err != nil {
		return err
	}
	if answer.gone() {
		if err := a.store.Unsubscribe(device.ID, device.Endpoint); err != nil {
			return err
		}
	}
	return e.JSON(http.StatusOK, map[string]any{"status": answer.status, "answer": answer.text})
}
