package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"rsc.io/qr"

	"underlog/backend/app"
	"underlog/backend/reach"
	"underlog/pwa"
)

// wish is what the flags of serve ask for.
type wish struct {
	data, plain   string
	home          bool
	names         []string
	guide, secure string
}

func serveCommand() *cobra.Command {
	var w wish
	command := &cobra.Command{
		Use:   "serve",
		Short: "Serve the app and its records",
		Long: "Serves the app on this computer, and to phones in one of two ways:\n\n" +
			"  serve          this computer only\n" +
			"  serve --home   the home network too, with certificates of the home's own authority,\n" +
			"                 and a page that walks a phone through trusting it\n",
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
	flags.BoolVar(&w.home, "home", false, "serve the home network too")
	flags.StringSliceVar(&w.names, "name", nil, "a name of this computer in the home network, such as shed.local; phones are sent to the first")
	flags.StringVar(&w.secure, "https", "", "address to listen on for phones, host:port; :8443 by default")
	flags.StringVar(&w.guide, "guide", ":8081", "address of the page that walks a phone through trusting this home, host:port")
	return command
}

func serve(ctx context.Context, w wish, out io.Writer, log *slog.Logger) error {
	config := app.Config{DataDir: w.data, Addr: w.plain, Files: pwa.Dist(), Log: log}
	var home *reach.Home
	var host string
	if w.home {
		var err error
		if home, err = reach.OpenHome(w.data, w.names, time.Now); err != nil {
			return err
		}
		if host, err = home.Host(); err != nil {
			return err
		}
		if w.secure == "" {
			w.secure = ":8443"
		}
		config.Secure = app.Secure{Addr: w.secure, TLS: home.TLS()}
	}
	server, err := app.Start(config)
	if err != nil {
		return err
	}
	log.Info("serving", "address", server.Addr(), "data", w.data)
	serving := reach.Serving{Here: server.URL(), Way: reach.ThisComputer}
	close := func() error { return nil }
	if home != nil {
		serving.Way, serving.Phones = reach.HomeNetwork, "https://"+net.JoinHostPort(host, server.SecurePort())
		guide := &reach.Guide{Authority: home.Authority, URL: serving.Phones}
		serving.Guide, close, err = serveGuide(w.guide, host, guide)
	}
	server.Pairing.Reach(serving.Phones, serving.Guide)
	if err == nil {
		err = serving.Keep(w.data)
	}
	if err == nil {
		greet(out, serving, home, w.data)
		err = server.Wait(ctx)
	}
	log.Info("stopping")
	return errors.Join(err, close(), server.Close(), reach.ForgetServing(w.data))
}

// serveGuide serves the page that is open before a phone trusts this home.
func serveGuide(address, host string, guide *reach.Guide) (url string, close func() error, err error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return "", func() error { return nil }, fmt.Errorf("the address %s of the page for phones cannot be used: %w: give another with --guide", address, err)
	}
	server := &http.Server{
		Handler:     guide.Handler(),
		ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10,
	}
	go func() { _ = server.Serve(listener) }() // ends with Close
	_, port, _ := net.SplitHostPort(listener.Addr().String())
	return "http://" + net.JoinHostPort(host, port), server.Close, nil
}

func greet(out io.Writer, s reach.Serving, home *reach.Home, data string) {
	fmt.Fprintf(out, "\nUnderlog is at %s\n", s.Here)
	first := s.Here
	switch s.Way {
	case reach.HomeNetwork:
		first = s.Guide
		fmt.Fprintf(out, "On phones in this network it is at %s\nLet each phone trust it once: open %s there, or scan the code below.\n"+
			"Compare the fingerprint that the page shows with this one:\n  %s\n", s.Phones, s.Guide, reach.Fingerprint(home.Authority.Certificate))
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
