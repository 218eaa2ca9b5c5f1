// Command underlog is the server of one household, and the commands that work
// on its records.
package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"
	_ "time/tzdata" // a small machine may have no time zones of its own

	"github.com/spf13/cobra"
	"rsc.io/qr"

	"underlog/backend/app"
	"underlog/backend/bookcmd"
	"underlog/pwa"
)

func main() {
	root := &cobra.Command{
		Use:   "underlog",
		Short: "Says what every bin of isopods and springtails wants, and when",
		// Errors are sentences; the usage would bury them.
		SilenceUsage: true,
	}
	root.AddCommand(serveCommand(), dashboardCommand(), bookcmd.Chores(time.Now), bookcmd.Book())
	if err := root.Execute(); err != nil {
		os.Exit(1)
	}
}

func serveCommand() *cobra.Command {
	var addr, data string
	command := &cobra.Command{
		Use:   "serve",
		Short: "Serve the app and its records",
		Args:  cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			log := slog.New(slog.NewTextHandler(command.ErrOrStderr(), nil))
			slog.SetDefault(log)
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			server, err := app.Start(app.Config{DataDir: data, Addr: addr, Files: pwa.Dist(), Log: log})
			if err != nil {
				return err
			}
			log.Info("serving", "address", server.Addr(), "data", data)
			greet(command.OutOrStdout(), server.URL(), data)
			err = server.Wait(ctx)
			log.Info("stopping")
			if closeErr := server.Close(); err == nil {
				err = closeErr
			}
			return err
		},
	}
	command.Flags().StringVar(&addr, "http", "127.0.0.1:8090", "address to listen on, host:port")
	command.Flags().StringVar(&data, "data", "./data", "folder that holds everything")
	return command
}

func dashboardCommand() *cobra.Command {
	var data string
	command := &cobra.Command{
		Use:   "dashboard ADDRESS",
		Short: "Make an account for the dashboard, or give it a new password",
		Long: "The dashboard shows every record as a table, at /_/ and from this machine only. Its account\n" +
			"is named by an e-mail address, to which nothing is ever sent. The server may be running.",
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			password, err := app.AddKeeper(data, args[0])
			if err != nil {
				return err
			}
			fmt.Fprintf(command.OutOrStdout(), "The dashboard is at /_/ of the address that Underlog serves, seen from this machine.\nAddress:  %s\nPassword: %s\n", args[0], password)
			return nil
		},
	}
	command.Flags().StringVar(&data, "data", "./data", "folder that holds everything")
	return command
}

func greet(out io.Writer, url, data string) {
	fmt.Fprintf(out, "\nUnderlog is at %s\nIts records are in %s. Ctrl-C stops it.\n\n", url, data)
	if code, err := qr.Encode(url, qr.L); err == nil {
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
