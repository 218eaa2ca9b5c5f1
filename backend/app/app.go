// Package app wires the server together: PocketBase, the store, the exchange,
// the forecasts, the alerts and the app's files. The command starts it with
// the wall clock; tests start it with a clock of their own, a temporary folder
// and port 0.
package app

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/alerts"
	"underlog/backend/books"
	"underlog/backend/calendar"
	"underlog/backend/exchange"
	"underlog/backend/forecast"
	"underlog/backend/household"
	"underlog/backend/pairing"
	"underlog/backend/paper"
	"underlog/backend/passes"
	"underlog/backend/photos"
	"underlog/backend/scores"
	"underlog/backend/sessions"
	"underlog/backend/store"
	"underlog/backend/web"
)

// Config is what the server needs to know. The zero value of a field is the
// usual one.
type Config struct {
	DataDir string          // everything that is kept; made if absent
	Addr    string          // host:port; port 0 takes a free one
	Clock   clockwork.Clock // the wall clock
	Files   fs.FS           // the built app
	Log     *slog.Logger    // slog's default
	Push    alerts.Outbound // the way to the push services
	Secure  Secure          // where phones reach the server; nowhere by default
	// Dashboard are the networks from which it may be opened besides this
	// machine; none by default.
	Dashboard []netip.Prefix
}

// Secure is the way in from outside of this machine.
type Secure struct {
	Addr string      // host:port
	TLS  *tls.Config // nil: there is no such way
}

// Main is the wired server.
type Main struct {
	Store    *store.Store
	Forecast *forecast.Forecast
	Alerts   *alerts.Alerts
	Scores   *scores.Scores
	Pairing  *pairing.Routes

	sessions *sessions.Sessions
	config   Config
	pb       *core.BaseApp
	listener *listeners
	unlock   func() error // of the data folder
	served   chan error
}

// Start opens the data folder and serves. After it returned, requests are
// answered until Close.
func Start(config Config) (*Main, error) {
	if config.Clock == nil {
		config.Clock = clockwork.NewRealClock()
	}
	if config.Log == nil {
		config.Log = slog.Default()
	}
	m := &Main{config: config, served: make(chan error, 1)}
	m.pb = core.NewBaseApp(core.BaseAppConfig{DataDir: config.DataDir, DBConnect: store.Open})
	m.Store = store.New(m.pb, config.Clock)
	m.sessions = sessions.New(m.Store)
	m.Pairing = &pairing.Routes{Store: m.Store}
	forward(m.pb, config.Log)
	if err := m.open(); err != nil {
		return nil, errors.Join(err, m.release())
	}
	ready := make(chan struct{})
	m.pb.OnServe().BindFunc(func(se *core.ServeEvent) error {
		se.InstallerFunc = nil // our own first page sets up
		se.Listener = m.listener
		if config.Secure.TLS != nil {
			se.Server.TLSConfig = config.Secure.TLS // tells the server which protocols it may speak
		}
		m.Bind(se)
		if err := se.Next(); err != nil {
			return err
		}
		close(ready)
		return nil
	})
	go func() { m.served <- apis.Serve(m.pb, apis.ServeConfig{HttpAddr: m.listener.Addr().String()}) }()
	select {
	case <-ready:
		return m, nil
	case err := <-m.served:
		return nil, errors.Join(fmt.Errorf("the server does not start: %w", err), m.release())
	}
}

