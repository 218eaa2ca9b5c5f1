package passes

import (
	"net/netip"
	"sync"
	"time"
)

// Judgement: a person who copies a link wrongly tries it a few times. A secret
// has 130 bits, so this holds off the load more than the luck.
const (
	mostGuesses   = 10
	guessesFor    = 10 * time.Minute
	mostAddresses = 10_000 // that are remembered at a time
)

// guesses counts the secrets that were none, by the address they came from.
// The zero value is ready.
type guesses struct {
	mu sync.Mutex
	of map[netip.Prefix]guess
}

type guess struct {
	count int
	until time.Time // when it is forgotten
}

// from is what counts as one address: of IPv6 the network, since one machine
// has all of its addresses.
func from(ip string) netip.Prefix {
	address, err := netip.ParseAddr(ip)
	if err != nil {
		return netip.Prefix{}
	}
	address = address.Unmap().WithZone("")
	bits := address.BitLen()
	if address.Is6() {
		bits = 64
	}
	prefix, _ := address.Prefix(bits) // so many bits are there
	return prefix
}

// wait is how long an address is not listened to; 0 where it is.
func (g *guesses) wait(ip string, now time.Time) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	one := g.of[from(ip)]
	if one.count < mostGuesses || !one.until.After(now) {
		return 0
	}
	return one.until.Sub(now)
}

// note counts a guess.
func (g *guesses) note(ip string, now time.Time) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.of == nil || len(g.of) >= mostAddresses {
		g.tidy(now)
	}
	one := g.of[from(ip)]
	if !one.until.After(now) {
		one = guess{until: now.Add(guessesFor)}
	}
	one.count++
	g.of[from(ip)] = one
}

// tidy forgets what is past, and where that is not enough, everything: a guesser
// with so many addresses is not held off by counting them.
func (g *guesses) tidy(now time.Time) {
	kept := map[netip.Prefix]guess{}
	for prefix, one := range g.of {
		if one.until.After(now) {
			kept[prefix] = one
		}
	}
	if len(kept) >= mostAddresses {
		clear(kept)
	}
	g.of = kept
}
