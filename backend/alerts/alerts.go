// Package alerts tells phones what will not wait: leftovers whose look is
// due, through Web Push (RFC 8030, 8291, 8292).
//
// Once a minute it looks which chores are due. Each alert for each device is
// written down as a delivery, once for ever, before it is sent; its instant
// follows the household's time zone and the device's quiet hours. A delivery
// that was settled meanwhile, or that would come too late to be of use, is
// not sent. A server that stops between the sending and the writing down
// sends once more: the message carries a topic and a tag, so that the second
// takes the place of the first.
package alerts

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/SherClockHolmes/webpush-go"
	"github.com/go-co-op/gocron/v2"

	"underlog/backend/store"
)

// Alerts sends a household's alerts.
type Alerts struct {
	store   *store.Store
	refresh func() error // brings the chores up to date
	sender  *sender
	doorman *doorman
	log     *slog.Logger

	scheduler gocron.Scheduler
	context   context.Context
	cancel    context.CancelFunc
	ticking   sync.Mutex
}

// New makes the alerts of a store; keys are made if there are none yet.
func New(s *store.Store, refresh func() error, outbound Outbound, log *slog.Logger) (*Alerts, error) {
	public, private, err := keys(s)
	if err != nil {
		return nil, err
	}
	doorman := &doorman{trusting: outbound.AnyEndpoint}
	ctx, cancel := context.WithCancel(context.Background())
	return &Alerts{
		store: s, refresh: refresh, doorman: doorman, log: log, context: ctx, cancel: cancel,
		sender: newSender(s, public, private, outbound, doorman),
	}, nil
}

// keys returns the application server's key pair (RFC 8292), made at the
// first start. Subscriptions are bound to it, so it is kept with the records.
func keys(s *store.Store) (public, private string, err error) {
	if public, err = s.Key(store.KeyVAPIDPublic); err != nil {
		return "", "", err
	}
	if private, err = s.Key(store.KeyVAPIDPrivate); err != nil {
		return "", "", err
	}
	if public != "" && private != "" {
		return public, private, nil
	}
	if private, public, err = webpush.GenerateVAPIDKeys(); err != nil {
		return "", "", fmt.Errorf("keys for alerts cannot be made: %w", err)
	}
	if err := s.SetKey(s.App, store.KeyVAPIDPrivate, private); err != nil {
		return "", "", err
	}
	return public, private, s.SetKey(s.App, store.KeyVAPIDPublic, public)
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
	if err := a.refresh(); err != nil {
		return fmt.Errorf("the chores are not up to date: %w", err)
	}
	now := a.store.Clock.Now()
	standing, err := a.plan(now)
	if err != nil {
		return err
	}
	return a.deliver(now, standing)
}
