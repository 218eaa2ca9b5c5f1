//go:build !verify

package engine

const lawChecks = "25"
