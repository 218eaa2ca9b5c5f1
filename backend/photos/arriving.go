package photos

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// arriving is the folder of photos of which not all has come yet, each in a
// file of its name. How far one has come is the length of its file, which a
// stopped server and a power cut leave behind; what is wrong in it after a
// power cut its hash will tell.
type arriving string

// abandoned is how long a photo may lie there unfinished. Judgement: a phone
// that was away for a month sends it from the start.
const abandoned = 30 * 24 * time.Hour

func (a arriving) path(name string) string { return filepath.Join(string(a), name) }

// offset returns how many bytes of a photo have come.
func (a arriving) offset(name string) (int64, error) {
	info, err := os.Stat(a.path(name))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// add writes a piece behind what has come, or nothing of it.
func (a arriving) add(name string, offset int64, piece []byte) error {
	if err := os.MkdirAll(string(a), 0o700); err != nil {
		return err
	}
	file, err := os.OpenFile(a.path(name), os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = file.WriteAt(piece, offset)
	if err != nil { // the disk is full
		err = errors.Join(err, file.Truncate(offset))
	}
	return errors.Join(err, file.Close())
}

func (a arriving) read(name string) ([]byte, error) { return os.ReadFile(a.path(name)) }

func (a arriving) remove(name string) error {
	err := os.Remove(a.path(name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// tidy removes what was abandoned, everything where before is the far future.
func (a arriving) tidy(before time.Time) error {
	files, err := os.ReadDir(string(a))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for _, file := range files {
		info, infoErr := file.Info()
		if infoErr == nil && info.ModTime().Before(before) {
			err = errors.Join(err, a.remove(file.Name()))
		}
	}
	return err
}
