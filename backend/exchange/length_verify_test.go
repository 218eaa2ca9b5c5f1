//go:build verify

package exchange_test

const (
	cutEvery      = 1
	replicaChecks = 300
)
