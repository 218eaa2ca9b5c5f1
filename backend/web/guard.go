package web

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"
)

// policy is what the app's pages may load and run: their own files, and the
// engine, which is WebAssembly. Nothing inline.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; " +
	"font-src 'self'; connect-src 'self'; worker-src 'self'; manifest-src 'self'; media-src 'self' blob:; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// Guard closes the door to everybody who has no business here. The dashboard
// opens to this machine, and over TLS to machines in the networks given.
func Guard(se *core.ServeEvent, dashboard []netip.Prefix) {
	// Without this PocketBase lets the pages of every other site read its answers.
	se.Router.Unbind(apis.DefaultCorsMiddlewareId)
	se.Router.Bind(&hook.Handler[*core.RequestEvent]{
		Id: "underlogGuard", Priority: apis.DefaultSecurityHeadersMiddlewarePriority + 1,
		Func: func(e *core.RequestEvent) error { return guard(e, dashboard) },
	})
}

// sqlConsole is PocketBase's route for statements typed into the dashboard.
// It is closed: it reaches past the hooks that keep entries unchanged and
// number every edit.
const sqlConsole = "/api/sql"

func guard(e *core.RequestEvent, dashboard []netip.Prefix) error {
	header := e.Response.Header()
	header.Set("X-Content-Type-Options", "nosniff")
	header.Set("X-Frame-Options", "DENY")
	header.Set("Referrer-Policy", "no-referrer")
	header.Set("Cross-Origin-Opener-Policy", "same-origin")
	header.Set("Cross-Origin-Resource-Policy", "same-origin")
	header.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=()")
	if !strings.HasPrefix(e.Request.URL.Path, "/_/") { // the dashboard brings a policy of its own
		header.Set("Content-Security-Policy", policy)
	}
	if e.Request.URL.Path == sqlConsole || forSuperusers(e) && !fromHere(e.Request) && !fromAny(dashboard, e.Request) {
		return e.JSON(http.StatusNotFound, map[string]any{"status": http.StatusNotFound, "message": "There is nothing at this address."})
	}
	return e.Next()
}

// forSuperusers reports whether a request is for the dashboard, made with its
// powers or about to ask for them.
func forSuperusers(e *core.RequestEvent) bool {
	path := e.Request.URL.Path
	if path == "/_" || strings.HasPrefix(path, "/_/") || e.HasSuperuserAuth() {
		return true
	}
	collection, err := e.App.FindCachedCollectionByNameOrId(e.Request.PathValue("collection"))
	return err == nil && collection.Name == core.CollectionNameSuperusers
}

// sender is the address of the machine that made a request, the invalid one
// where it came through a proxy: then nobody can tell.
func sender(r *http.Request) netip.Addr {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip", "Via"} {
		if r.Header.Get(name) != "" {
			return netip.Addr{}
		}
	}
	remote, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return remote.Addr().Unmap().WithZone("")
}

// fromAny reports whether a request came from one of the networks, over TLS:
// the password must not be read on the way, and the certificate's name keeps
// a page elsewhere from rebinding its own to us.
func fromAny(networks []netip.Prefix, r *http.Request) bool {
	from := sender(r)
	return r.TLS != nil && slices.ContainsFunc(networks, func(network netip.Prefix) bool { return network.Contains(from) })
}

// fromHere reports whether a request was made on this machine, to this
// machine. A proxy on this machine would let the world in, so what came
// through one does not count; nor does a request for a name that is not this
// machine's own, which is how a page elsewhere would rebind its name to us.
func fromHere(r *http.Request) bool {
	if !sender(r).IsLoopback() {
		return false
	}
	host := r.Host
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.Trim(host, "[]")
	return host == "localhost" || net.ParseIP(host).IsLoopback()
}
