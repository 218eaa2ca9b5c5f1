// Package doctor says what stands in the way of alerts on this machine and its
// network, each in a sentence and with what to do about it.
package doctor

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"time"

	"github.com/spf13/cobra"

	"underlog/backend/reach"
)

// States of a finding.
const (
	Good    = "good"
	Mind    = "mind"    // alerts come, and something could be better
	Bad     = "bad"     // alerts do not come, or not to phones
	Unknown = "unknown" // it could not be looked at
)

// A Finding is what was found of one thing.
type Finding struct {
	Name  string `json:"name"`
	State string `json:"state"`
	Says  string `json:"says"`
	Do    string `json:"do,omitempty"`
}

// A Visit looks at one data folder. Its zero fields are the usual ones.
type Visit struct {
	Data  string
	Now   func() time.Time
	Local *time.Location // of this machine
	// Push asks the push service at an address, as alerts would.
	Push *http.Client

	clockOff  *time.Duration // how far this clock is ahead of a push service's
	addresses func() []net.IP
}

// Command is `underlog doctor`.
func Command() *cobra.Command {
	var data string
	var asJSON bool
	command := &cobra.Command{
		Use:   "doctor",
		Short: "Say what stands in the way of alerts here",
		Long: "Looks at the records, the keys, the clock, the time zone, the address at which phones reach\n" +
			"the server and the push services, and says in sentences what stands in the way of alerts and\n" +
			"what to do. The server may be running; what needs it running says so. Ends with 1 if alerts\n" +
			"cannot come.",
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			findings := (&Visit{Data: data}).Look(command.Context())
			if err := show(command.OutOrStdout(), findings, asJSON); err != nil {
				return err
			}
			for _, f := range findings {
				if f.State == Bad {
					return errors.New("something stands in the way of alerts")
				}
			}
			return nil
		},
	}
	command.Flags().StringVar(&data, "data", "./data", "folder that holds everything")
	command.Flags().BoolVar(&asJSON, "json", false, "for programs: a list of name, state, says and do")
	return command
}

func show(out io.Writer, findings []Finding, asJSON bool) error {
	if asJSON {
		encoder := json.NewEncoder(out)
		encoder.SetIndent("", "  ")
		return encoder.Encode(findings)
	}
	signs := map[string]string{Good: "ok  ", Mind: "mind", Bad: "BAD ", Unknown: "?   "}
	for _, f := range findings {
		fmt.Fprintf(out, "%s  %s: %s\n", signs[f.State], f.Name, f.Says)
		if f.Do != "" {
			fmt.Fprintf(out, "      Do: %s\n", f.Do)
		}
	}
	return nil
}

// timeout is for each thing that is asked over the network.
const timeout = 8 * time.Second

// Look looks at everything. Where the records cannot be read, what depends on
// them is left out.
func (v *Visit) Look(ctx context.Context) []Finding {
	if v.Now == nil {
		v.Now = time.Now
	}
	if v.Local == nil {
		v.Local = time.Local
	}
	if v.Push == nil {
		v.Push = &http.Client{Timeout: timeout, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	}
	if v.addresses == nil {
		v.addresses = reach.Addresses
	}
	if _, err := os.Stat(v.Data); err != nil {
		return []Finding{{"records", Bad, fmt.Sprintf("There is no data folder at %s.", v.Data),
			"Start `underlog serve` once, or say with --data where the folder is."}}
	}
	findings := []Finding{v.folder()}
	records, err := readRecords(v.Data)
	if err != nil {
		findings = append(findings, Finding{"records", Bad, fmt.Sprintf("The records cannot be read: %v.", err),
			"Start `underlog serve` once. If it says the same, bring a backup back."})
	}
	findings = append(findings, v.address(ctx)...)
	if err == nil {
		findings = append(findings, v.keys(records)...)
		findings = append(findings, v.push(ctx, records)...)
		findings = append(findings, v.clock(), v.zone(records), v.devices(records))
	}
	return findings
}

// folder looks at who can read the records.
func (v *Visit) folder() Finding {
	info, err := os.Stat(v.Data)
	if err == nil && info.Mode().Perm()&0o007 != 0 {
		return Finding{"data folder", Mind, fmt.Sprintf("Everybody with an account on this machine can look into %s (mode %04o), where the keys are.", v.Data, info.Mode().Perm()),
			"Run chmod 700 on it."}
	}
	return Finding{Name: "data folder", State: Good, Says: fmt.Sprintf("%s is there, and closed to others.", v.Data)}
}

// address looks at where phones reach the server, and tries it.
func (v *Visit) address(ctx context.Context) []Finding {
	serving, found, err := reach.FindServing(v.Data)
	if err != nil || !found {
		return []Finding{{"server", Unknown, "The server is not running on this folder, so its address cannot be tried.", "Start it and ask again."}}
	}
	if err := v.ask(ctx, serving.Here, nil); err != nil {
		return []Finding{{"server", Bad, fmt.Sprintf("The server said it would be at %s and does not answer there: %v.", serving.Here, err),
			"Start it again; it may have been killed."}}
	}
	findings := []Finding{{Name: "server", State: Good, Says: fmt.Sprintf("It answers at %s.", serving.Here)}}
	switch serving.Way {
	case reach.HomeNetwork:
		return append(findings, v.home(ctx, serving)...)
	case reach.PublicName:
		return append(findings, v.public(ctx, serving)...)
	}
	return append(findings, Finding{"secure address", Bad,
		"It answers on this computer alone: alerts can come to browsers on this computer, and no phone can reach it.",
		"Start it with --home for the phones in your home, or with --domain for a public name."})
}

// ask asks a server of ours whether it is there.
func (v *Visit) ask(ctx context.Context, base string, config *tls.Config) error {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, base+"/api/underlog/welcome", nil)
	if err != nil {
		return err
	}
	transport := &http.Transport{TLSClientConfig: config, DisableKeepAlives: true}
	defer transport.CloseIdleConnections()
	response, err := transport.RoundTrip(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("it answers %s", response.Status)
	}
	return nil
}
