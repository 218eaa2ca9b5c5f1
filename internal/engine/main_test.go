package engine

import (
	"flag"
	"os"
	"testing"
)

// Surveys are dear under the race detector: the laws are tried on fewer rooms
// than rapid would, unless -rapid.checks asks for more.
func TestMain(m *testing.M) {
	flag.Parse()
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" })
	if !asked {
		if err := flag.Set("rapid.checks", lawChecks); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
