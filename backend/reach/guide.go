package reach

import (
	"bytes"
	_ "embed"
	"encoding/pem"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"rsc.io/qr"
)

//go:embed guide.html
var guidePage string

//go:embed guide.css
var guideStyle []byte

var guideTemplate = template.Must(template.New("guide").Parse(guidePage))

// Guide is the plain page that a phone opens before it trusts this home: it
// hands out the authority's certificate and says what trusting it means, how
// it is done and how it is undone. It holds no secret and takes no input.
type Guide struct {
	Authority *Authority
	URL       string // of the app, where the way leads
}

// Handler serves the page.
func (g *Guide) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", g.page)
	mux.HandleFunc("GET /guide.css", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		_, _ = w.Write(guideStyle) // who hung up does not want the rest
	})
	mux.HandleFunc("GET /underlog-home.crt", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/x-x509-ca-cert")
		_, _ = w.Write(g.Authority.Certificate.Raw)
	})
	mux.HandleFunc("GET /underlog-home.pem", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/x-pem-file")
		_ = pem.Encode(w, &pem.Block{Type: "CERTIFICATE", Bytes: g.Authority.Certificate.Raw})
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		header := w.Header()
		header.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		header.Set("X-Content-Type-Options", "nosniff")
		header.Set("Referrer-Policy", "no-referrer")
		header.Set("Cache-Control", "no-cache")
		mux.ServeHTTP(w, r)
	})
}

func (g *Guide) page(w http.ResponseWriter, r *http.Request) {
	code, err := drawCode(g.URL)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	var page bytes.Buffer
	err = guideTemplate.Execute(&page, map[string]any{
		"URL": g.URL, "Code": code, "System": system(r.UserAgent()), "Name": g.Authority.Certificate.Subject.CommonName,
		"Fingerprint": Fingerprint(g.Authority.Certificate), "Until": g.Authority.Certificate.NotAfter.Format("2 January 2006"),
	})
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(page.Bytes())
}

// system tells from what a browser says of itself which steps to show first.
func system(userAgent string) string {
	for _, s := range []struct{ sign, name string }{{"iPhone", "ios"}, {"iPad", "ios"}, {"Android", "android"}, {"Windows", "windows"}, {"Macintosh", "mac"}, {"Linux", "linux"}} {
		if strings.Contains(userAgent, s.sign) {
			return s.name
		}
	}
	return "android"
}

// drawCode draws a QR code, dark on light, with the quiet zone that readers
// want around it.
func drawCode(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("the code cannot be drawn: %w", err)
	}
	const quiet = 4
	side := code.Size + 2*quiet
	var path strings.Builder
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %d %d" role="img" aria-label="QR code of %s" shape-rendering="crispEdges">`+
		`<rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="%s"/></svg>`,
		side, side, template.HTMLEscapeString(text), side, side, path.String())), nil
}
