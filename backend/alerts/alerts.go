// Package alerts tells phones what will not wait, through Web Push (RFC 8030,
// 8291, 8292): leftovers whose look is due, dampness at risk, and before the
// usual round, in one digest, everything else.
//
// Once a minute it looks what is due. Each alert for each device is written
// down as a delivery, once for ever, before it is sent; its instant follows
// the household's time zone and the device's quiet hours. A delivery that was
// settled meanwhile, or that would come too late to be of use, is not sent. A
// server that stops between the sending and the writing down sends once more:
// the message carries the same topic and tag, so that the second takes the
// place of the first.
package alerts

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/go-co-op/gocron/v2"

	"underlog/backend/store"
)

// A Forecast keeps the chores up to date.
type Forecast interface {
	Refresh() error // brings the stored chores up to date
	Knows() int64   // the feed's number up to which they know the records
}

// Alerts sends a household's alerts.
type Alerts struct {
	store    *store.Store
	forecast Forecast
	sender   *sender
	doorman  *doorman
	log      *slog.Logger

	scheduler gocron.Scheduler
	context   context.Context
	cancel    context.CancelFunc

	rousing sync.WaitGroup // ticks out of turn
	ticking sync.Mutex
	tidied  time.Time // guarded by ticking

	habits struct {
		sync.Mutex
		of map[string]learned // by person; "" is the household
	}
}

// New makes the alerts of a store; keys are made if there are none yet.
func New(s *store.Store, forecast Forecast, outbound Outbound, log *slog.Logger) (*Alerts, error) {
	identity, err := findIdentity(s)
	if err != nil {
		return nil, err
	}
	contact, err := s.Key(store.KeyContact)
	if err != nil {
		return nil, err
	}
	if _, problem := checkContact(contact); problem != nil {
		log.Error("alerts: push services will refuse what is sent", "contact", problem.Error())
	}
	doorman := &doorman{trusting: outbound.AnyEndpoint}
	ctx, cancel := context.WithCancel(context.Background())
	a := &Alerts{
		store: s, forecast: forecast, doorman: doorman, log: log, context: ctx, cancel: cancel,
		sender: newSender(s, identity, outbound, doorman),
	}
	a.habits.of = map[string]learned{}
	s.OnChange(a.hear)
	return a, nil
}

// Start begins to tick, once a minute of the store's clock.
func (a *Alerts) Start() error {
	var err error
	a.scheduler, err = gocron.NewScheduler(gocron.WithClock(a.store.Clock), gocron.WithLocation(time.UTC), gocron.WithStopTimeout(12*time.Second))
	if err != nil {
		return err
	}
	_, err = a.scheduler.NewJob(gocron.DurationJob(time.Minute), gocron.NewTask(a.tickAndLog),
		gocron.WithSingletonMode(gocron.LimitModeReschedule), gocron.WithStartAt(gocron.WithStartImmediately()))
	if err != nil {
		return err
	}
	a.scheduler.Start()
	return nil
}

// Close lets the tick at hand write down what it did and stops ticking.
func (a *Alerts) Close() error {
	a.cancel()
	a.rousing.Wait()
	a.ticking.Lock()
	defer a.ticking.Unlock()
	if a.scheduler == nil {
		return nil
	}
	return a.scheduler.Shutdown()
}

func (a *Alerts) tickAndLog() {
	if err := a.Tick(); err != nil {
		a.log.Error("alerts: a tick failed", "error", err)
	}
}

// Tick does what is due at the clock's time: plans new deliveries, and sends
// those whose instant has come. It may be called at any time, by anybody.
func (a *Alerts) Tick() error {
	a.ticking.Lock()
	defer a.ticking.Unlock()
	if a.context.Err() != nil {
		return nil
	}
	if err := a.forecast.Refresh(); err != nil {
		return fmt.Errorf("the chores are not up to date: %w", err)
	}
	now := a.store.Clock.Now()
	zone, err := a.store.Zone()
	if err != nil {
		return err
	}
	phones, err := a.phones()
	if err != nil {
		return err
	}
	if err := a.plan(now, zone, phones); err != nil {
		return err
	}
	if err := a.deliver(now, zone, phones); err != nil {
		return err
	}
	return a.tidy(now)
}

// kept is how long it is kept what became of deliveries.
const kept = 200 * 24 * time.Hour

// tidy lets go of what is old, once a day.
func (a *Alerts) tidy(now time.Time) error {
	if age := now.Sub(a.tidied); age >= 0 && age < 24*time.Hour {
		return nil
	}
	a.tidied = now
	return a.store.TidyDeliveries(now.Add(-kept))
}
