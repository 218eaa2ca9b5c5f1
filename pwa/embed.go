// Package pwa hands the built app to the server. `make app` builds it into
// dist; without that the server still builds, and says on its first page that
// the app is missing.
package pwa

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Dist is the built app, index.html at its root.
func Dist() fs.FS {
	app, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return app
}
