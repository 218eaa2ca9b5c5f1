package doctor

import (
	"crypto/ecdh"
	"encoding/base64"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/jonboulle/clockwork"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
)

// records are what is looked at of a household's records.
type records struct {
	zone            string
	public, private string // VAPID keys
	contact         string
	devices         []store.Device // that take alerts
}

func readRecords(data string) (r *records, err error) {
	if _, err := os.Stat(filepath.Join(data, "data.db")); err != nil {
		return nil, err
	}
	app := core.NewBaseApp(core.BaseAppConfig{DataDir: data, DBConnect: store.Open})
	s := store.New(app, clockwork.NewRealClock())
	if err := app.Bootstrap(); err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, app.ResetBootstrapState()) }()
	room, err := s.Room()
	if err != nil {
		return nil, err
	}
	r = &records{zone: room.TimeZone}
	for name, into := range map[string]*string{store.KeyVAPIDPublic: &r.public, store.KeyVAPIDPrivate: &r.private, store.KeyContact: &r.contact} {
		if *into, err = s.Key(name); err != nil {
			return nil, err
		}
	}
	r.devices, err = s.Subscribed()
	return r, err
}

// services are the push services of the devices, each once.
func (r *records) services() []string {
	var found []string
	for _, device := range r.devices {
		if endpoint, err := url.Parse(device.Endpoint); err == nil && endpoint.Host != "" {
			found = append(found, endpoint.Scheme+"://"+endpoint.Host)
		}
	}
	slices.Sort(found)
	return slices.Compact(found)
}

// keys looks at what the server identifies itself with at push services (RFC
// 8292).
func (v *Visit) keys(r *records) []Finding {
	if r.public == "" || r.private == "" {
		return []Finding{{"keys", Bad, "There are no keys for alerts.", "Start `underlog serve` once: it makes them."}}
	}
	secret, err := base64.RawURLEncoding.DecodeString(r.private)
	var key *ecdh.PrivateKey
	if err == nil {
		key, err = ecdh.P256().NewPrivateKey(secret)
	}
	if err != nil || base64.RawURLEncoding.EncodeToString(key.PublicKey().Bytes()) != strings.TrimRight(r.public, "=") {
		return []Finding{{"keys", Bad, "The two keys for alerts do not belong together: push services refuse every alert.",
			"Bring them back from a backup. Without one, remove both from the table keys in the dashboard, start the server, and allow alerts anew on each device."}}
	}
	findings := []Finding{{"keys", Good, "The keys for alerts are there and belong together.", ""}}
	if r.contact == "" {
		findings = append(findings, Finding{"contact", Mind, "Push services have no address of yours to write to; some refuse alerts without one.", "Give an e-mail address in Room, under alerts."})
	}
	return findings
}

// devices looks at what the push services said last.
func (v *Visit) devices(r *records) Finding {
	if len(r.devices) == 0 {
		return Finding{"devices", Mind, "No device takes alerts yet.", "Open Room on the phone and allow alerts there."}
	}
	var wrong []string
	for _, device := range r.devices {
		if device.Status >= 300 {
			wrong = append(wrong, fmt.Sprintf("%s (%d %s)", orUnnamed(device.Label), device.Status, http.StatusText(device.Status)))
		}
	}
	count := fmt.Sprintf("%d devices take alerts", len(r.devices))
	if len(r.devices) == 1 {
		count = "1 device takes alerts"
	}
	if len(wrong) > 0 {
		return Finding{"devices", Mind, fmt.Sprintf("%s; the last one was refused for %s.", count, strings.Join(wrong, ", ")),
			"Send one to try from Room on that device, and allow alerts there anew if it does not come."}
	}
	return Finding{"devices", Good, count + ".", ""}
}

func orUnnamed(label string) string {
	if label == "" {
		return "a device without a name"
	}
	return label
}
