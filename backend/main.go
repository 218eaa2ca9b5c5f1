// Command underlog is the server of one household, and the commands that work
// on its records.
package main

import (
	"fmt"
	"os"
	"time"
	_ "time/tzdata" // a small machine may have no time zones of its own

	"github.com/spf13/cobra"

	"underlog/backend/app"
	"underlog/backend/bookcmd"
	"underlog/backend/doctor"
)

func main() {
	root := &cobra.Command{
		Use:   "underlog",
		Short: "Says what every bin of isopods and springtails wants, and when",
		// Errors are sentences; the usage would bury them.
		SilenceUsage: true,
	}
	root.AddCommand(serveCommand(), dashboardCommand(), bookcmd.Chores(time.Now), bookcmd.Book(), doctor.Command())
	if err := root.Execute(); err != nil {
		os.Exit(1)
	}
}

func dashboardCommand() *cobra.Command {
	var data string
	command := &cobra.Command{
		Use:   "dashboard ADDRESS",
		Short: "Make an account for the dashboard, or give it a new password",
		Long: "The dashboard shows every record as a table, at /_/ and from this machine only, unless\n" +
			"serve --dashboard-from names a network. Its account is named by an e-mail address, to which\n" +
			"nothing is ever sent. The server may be running.",
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
