// Command apptest is the whole server as the end-to-end tests start it: the
// same wiring, with a clock that the tests put forward and a push service of
// their own. A loopback port takes their orders:
//
//	GET  /now                 {"now": RFC 3339}
//	POST /advance             {"by": "25h"} or {"to": RFC 3339} -> {"now": ...}; returns when what fell due is done
//	GET  /listeners           {"count": 2}, how many wait for hints of news
//	GET  /push                {"messages": [...decrypted], "problems": [...]}
//	POST /push/subscription   -> {"endpoint", "keys"}, as a browser would give it
//	POST /push/answer         {"status": 410} answers so from now on; 0 is sound again
//
// Killed and started again with the same folder, addresses and time it goes
// on where it was; only the push service forgets.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"sync/atomic"
	"syscall"
	"time"
	_ "time/tzdata" // as the product has them

	"github.com/jonboulle/clockwork"

	"underlog/backend/alerts"
	"underlog/backend/app"
	"underlog/backend/pushtest"
	"underlog/pwa"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run() error {
	data := flag.String("data", "", "data folder")
	addr := flag.String("http", "127.0.0.1:0", "address of the server")
	control := flag.String("control", "127.0.0.1:0", "address for orders")
	at := flag.String("at", "", "the clock's time, RFC 3339; now by default")
	still := flag.Bool("still", false, "the clock stands between orders")
	dist := flag.String("dist", "", "folder of the built app, instead of the one that is built in")
	phones := flag.String("phones", "", "where phones reach the server, as pairing tells them")
	flag.Parse()
	start := time.Now()
	if *at != "" {
		var err error
		if start, err = time.Parse(time.RFC3339, *at); err != nil {
			return fmt.Errorf("-at is %q: give a time such as 2026-05-28T19:05:00+02:00", *at)
		}
	}
	if *data == "" {
		return errors.New("-data is missing: give a folder")
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	bench := &bench{clock: clockwork.NewFakeClockAt(start), push: pushtest.Start()}
	bench.push.Answer, bench.push.Now = bench.answer, bench.clock.Now
	defer bench.push.Close()
	files := pwa.Dist()
	if *dist != "" {
		files = os.DirFS(*dist)
	}
	server, err := app.Start(app.Config{
		DataDir: *data, Addr: *addr, Clock: bench.clock, Files: files,
		Log: slog.New(slog.NewTextHandler(os.Stderr, nil)), Push: alerts.Outbound{AnyEndpoint: true},
	})
	if err != nil {
		return err
	}
	bench.server = server
	server.Pairing.Reach(*phones, "")
	listener, err := net.Listen("tcp", *control)
	if err != nil {
		return errors.Join(err, server.Close())
	}
	orders := &http.Server{Handler: bench.orders()}
	go func() { _ = orders.Serve(listener) }()
	if !*still {
		go bench.flow(ctx)
	}
	// One line that a test can wait for.
	fmt.Printf(`{"url":"http://%s","control":"http://%s"}`+"\n", server.Addr(), listener.Addr())
	err = server.Wait(ctx)
	return errors.Join(err, orders.Close(), server.Close())
}

type bench struct {
	clock  *clockwork.FakeClock
	push   *pushtest.Receiver
	server *app.Main
	status atomic.Int64 // what the push service answers, 0 for what is right
}

// flow has the clock go on as clocks do.
func (b *bench) flow(ctx context.Context) {
	const step = 100 * time.Millisecond
	ticker := time.NewTicker(step)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
			b.clock.Advance(step)
		}
	}
}

func (b *bench) answer(w http.ResponseWriter, _ *http.Request) bool {
	if status := int(b.status.Load()); status != 0 {
		w.WriteHeader(status)
		return false
	}
	return true
}

func (b *bench) orders() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /now", func(w http.ResponseWriter, _ *http.Request) { b.sayNow(w) })
	mux.HandleFunc("POST /advance", b.advance)
	mux.HandleFunc("GET /listeners", func(w http.ResponseWriter, _ *http.Request) {
		count := 0
		for _, client := range b.server.Store.App.SubscriptionsBroker().Clients() {
			if client.HasSubscription("news") {
				count++
			}
		}
		say(w, map[string]int{"count": count})
	})
	mux.HandleFunc("GET /push", func(w http.ResponseWriter, _ *http.Request) {
		say(w, map[string]any{"messages": b.push.Messages(), "problems": b.push.Problems()})
	})
	mux.HandleFunc("POST /push/subscription", func(w http.ResponseWriter, _ *http.Request) { say(w, b.push.Subscribe()) })
	mux.HandleFunc("POST /push/answer", func(w http.ResponseWriter, r *http.Request) {
		var order struct{ Status int64 }
		if err := json.NewDecoder(r.Body).Decode(&order); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		b.status.Store(order.Status)
		say(w, order)
	})
	return mux
}

func (b *bench) advance(w http.ResponseWriter, r *http.Request) {
	var order struct{ By, To string }
	if err := json.NewDecoder(r.Body).Decode(&order); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	by, err := time.ParseDuration(order.By)
	if order.To != "" {
		var to time.Time
		to, err = time.Parse(time.RFC3339, order.To)
		by = to.Sub(b.clock.Now())
	}
	if err != nil || by < 0 {
		http.Error(w, fmt.Sprintf("by or to does not fit (%v): the clock only goes forward", err), http.StatusBadRequest)
		return
	}
	if err := b.forward(by); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	b.sayNow(w)
}

// forward puts the clock forward and returns when what fell due is done. The
// scheduler's own tick, which the clock sets off too, may be before or after.
func (b *bench) forward(by time.Duration) error {
	b.clock.Advance(by)
	return b.server.Alerts.Tick()
}

func (b *bench) sayNow(w http.ResponseWriter) {
	say(w, map[string]string{"now": b.clock.Now().UTC().Format(time.RFC3339Nano)})
}

func say(w http.ResponseWriter, what any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(what) // a test that hung up has no use for it
}
