//go:build verify

package app_test

const flips = 400
