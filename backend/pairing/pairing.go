// Package pairing signs a device in by a code that another screen shows: made
// by somebody who is signed in, good for five minutes and for one device.
// Codes live in memory only; a restart withdraws them.
package pairing

import (
	"crypto/rand"
	"crypto/sha256"
	"math/big"
	"strings"
	"sync"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
)

const (
	// life is how long a code is good for.
	life = 5 * time.Minute
	// told is how long the screen that made a code can learn that it was used.
	told = 10 * time.Minute

	// alphabet leaves out what looks alike on a screen in the dark.
	alphabet = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
	length   = 10 // 49 bits
)

// Routes are the routes of this package.
type Routes struct {
	Store *store.Store

	mu      sync.Mutex
	offers  map[string]*offer // by the person who made them: the last one counts
	address string            // where phones reach this server, empty where they do not
	guide   string            // the page that they open first, empty where none is needed
}

// An offer is one code.
type offer struct {
	hash    [sha256.Size]byte
	until   time.Time
	session string // of who made it: a code ends with it
	person  string // who it signs in; empty for a helper who is yet to be added
	name    string
	claimed bool
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	group := se.Router.Group("/api/underlog/pairing")
	group.Bind(apis.SkipSuccessActivityLog(), apis.BodyLimit(16<<10))
	group.POST("/claim", r.claim)
	signedIn := apis.RequireAuth(store.People)
	group.GET("", r.show).Bind(signedIn)
	group.POST("", r.offer).Bind(signedIn)
	group.DELETE("", r.withdraw).Bind(signedIn)
}

// Reach says where phones reach this server, once that is known.
func (r *Routes) Reach(address, guide string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.address, r.guide = address, guide
}

// newCode makes a code as it is shown: two groups of five.
func newCode() string {
	var code strings.Builder
	for i := range length {
		if i == length/2 {
			code.WriteByte('-')
		}
		n, err := rand.Int(rand.Reader, big.NewInt(int64(len(alphabet))))
		if err != nil {
			panic(err) // documented never to happen
		}
		code.WriteByte(alphabet[n.Int64()])
	}
	return code.String()
}

// hashOf is what is kept of a code, however it was typed.
func hashOf(code string) [sha256.Size]byte {
	plain := strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, strings.ToUpper(code))
	return sha256.Sum256([]byte(plain))
}

// keep has an offer take the place of the maker's last one.
func (r *Routes) keep(maker string, o *offer) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.offers == nil {
		r.offers = map[string]*offer{}
	}
	r.offers[maker] = o
}

// use finds the offer of a code and spends it: whoever comes second finds
// nothing.
func (r *Routes) use(code string, now time.Time) (o offer, maker string, found bool) {
	hash := hashOf(code)
	r.mu.Lock()
	defer r.mu.Unlock()
	for maker, o := range r.offers {
		if o.hash == hash && !o.claimed && now.Before(o.until) {
			o.claimed = true
			return *o, maker, true
		}
	}
	return offer{}, "", false
}

// last returns what became of the maker's last offer.
func (r *Routes) last(maker string, now time.Time) (state, name string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	o := r.offers[maker]
	switch {
	case o == nil || now.After(o.until.Add(told)):
		return "none", ""
	case o.claimed:
		return "claimed", o.name
	case !now.Before(o.until):
		return "lapsed", o.name
	}
	return "waiting", o.name
}

// forget withdraws the maker's last offer.
func (r *Routes) forget(maker string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.offers, maker)
}
