package bookcmd

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/pocketbase/core"
	"github.com/spf13/cobra"

	"underlog/backend/books"
	"underlog/backend/store"
	"underlog/internal/book"
)

// Book returns the command `underlog book`, which writes the household of a
// data folder to a file and takes one in.
func Book() *cobra.Command {
	command := &cobra.Command{Use: "book", Short: "Write the room to a file, or take one in"}
	command.AddCommand(exportCommand(), importCommand())
	return command
}

func exportCommand() *cobra.Command {
	var data string
	command := &cobra.Command{
		Use:   "export FILE",
		Short: "Write the room to a file (- for standard output)",
		Args:  cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			return withStore(data, func(s *store.Store) error {
				b, err := books.Write(s)
				if err != nil {
					return err
				}
				if args[0] == "-" {
					return book.Write(command.OutOrStdout(), b)
				}
				if err := writeFile(args[0], b); err != nil {
					return err
				}
				fmt.Fprintf(command.ErrOrStderr(), "Wrote %d sheets and %d entries to %s.\n", len(b.Sheets), len(b.Entries), args[0])
				return nil
			})
		},
	}
	command.Flags().StringVar(&data, "data", "./data", "folder that holds everything")
	return command
}

// writeFile writes beside the file and then renames, so that a full disk
// leaves an older book as it was.
func writeFile(name string, b *book.Book) error {
	file, err := os.CreateTemp(filepath.Dir(name), ".book-*")
	if err != nil {
		return fmt.Errorf("the book cannot be written: %w", err)
	}
	err = errors.Join(book.Write(file, b), file.Sync(), file.Close())
	if err == nil {
		err = os.Rename(file.Name(), name)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("the book cannot be written: %w", err), os.Remove(file.Name()))
	}
	return nil
}

func importCommand() *cobra.Command {
	var data string
	var dry bool
	command := &cobra.Command{
		Use:   "import FILE",
		Short: "Take a book in: add what is not here yet (- for standard input)",
		Long: "Adds the bins, kinds, foods and entries of a book that are not here yet. What is here\n" +
			"stays as it is. --dry only says what would be added. Underlog must not be running on\n" +
			"the folder: while it runs, use the button in the app under Room.",
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			b, err := readFile(args[0], command.InOrStdin(), time.Now())
			if err != nil {
				return err
			}
			return withStore(data, func(s *store.Store) error {
				owner, err := ownerOf(s)
				if err != nil {
					return err
				}
				summary, err := books.Take(s, b, owner, dry, progressTo(command.ErrOrStderr()))
				report(command.OutOrStdout(), summary, dry)
				return err
			})
		},
	}
	command.Flags().StringVar(&data, "data", "./data", "folder that holds everything")
	command.Flags().BoolVar(&dry, "dry", false, "only say what would be added")
	return command
}

func progressTo(w io.Writer) func(done, all int) {
	return func(done, all int) {
		fmt.Fprintf(w, "\r%d of %d records", done, all)
		if done == all {
			fmt.Fprintln(w)
		}
	}
}

func report(w io.Writer, s books.Summary, dry bool) {
	verb := "Added"
	if dry {
		verb = "Would add"
	}
	for _, finding := range append(s.Warnings, s.Problems...) {
		fmt.Fprintln(w, finding)
	}
	fmt.Fprintf(w, "%s %d bins, %d kinds, %d foods and %d entries; %d records were here already, %d lines left out.\n",
		verb, s.Bins, s.Kinds, s.Foods, s.Entries, s.Already, len(s.Problems))
}

// ownerOf returns the owner on whose behalf a book is taken in.
func ownerOf(s *store.Store) (string, error) {
	people, err := s.People()
	if err != nil {
		return "", err
	}
	for _, person := range people {
		if person.Role == store.Owner {
			return person.ID, nil
		}
	}
	return "", errors.New("nobody has set up a room in this folder yet: start Underlog, set one up, then take the book in")
}

// withStore opens the store of a data folder that no server is running on.
func withStore(data string, do func(*store.Store) error) (err error) {
	if _, err := os.Stat(data); err != nil {
		return fmt.Errorf("the data folder cannot be opened: %w", err)
	}
	release, err := store.Lock(data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	app := core.NewBaseApp(core.BaseAppConfig{DataDir: data, DBConnect: store.Open})
	s := store.New(app, clockwork.NewRealClock())
	if err := app.Bootstrap(); err != nil {
		return fmt.Errorf("the data folder %s cannot be opened: %w", data, err)
	}
	defer func() { err = errors.Join(err, app.ResetBootstrapState()) }()
	if err := app.RunAllMigrations(); err != nil {
		return fmt.Errorf("the database in %s cannot be brought up to date: %w", data, err)
	}
	return do(s)
}