func (m *Main) open() error {
	unlock, err := store.Lock(m.config.DataDir)
	if err != nil {
		return err
	}
	m.unlock = unlock
	if err := m.pb.Bootstrap(); err != nil {
		return fmt.Errorf("the data folder %s cannot be opened: %w", m.config.DataDir, err)
	}
	if err := m.pb.RunAllMigrations(); err != nil {
		return fmt.Errorf("the database in %s cannot be brought up to date: %w", m.config.DataDir, err)
	}
	if err := m.Store.Check(); err != nil {
		return fmt.Errorf("%s: %w", m.config.DataDir, err)
	}
	if err := m.Store.RenewSeeds(); err != nil {
		return fmt.Errorf("the kinds and foods in %s cannot be brought up to date: %w", m.config.DataDir, err)
	}
	// The address is taken before anything is sent: a second server on the
	// same folder fails here.
	if m.listener, err = listen(m.config.Addr, m.config.Secure); err != nil {
		return err
	}
	m.Store.OnChange(exchange.Nudge(m.pb))
	m.Scores = scores.New(m.Store, m.config.Log)
	if m.Forecast, err = forecast.Start(m.Store, m.config.Log, m.Scores.Take); err != nil {
		return fmt.Errorf("the forecasts cannot begin: %w", err)
	}
	if m.Alerts, err = alerts.New(m.Store, m.Forecast, m.config.Push, m.config.Log); err != nil {
		return fmt.Errorf("the alerts cannot begin: %w", err)
	}
	return m.Alerts.Start()
}

// release gives back what open took, in the other order.
func (m *Main) release() error {
	var err error
	if m.Alerts != nil {
		err = m.Alerts.Close()
	}
	if m.Forecast != nil {
		m.Forecast.Close()
	}
	if m.listener != nil {
		_ = m.listener.Close() // the server has closed it already, or never had it
	}
	err = errors.Join(err, m.pb.ResetBootstrapState())
	if m.unlock != nil {
		err = errors.Join(err, m.unlock())
	}
	return err
}

// Bind adds every route that is not PocketBase's own, and the guard before all of them.
func (m *Main) Bind(se *core.ServeEvent) {
	web.Guard(se, m.config.Dashboard)
	m.sessions.Bind(se)
	(&household.Routes{Store: m.Store}).Bind(se)
	(&books.Routes{Store: m.Store, OwnerOnly: household.RequireOwner()}).Bind(se)
	(&exchange.Route{Store: m.Store}).Bind(se)
	m.Pairing.Bind(se)
	sitters := &passes.Routes{Store: m.Store, Forecast: m.Forecast, OwnerOnly: household.RequireOwner(), Addresses: m.Pairing.Addresses}
	sitters.Bind(se)
	(&photos.Routes{Store: m.Store, Guests: photos.Guests{
		Path: passes.DoorPath + "/photos", Door: sitters.Door(), MayBring: sitters.MayBring, MaySee: sitters.MaySee,
	}}).Bind(se)
	(&paper.Routes{Store: m.Store, OwnerOnly: household.RequireOwner()}).Bind(se)
	(&calendar.Routes{Store: m.Store, Planner: m.Forecast}).Bind(se)
	m.Alerts.Bind(se)
	m.Scores.Bind(se)
	(&web.App{Files: m.config.Files}).Bind(se)
}

// Addr is where the server listens, host:port.
func (m *Main) Addr() string { return m.listener.Addr().String() }

// SecurePort is the port of the secure address, empty where there is none.
func (m *Main) SecurePort() string {
	address := m.listener.secureAddr()
	if address == nil {
		return ""
	}
	_, port, _ := net.SplitHostPort(address.String()) // it was listened to
	return port
}

// URL is where the app is, seen from this machine.
func (m *Main) URL() string {
	host, port, err := net.SplitHostPort(m.Addr())
	if err != nil {
		return "http://" + m.Addr()
	}
	if ip := net.ParseIP(host); ip != nil && (ip.IsLoopback() || ip.IsUnspecified()) {
		host = "localhost"
	}
	return "http://" + net.JoinHostPort(host, port)
}

// Close answers what is being asked, writes down what is to be written and
// closes the data folder.
func (m *Main) Close() error {
	event := &core.TerminateEvent{App: m.pb}
	err := m.pb.OnTerminate().Trigger(event, func(*core.TerminateEvent) error { return m.release() })
	select {
	case serveErr := <-m.served:
		return errors.Join(err, serveErr)
	case <-time.After(5 * time.Second):
		return errors.Join(err, errors.New("the server did not stop within 5 seconds"))
	}
}

// Wait returns when ctx ends or the server fails.
func (m *Main) Wait(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return nil
	case err := <-m.served:
		m.served <- err
		if err == nil {
			err = errors.New("the server stopped by itself")
		}
		return err
	}
}
