package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/signal"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/spf13/cobra"
	"rsc.io/qr"

	"underlog/backend/app"
	"underlog/backend/reach"
	"underlog/pwa"
)

// wish is what the flags of serve ask for.
type wish struct {
	data, plain, secure string
	home                bool
	names               []string
	guide               string
	domain              string
	program             string
	directory, contact  string
	challenge           string
	dashboard           []string
}

func serveCommand() *cobra.Command {
	var w wish
	command := &cobra.Command{
		Use:   "serve",
		Short: "Serve the app and its records",
		Long: "Serves the app on this computer, and to phones in one of two ways:\n\n" +
			"  serve                  this computer only\n" +
			"  serve --home           the home network too, with certificates of the home's own authority\n" +
			"                         and a page that walks a phone through trusting it\n" +
			"  serve --domain NAME    a public name, with certificates that an ACME authority gives:\n" +
			"                         over the web (ports 80 and 443 must lead here), or, with --dns PROGRAM,\n" +
			"                         by a record in the name's zone, with nothing open to the world\n",
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			log := slog.New(slog.NewTextHandler(command.ErrOrStderr(), nil))
			slog.SetDefault(log)
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			return serve(ctx, w, command.OutOrStdout(), log)
		},
	}
	flags := command.Flags()
	flags.StringVar(&w.plain, "http", "127.0.0.1:8090", "address to listen on for this computer, host:port")
	flags.StringVar(&w.data, "data", "./data", "folder that holds everything")
	flags.StringVar(&w.secure, "https", "", "address to listen on for phones, host:port; by default :8443 at home and :443 for a public name")
	flags.BoolVar(&w.home, "home", false, "serve the home network too")
	flags.StringSliceVar(&w.names, "name", nil, "a name of this computer in the home network, such as shed.local; phones are sent to the first")
	flags.StringVar(&w.guide, "guide", ":8081", "address of the page that walks a phone through trusting this home, host:port")
	flags.StringVar(&w.domain, "domain", "", "serve a public name too, such as bins.example.org")
	flags.StringVar(&w.program, "dns", "", "program that sets and removes the record in the name's zone, called as\nPROGRAM present|cleanup RECORD VALUE")
	flags.StringVar(&w.challenge, "challenge", ":80", "address at which an authority asks over the web, host:port")
	flags.StringVar(&w.directory, "acme", "", "address of the authority's directory, if not the usual one")
	flags.StringSliceVar(&w.dashboard, "dashboard-from", nil, "a network whose machines may open the dashboard too, such as 192.168.7.0/24; only by the\naddress for phones, since a password travels")
	flags.StringVar(&w.contact, "contact", "", "e-mail address for the authority")
	command.MarkFlagsMutuallyExclusive("home", "domain")
	return command
}

// A way is how phones reach the server.
type way struct {
	secure  app.Secure
	name    string                                        // as serving.json says it
	host    string                                        // that phones ask for
	usual   string                                        // the port that an address need not name
	open    func(phones string) (guide string, err error) // what else is served, once the server is up
	greet   func(out io.Writer, s reach.Serving)
	closers []func() error
}

func (w *way) close() error {
	var err error
	for _, closer := range w.closers {
		err = errors.Join(err, closer())
	}
	return err
}

// find readies the way that was wished for; nil where there is none.
func (w wish) find(ctx context.Context, log *slog.Logger) (*way, error) {
	switch {
	case w.home:
		return w.atHome()
	case w.domain != "":
		return w.inPublic(ctx, log)
	}
	return nil, nil
}

func (w wish) atHome() (*way, error) {
	home, err := reach.OpenHome(w.data, w.names, time.Now)
	if err != nil {
		return nil, err
	}
	host, err := home.Host()
	if err != nil {
		return nil, err
	}
	found := &way{name: reach.HomeNetwork, host: host, secure: app.Secure{Addr: orElse(w.secure, ":8443"), TLS: home.TLS()}}
	found.open = func(phones string) (string, error) {
		guide := &reach.Guide{Authority: home.Authority, URL: phones}
		address, close, err := listenPlain(w.guide, guide.Handler())
		if err != nil {
			return "", fmt.Errorf("the page for phones cannot be served: %w: give another address with --guide", err)
		}
		found.closers = append(found.closers, close)
		_, port, _ := net.SplitHostPort(address)
		return "http://" + net.JoinHostPort(host, port), nil
	}
	found.greet = func(out io.Writer, s reach.Serving) {
		fmt.Fprintf(out, "On phones in this network it is at %s\nLet each phone trust it once: open %s there, or scan the code below.\n"+
			"Compare the fingerprint that the page shows with this one:\n  %s\n", s.Phones, s.Guide, reach.Fingerprint(home.Authority.Certificate))
	}
	return found, nil
}

