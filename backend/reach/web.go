package reach

import (
	"context"
	"crypto/tls"
	"errors"
	"net/http"
	"strings"
	"sync"

	"github.com/go-acme/lego/v5/challenge"
	"github.com/go-acme/lego/v5/challenge/http01"
	"github.com/go-acme/lego/v5/challenge/tlsalpn01"
)

// webAnswers are what an authority will hear when it asks over the web whether
// this server is who it says.
type webAnswers struct {
	mu    sync.Mutex
	texts map[string]string           // by path (RFC 8555, 8.3)
	shown map[string]*tls.Certificate // by name, in a handshake for this alone (RFC 8737)
}

// plainly answers at port 80, inHandshake at port 443.
type (
	plainly     struct{ *webAnswers }
	inHandshake struct{ *webAnswers }
)

var _, _ challenge.Provider = plainly{}, inHandshake{}

func (a plainly) Present(_ context.Context, _, token, text string) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.texts == nil {
		a.texts = map[string]string{}
	}
	a.texts[http01.ChallengePath(token)] = text
	return nil
}

func (a plainly) CleanUp(_ context.Context, _, token, _ string) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	delete(a.texts, http01.ChallengePath(token))
	return nil
}

func (a inHandshake) Present(_ context.Context, domain, _, text string) error {
	certificate, err := tlsalpn01.ChallengeCert(domain, text)
	if err != nil {
		return err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.shown == nil {
		a.shown = map[string]*tls.Certificate{}
	}
	a.shown[domain] = certificate
	return nil
}

func (a inHandshake) CleanUp(_ context.Context, domain, _, _ string) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	delete(a.shown, domain)
	return nil
}

// handler answers the authority, and has others answered by next.
func (a *webAnswers) handler(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !strings.HasPrefix(r.URL.Path, http01.PathPrefix) {
			next.ServeHTTP(w, r)
			return
		}
		a.mu.Lock()
		text, asked := a.texts[r.URL.Path]
		a.mu.Unlock()
		if !asked {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", "text/plain")
		_, _ = w.Write([]byte(text))
	})
}

// isAsking reports whether a handshake is an authority's question.
func isAsking(hello *tls.ClientHelloInfo) bool {
	return len(hello.SupportedProtos) == 1 && hello.SupportedProtos[0] == tlsalpn01.ACMETLS1Protocol
}

func (a *webAnswers) certificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if certificate := a.shown[hello.ServerName]; certificate != nil {
		return certificate, nil
	}
	return nil, errors.New("reach: nobody waits for an authority's question")
}
