// Package acme names the ACME authority that the tests ask: a module of its
// own, so that the program's own list of dependencies stays short.
package acme
