package roomsim

import (
	"go/parser"
	"go/token"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// The simulator judges the forecasts. If it borrowed from them it would judge
// them by themselves: so it may use nothing of this project, nor anything
// beyond the standard library.
func TestImportsNothingOfOurs(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatalf("no sources: %v", err)
	}
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, spec := range file.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			first, _, _ := strings.Cut(path, "/")
			if first == "underlog" || strings.Contains(first, ".") {
				t.Errorf("%s imports %s", name, path)
			}
		}
	}
}

// The same by the build's own account, through whatever is imported.
func TestDependsOnNothingOfOurs(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := false
	for _, path := range strings.Fields(string(out)) {
		if path == "underlog/internal/roomsim" {
			seen = true
		} else if strings.HasPrefix(path, "underlog/") {
			t.Errorf("depends on %s", path)
		}
	}
	if !seen {
		t.Error("go list did not name this package: the test checks nothing")
	}
}
