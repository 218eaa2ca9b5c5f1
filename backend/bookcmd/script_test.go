package bookcmd_test

import (
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"

	"underlog/backend/bookcmd"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"underlog": func() {
			root := &cobra.Command{Use: "underlog", SilenceUsage: true}
			root.AddCommand(bookcmd.Chores(time.Now), bookcmd.Book())
			if err := root.Execute(); err != nil {
				os.Exit(1)
			}
		},
	})
}

func TestScripts(t *testing.T) {
	book, err := os.ReadFile("../../testdata/books/three-bins.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		Setup: func(env *testscript.Env) error {
			return os.WriteFile(fmt.Sprint(env.WorkDir, "/three-bins.jsonl"), book, 0o600)
		},
	})
}
