//go:build verify

package engine

const lawChecks = "500"
