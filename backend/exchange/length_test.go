//go:build !verify

package exchange_test

const (
	cutEvery      = 5  // bytes
	replicaChecks = 10 // worlds
)
