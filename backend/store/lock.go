package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"
)

// ErrInUse says that another process works on the data folder.
var ErrInUse = errors.New("another process runs on this data folder: stop it first")

// Lock takes a data folder for this process alone: two servers, or a server
// and a command, would not learn of each other's changes. The lock ends with
// the process, however it ends.
func Lock(folder string) (release func() error, err error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("the data folder cannot be made: %w", err)
	}
	lock := flock.New(filepath.Join(folder, "in-use.lock"))
	taken, err := lock.TryLock()
	if err != nil {
		return nil, fmt.Errorf("the data folder %s cannot be locked: %w", folder, err)
	}
	if !taken {
		return nil, ErrInUse
	}
	return lock.Unlock, nil
}
