package archtest

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

type pkg struct {
	ImportPath, Name, Dir, Doc string
	Imports, GoFiles           []string
}

// mustList returns packages of the module by their path inside of it.
func mustList(t *testing.T, pattern string) map[string]pkg {
	t.Helper()
	list := exec.Command("go", "list", "-json=ImportPath,Name,Dir,Doc,Imports,GoFiles", pattern)
	list.Dir, list.Stderr = "../..", os.Stderr
	out, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	packages := map[string]pkg{}
	for decoder := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		packages[strings.TrimPrefix(p.ImportPath, "underlog/")] = p
	}
	return packages
}

// parts are the packages of the server that each do one thing. They stand on
// store and know nothing of each other, so that each can be read, tested and
// replaced alone; app puts them together.
var parts = []string{"alerts", "books", "calendar", "exchange", "forecast", "household", "pairing", "paper", "passes", "photos", "reach", "scores", "sessions", "web"}

// mayImport says which packages of backend each may import.
func mayImport(name string) (allowed []string, known bool) {
	if slices.Contains(parts, name) {
		return []string{"store", "body"}, true
	}
	allowed, known = map[string][]string{
		"":         {"app", "bookcmd", "doctor", "reach"},
		"app":      append([]string{"store"}, parts...),
		"bookcmd":  {"books", "store"},
		"doctor":   {"reach", "store"},
		"store":    nil,
		"body":     nil,
		"archtest": nil,
		// for tests
		"acmetest":             nil,
		"pushtest":             nil,
		"trial":                {"app", "alerts", "pushtest", "store"},
		"apptest":              {"app", "alerts", "pushtest"},
		"exchange/bench/plain": nil,
	}[name]
	return allowed, known
}

func TestPartsOfTheServerDoNotKnowEachOther(t *testing.T) {
	for path, p := range mustList(t, "./backend/...") {
		name := strings.TrimPrefix(strings.TrimPrefix(path, "backend"), "/")
		allowed, known := mayImport(name)
		if !known {
			t.Errorf("%s is not in the table of who may import whom", path)
			continue
		}
		for _, imported := range p.Imports {
			other, ours := strings.CutPrefix(imported, "underlog/backend/")
			if ours && !slices.Contains(allowed, other) {
				t.Errorf("%s imports backend/%s", path, other)
			}
		}
	}
}

// mayNotImport are the domain's packages that may not import certain others:
// the judge shares nothing with what it judges, and the nouns stand alone.
var mayNotImport = map[string][]string{
	"internal/husbandry": {"internal/"},
	"internal/roomsim":   {"internal/air", "internal/gauge", "internal/fuse", "internal/chores", "internal/engine"},
}

// unclean are packages of the standard library that reach outside; the
// domain computes and does nothing else.
var unclean = []string{"os", "net", "net/http", "io/fs", "embed", "os/exec", "os/signal", "syscall", "log", "log/slog", "database/sql", "runtime", "sync", "sync/atomic", "unsafe"}

func TestTheDomainIsPure(t *testing.T) {
	for path, p := range mustList(t, "./internal/...") {
		command := p.Name == "main" // prints what a package computes
		for _, imported := range p.Imports {
			first, _, _ := strings.Cut(imported, "/")
			ours, isOurs := strings.CutPrefix(imported, "underlog/")
			switch {
			case isOurs && !strings.HasPrefix(ours, "internal/"):
				t.Errorf("%s imports %s: the domain does not know the server", path, ours)
			case isOurs:
				for _, closed := range mayNotImport[path] {
					if strings.HasPrefix(ours, closed) {
						t.Errorf("%s imports %s", path, ours)
					}
				}
			case strings.HasPrefix(imported, "gonum.org/v1/gonum/"), imported == "github.com/google/uuid":
			case strings.Contains(first, "."):
				t.Errorf("%s imports %s: the domain stands on the standard library and gonum", path, imported)
			case !command && slices.Contains(unclean, imported):
				t.Errorf("%s imports %s: the domain does no I/O", path, imported)
			}
		}
		if !command {
			noClockNoGoroutine(t, path, p)
		}
	}
}

// noClockNoGoroutine finds uses of the wall clock (time comes in as a value) and
// goroutines: the race detector, which makes the domain's tests several times
// slower, would have nothing to find.
func noClockNoGoroutine(t *testing.T, path string, p pkg) {
	t.Helper()
	for _, name := range p.GoFiles {
		file, err := parser.ParseFile(token.NewFileSet(), filepath.Join(p.Dir, name), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(node ast.Node) bool {
			if _, starts := node.(*ast.GoStmt); starts {
				t.Errorf("%s/%s starts a goroutine: the domain computes one thing after the other", path, name)
			}
			selector, ok := node.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			from, ok := selector.X.(*ast.Ident)
			if ok && from.Name == "time" && from.Obj == nil && slices.Contains([]string{"Now", "Since", "Until", "Sleep", "After", "Tick", "NewTimer", "NewTicker", "AfterFunc"}, selector.Sel.Name) {
				t.Errorf("%s/%s uses time.%s: time comes in as a value", path, name, selector.Sel.Name)
			}
			return true
		})
	}
}

func TestTheDomainBuildsForThePhone(t *testing.T) {
	build := exec.Command("go", "build", "./internal/...")
	build.Dir = "../.."
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

func TestEveryPackageSaysWhatItIsFor(t *testing.T) {
	for _, pattern := range []string{"./backend/...", "./internal/...", "./pwa"} {
		for path, p := range mustList(t, pattern) {
			if !strings.HasPrefix(p.Doc, "Package "+p.Name+" ") && !strings.HasPrefix(p.Doc, "Command ") {
				t.Errorf("%s has no package comment", path)
			}
		}
	}
}
