package household_test

import (
	"encoding/json"
	"strings"
	"testing"

	"underlog/backend/trial"
)

// Whatever a sensor posts, it is stored, passed over or refused with a
// sentence; nothing makes the server fail.
func FuzzClimate(f *testing.F) {
	server := trial.MustStart(f, trial.Noon)
	settings := server.Store.App.Settings()
	settings.RateLimits.Enabled = false
	if err := server.Store.App.Save(settings); err != nil {
		f.Fatal(err)
	}
	owner := server.MustSetUp("UTC")
	var sensor struct{ Token string }
	owner.MustCall("POST", "/api/underlog/sensors", owner.Token, map[string]string{"name": "Shelf"}, 201, &sensor)
	for _, seed := range []string{
		`{"temperature_c":20.4,"humidity_pct":47}`, `{"humidity_pct":470}`, `{"temperature_c":"20"}`, `{"at":"2026-05-28T09:00:00Z","temperature_c":1e1}`,
		`{"at":"0000-01-01T00:00:00Z","temperature_c":1}`, `{"at":"9999-12-31T23:59:59+23:59","temperature_c":1}`, `{"at":null}`, `{"temperature_c":null,"humidity_pct":-0}`,
		`{"temperature_c":1} more`, `[]`, `null`, ``, `{"temp`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		asked := *server
		asked.TB = t
		status, answer, _ := asked.Call("POST", "/api/underlog/climate", "Bearer "+sensor.Token, body)
		var said struct{ Message string }
		if err := json.Unmarshal(answer, &said); err != nil {
			t.Fatalf("%d %s", status, answer)
		}
		switch status {
		case 200, 201:
			if !json.Valid(body) {
				t.Errorf("%d for %q, which is not JSON", status, body)
			}
		case 400:
			if !strings.HasSuffix(said.Message, ".") {
				t.Errorf("refused with %q", said.Message)
			}
		default:
			t.Errorf("%d %s", status, answer)
		}
	})
}