func (w wish) inPublic(ctx context.Context, log *slog.Logger) (*way, error) {
	public := &reach.Public{Domain: w.domain, Data: w.data, Contact: w.contact, Directory: w.directory, Program: w.program, Log: log, Clock: clockwork.NewRealClock()}
	if err := public.Open(); err != nil {
		return nil, err
	}
	found := &way{name: reach.PublicName, host: w.domain, usual: "443", secure: app.Secure{Addr: orElse(w.secure, ":443"), TLS: public.TLS()}}
	found.open = func(phones string) (string, error) {
		if w.program == "" {
			_, close, err := listenPlain(w.challenge, public.Plain(phones))
			if err != nil {
				return "", fmt.Errorf("the authority cannot ask over the web: %w: give an address to which port 80 of %s leads with --challenge, or use --dns", err, w.domain)
			}
			found.closers = append(found.closers, close)
		}
		var keeping sync.WaitGroup
		ctx, stop := context.WithCancel(ctx)
		keeping.Go(func() { public.Keep(ctx) })
		found.closers = append(found.closers, func() error { stop(); keeping.Wait(); return nil })
		return "", nil
	}
	found.greet = func(out io.Writer, s reach.Serving) {
		fmt.Fprintf(out, "On phones it is at %s, as soon as the certificate has come: see the log.\n", s.Phones)
	}
	return found, nil
}

// networks reads what --dashboard-from names.
func networks(names []string) ([]netip.Prefix, error) {
	found := make([]netip.Prefix, len(names))
	for i, name := range names {
		network, err := netip.ParsePrefix(name)
		if err != nil {
			return nil, fmt.Errorf("--dashboard-from is %s: give a network such as 192.168.7.0/24 or fd00:7::/64", name)
		}
		found[i] = network.Masked()
	}
	return found, nil
}

func orElse(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

func serve(ctx context.Context, w wish, out io.Writer, log *slog.Logger) error {
	config := app.Config{DataDir: w.data, Addr: w.plain, Files: pwa.Dist(), Log: log}
	var err error
	if config.Dashboard, err = networks(w.dashboard); err != nil {
		return err
	}
	way, err := w.find(ctx, log)
	if err != nil {
		return err
	}
	if way != nil {
		config.Secure = way.secure
	}
	server, err := app.Start(config)
	if err != nil {
		return err
	}
	log.Info("serving", "address", server.Addr(), "data", w.data)
	serving := reach.Serving{Here: server.URL(), Way: reach.ThisComputer}
	if way != nil {
		serving.Way, serving.Phones = way.name, "https://"+way.host
		if port := server.SecurePort(); port != way.usual {
			serving.Phones = "https://" + net.JoinHostPort(way.host, port)
		}
		serving.Guide, err = way.open(serving.Phones)
	}
	server.Pairing.Reach(serving.Phones, serving.Guide)
	if err == nil {
		err = serving.Keep(w.data)
	}
	if err == nil {
		greet(out, serving, way, w.data)
		err = server.Wait(ctx)
	}
	log.Info("stopping")
	if way != nil {
		err = errors.Join(err, way.close())
	}
	return errors.Join(err, server.Close(), reach.ForgetServing(w.data))
}

// listenPlain serves something small over plain http until it is closed.
func listenPlain(address string, handler http.Handler) (at string, close func() error, err error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return "", nil, fmt.Errorf("the address %s cannot be used: %w", address, err)
	}
	server := &http.Server{Handler: handler, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10}
	go func() { _ = server.Serve(listener) }() // ends with Close
	return listener.Addr().String(), server.Close, nil
}

func greet(out io.Writer, s reach.Serving, way *way, data string) {
	fmt.Fprintf(out, "\nUnderlog is at %s\n", s.Here)
	first := s.Here
	if way != nil {
		way.greet(out, s)
		first = orElse(s.Guide, s.Phones)
	}
	fmt.Fprintf(out, "Its records are in %s. Ctrl-C stops it.\n\n", data)
	if code, err := qr.Encode(first, qr.L); err == nil {
		fmt.Fprintln(out, halfBlocks(code))
	}
}

// halfBlocks draws a code with two rows of it in each line of text. Light is
// drawn and dark left out, for terminals are dark and readers want contrast.
func halfBlocks(code *qr.Code) string {
	const quiet = 2
	light := func(x, y int) bool { return !code.Black(x, y) } // outside of the code is light
	var text strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		for x := -quiet; x < code.Size+quiet; x++ {
			switch upper, lower := light(x, y), light(x, y+1); {
			case upper && lower:
				text.WriteRune('█')
			case upper:
				text.WriteRune('▀')
			case lower:
				text.WriteRune('▄')
			default:
				text.WriteRune(' ')
			}
		}
		text.WriteByte('\n')
	}
	return text.String()
}
