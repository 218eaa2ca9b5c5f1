package alerts_test

import (
	"log/slog"
	"testing"
	"time"

	"underlog/backend/alerts"
	"underlog/backend/forecast"
	"underlog/backend/trial"
)

// A hurried forecast has something come in right after the chores were
// brought up to date.
type hurried struct {
	*forecast.Forecast
	knew int64
	then func()
}

func (h *hurried) Refresh() error {
	err := h.Forecast.Refresh()
	h.knew = h.Forecast.Knows()
	if then := h.then; then != nil {
		h.then = nil
		then()
	}
	return err
}

func (h *hurried) Knows() int64 { return h.knew }

// Somebody looks shortly before the look falls due, and the entry comes in
// between the chores and the counting of looks: it is settled, and not a look
// that left the food in.
func TestALookThatComesInDuringATick(t *testing.T) {
	phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
	phone.MustAdvance(23 * time.Hour)
	look := phone.AllGone(feeding)
	h := &hurried{Forecast: phone.Forecast, then: func() { phone.MustStore(nil, look) }}
	other, err := alerts.New(phone.Store, h, phone.Outbound, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Tick(); err != nil {
		t.Fatal(err)
	}
	hourly(phone, 30)
	if got := len(phone.Push.Messages()); got != 0 {
		t.Errorf("%d messages came of a feeding that was seen to", got)
	}
}
