// Package archtest holds the rules about who may import whom, as tests. It
// has no code of its own.
package archtest
