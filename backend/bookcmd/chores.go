// Package bookcmd holds the commands that work on books, the room as a file,
// without a server.
package bookcmd

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"underlog/internal/book"
	"underlog/internal/engine"
	"underlog/internal/husbandry"
)

// Chores returns the command `underlog chores`, which computes every window
// from a book. now is the wall clock, which only bounds the times in the book
// and stands in for a missing --at.
func Chores(now func() time.Time) *cobra.Command {
	var file, at string
	var asJSON bool
	command := &cobra.Command{
		Use:   "chores --book FILE",
		Short: "Say what every bin of a book will want, and when",
		Long: "Reads a book (the room as a file, one JSON object a line) and computes what every bin\n" +
			"will want at a time: when each chore opens, is due and closes, and the odds. \"-\" reads\n" +
			"the book from standard input. Lines that are wrong are named and left out, and the\n" +
			"command then ends with exit status 1 after doing the rest.",
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			moment := now()
			if at != "" {
				var err error
				if moment, err = time.Parse(time.RFC3339, at); err != nil {
					return fmt.Errorf("--at is %q: give a time such as 2026-06-01T08:00:00+02:00", at)
				}
			}
			room, err := readFile(file, command.InOrStdin(), latest(moment, now()))
			if err != nil {
				return err
			}
			if at == "" && !room.At.IsZero() {
				moment = room.At
			}
			for _, finding := range append(room.Warnings, room.Problems...) {
				fmt.Fprintln(command.ErrOrStderr(), finding)
			}
			e := engine.New()
			e.Put(husbandry.Seeds(), nil)
			e.Put(room.Sheets, room.Entries)
			survey := e.SurveyWithForecasts(moment)
			if asJSON {
				err = printJSON(command.OutOrStdout(), survey)
			} else {
				err = printTable(command.OutOrStdout(), survey, room)
			}
			if err == nil && len(room.Problems) > 0 {
				err = fmt.Errorf("%d lines of the book were left out (see above)", len(room.Problems))
			}
			return err
		},
	}
	command.Flags().StringVar(&file, "book", "", "the book to read (- for standard input)")
	command.Flags().StringVar(&at, "at", "", "the time to ask for, RFC 3339 (default: the book's own, else now)")
	command.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a line, with forecasts")
	_ = command.MarkFlagRequired("book")
	return command
}

func readFile(file string, stdin io.Reader, now time.Time) (*book.Book, error) {
	if file == "-" {
		return book.Read(stdin, now)
	}
	opened, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("the book cannot be opened: %w", err)
	}
	defer func() { err = errors.Join(err, opened.Close()) }()
	return book.Read(opened, now)
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func printJSON(w io.Writer, survey engine.Survey) error {
	out := bufio.NewWriter(w)
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	for _, chore := range survey.Chores {
		if err := encoder.Encode(chore); err != nil {
			return err
		}
	}
	return out.Flush()
}

func printTable(w io.Writer, survey engine.Survey, room *book.Book) error {
	names := map[string]string{}
	for _, sheet := range room.Sheets {
		if bin, err := husbandry.AsBin(sheet); sheet.Sheet == "bins" && err == nil {
			names[bin.ID] = bin.Place() + " " + bin.Name
		}
	}
	table := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(table, "DUE\tBIN\tCHORE\tWHY")
	for _, chore := range survey.Chores {
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n",
			chore.Due.Format("Mon 2 Jan 15:04"), names[chore.Bin], chore.Chore, chore.Reason)
	}
	return table.Flush()
}
