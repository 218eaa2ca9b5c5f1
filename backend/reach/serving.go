package reach

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// The ways on which phones reach a server.
const (
	ThisComputer = "this computer" // none
	HomeNetwork  = "home network"
	PublicName   = "public name"
)

// Serving is what a running server leaves in its data folder, so that other
// commands on this machine know where it is.
type Serving struct {
	Way    string `json:"way"`
	Here   string `json:"here"`             // seen from this computer
	Phones string `json:"phones,omitempty"` // seen from phones
	Guide  string `json:"guide,omitempty"`  // the page that a phone opens first
}

const servingFile = "serving.json"

// Keep leaves it in a data folder.
func (s Serving) Keep(data string) error {
	content, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(data, servingFile), append(content, '\n'), 0o600); err != nil {
		return fmt.Errorf("where the server is cannot be written down: %w", err)
	}
	return nil
}

// FindServing reads what a server has left; ok is false where there is none.
// A server that was killed leaves it too: ask it.
func FindServing(data string) (s Serving, ok bool, err error) {
	content, err := os.ReadFile(filepath.Join(data, servingFile))
	if errors.Is(err, fs.ErrNotExist) {
		return s, false, nil
	}
	if err == nil {
		err = json.Unmarshal(content, &s)
	}
	return s, err == nil, err
}

// ForgetServing removes it.
func ForgetServing(data string) error {
	err := os.Remove(filepath.Join(data, servingFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
