package trial

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os/exec"
	"testing"
)

// A Program is a server in a process of its own, which can be killed.
type Program struct {
	*exec.Cmd
	Said *bytes.Buffer // its complaints
}

// MustRun starts a command and waits for the line on which ready says that it
// is up. It is killed with the test.
func MustRun(tb testing.TB, ready func(line string) bool, command string, args ...string) *Program {
	tb.Helper()
	p := &Program{exec.Command(command, args...), &bytes.Buffer{}}
	p.Stderr = p.Said
	out, err := p.StdoutPipe()
	if err != nil {
		tb.Fatal(err)
	}
	if err := p.Start(); err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = p.Process.Kill() })
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if ready(lines.Text()) {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return p
		}
	}
	_ = p.Wait()
	tb.Fatalf("the server does not start: %s", p.Said)
	return nil
}

// Ask sends JSON to a server and reads the JSON that it answers into into, if
// that is not nil. An error is what a killed server leaves, and what one makes
// of a request that it refuses.
func Ask(method, url, token string, body, into any) error {
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	request, err := http.NewRequest(method, url, bytes.NewReader(raw))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Authorization", token)
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	answer, err := io.ReadAll(response.Body)
	if err != nil {
		return err
	}
	if response.StatusCode >= 300 {
		return fmt.Errorf("%s %s: %d %s", method, url, response.StatusCode, answer)
	}
	if into == nil {
		return nil
	}
	return json.Unmarshal(answer, into)
}

// MustAsk is Ask where nothing may go wrong.
func MustAsk(tb testing.TB, method, url, token string, body, into any) {
	tb.Helper()
	if err := Ask(method, url, token, body, into); err != nil {
		tb.Fatal(err)
	}
}
