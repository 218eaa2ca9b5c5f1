// Package web hands out the app and guards the door: security headers on
// every answer, no other site's scripts, the dashboard only from where its owner says.
package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
	"sync"

	"github.com/pocketbase/pocketbase/core"
)

// App serves the built app.
type App struct {
	Files fs.FS

	mu    sync.Mutex
	known map[string]*asset
}

// An asset is one file, ready to be sent.
type asset struct {
	body, gzip, brotli []byte
	tag, kind          string
}

// Bind adds the route of everything that is no other route's.
func (a *App) Bind(se *core.ServeEvent) {
	se.Router.GET("/{path...}", a.serve)
}

func (a *App) serve(e *core.RequestEvent) error {
	name := e.Request.PathValue("path")
	if strings.HasPrefix(name, "api/") || strings.HasPrefix(name, "_/") {
		return e.JSON(http.StatusNotFound, map[string]any{"status": http.StatusNotFound, "message": "There is nothing at this address."})
	}
	if name == "" || strings.HasSuffix(name, "/") {
		name += "index.html"
	}
	found, err := a.asset(name)
	if errors.Is(err, fs.ErrNotExist) && name == "index.html" {
		return e.String(http.StatusServiceUnavailable, "The app is not part of this build. Run `make app` and build the server again.\n")
	}
	if err != nil {
		// A missing file is never answered with the app's page: a worker
		// would store the page as the script.
		return e.String(http.StatusNotFound, "There is nothing at this address.\n")
	}
	found.send(e.Response, e.Request, name)
	return nil
}

func (a *App) asset(name string) (*asset, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if found, have := a.known[name]; have {
		return found, nil
	}
	if !fs.ValidPath(name) || strings.HasPrefix(path.Base(name), ".") {
		return nil, fs.ErrNotExist
	}
	body, err := fs.ReadFile(a.Files, name)
	if err != nil {
		return nil, fs.ErrNotExist
	}
	sum := sha256.Sum256(body)
	found := &asset{body: body, tag: `"` + hex.EncodeToString(sum[:12]) + `"`, kind: kindOf(name)}
	if squeezable(found.kind) && len(body) > 1024 {
		found.gzip = squeeze(body)
		found.brotli, _ = fs.ReadFile(a.Files, name+".br") // made by the app's build, if at all
	}
	if a.known == nil {
		a.known = map[string]*asset{}
	}
	a.known[name] = found
	return found, nil
}

func (f *asset) send(w http.ResponseWriter, r *http.Request, name string) {
	header := w.Header()
	header.Set("Content-Type", f.kind)
	header.Set("Cache-Control", cacheControl(name))
	body, tag := f.body, f.tag
	if f.gzip != nil {
		header.Add("Vary", "Accept-Encoding")
	}
	switch accepted := r.Header.Get("Accept-Encoding"); {
	case f.brotli != nil && strings.Contains(accepted, "br"):
		header.Set("Content-Encoding", "br")
		body, tag = f.brotli, strings.TrimSuffix(f.tag, `"`)+`-br"`
	case f.gzip != nil && strings.Contains(accepted, "gzip"):
		header.Set("Content-Encoding", "gzip")
		body, tag = f.gzip, strings.TrimSuffix(f.tag, `"`)+`-gz"`
	}
	header.Set("ETag", tag)
	if strings.Contains(r.Header.Get("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if r.Method != http.MethodHead {
		_, _ = w.Write(body) // who hung up does not want the rest
	}
}

// cacheControl lets files whose names carry their content stay for ever, and
// has all others asked for again: an installed app must find its update.
func cacheControl(name string) string {
	if strings.HasPrefix(name, "assets/") {
		return "public, max-age=31536000, immutable"
	}
	return "no-cache"
}

func kindOf(name string) string {
	switch path.Ext(name) {
	case ".webmanifest":
		return "application/manifest+json"
	case ".wasm":
		return "application/wasm"
	case ".js", ".mjs":
		return "text/javascript; charset=utf-8"
	case ".woff2":
		return "font/woff2"
	}
	if kind := mime.TypeByExtension(path.Ext(name)); kind != "" {
		return kind
	}
	return "application/octet-stream"
}

func squeezable(kind string) bool {
	for _, prefix := range []string{"text/", "application/wasm", "application/manifest", "application/json", "image/svg"} {
		if strings.HasPrefix(kind, prefix) {
			return true
		}
	}
	return false
}

func squeeze(body []byte) []byte {
	var packed bytes.Buffer
	writer, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression) // the level is a valid one
	_, _ = writer.Write(body)                                       // a buffer takes everything
	_ = writer.Close()
	return packed.Bytes()
}
