//go:build !verify

package main_test

const usualRounds = 8
