package household

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// often is how close together readings of one sensor are kept; those between
// would fill the notebook and tell nothing new about a room. Judgement.
const often = 10 * time.Minute

// sensorToken begins every token of a sensor, so that one is known for what
// it is wherever it turns up.
const sensorToken = "underlog-sensor-"

func tokenHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// addSensor makes a token for a sensor. It is shown this once; what is kept
// is its hash, which is enough to know it again, since it is long and random.
func (r *Routes) addSensor(e *core.RequestEvent) error {
	var wish struct{ Name, Bin string }
	if err := e.BindBody(&wish); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give name, and bin if it is not for the room.")
	}
	wish.Name = strings.TrimSpace(wish.Name)
	if count := utf8.RuneCountInString(wish.Name); count < 1 || count > 60 {
		return sentence(e, http.StatusBadRequest, "The sensor's name is missing or too long: give 1 to 60 characters.")
	}
	if wish.Bin != "" {
		if _, err := r.Store.Bin(wish.Bin); err != nil {
			return sentence(e, http.StatusBadRequest, "bin is "+wish.Bin+": give the id of a bin of this household.")
		}
	}
	collection, err := e.App.FindCachedCollectionByNameOrId(store.Sensors)
	if err != nil {
		return err
	}
	token := sensorToken + strings.ToLower(rand.Text())
	sensor := core.NewRecord(collection)
	sensor.Load(map[string]any{"name": wish.Name, "bin": wish.Bin, "hash": tokenHash(token)})
	if err := e.App.Save(sensor); err != nil {
		return err
	}
	return e.JSON(http.StatusCreated, map[string]string{"id": sensor.Id, "name": wish.Name, "token": token})
}

// removeSensor makes a token worthless.
func (r *Routes) removeSensor(e *core.RequestEvent) error {
	sensor, err := e.App.FindRecordById(store.Sensors, e.Request.PathValue("id"))
	if err != nil {
		return sentence(e, http.StatusNotFound, "There is no such sensor.")
	}
	if err := e.App.Delete(sensor); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}

// takeClimate stores a sensor's reading of the air as an entry:
//
//	curl -H "Authorization: Bearer TOKEN" -d '{"temperature_c":20.4,"humidity_pct":47}' ADDRESS/api/underlog/climate
func (r *Routes) takeClimate(e *core.RequestEvent) error {
	token := strings.TrimSpace(e.Request.Header.Get("Authorization"))
	if len(token) > 7 && strings.EqualFold(token[:7], "Bearer ") {
		token = token[7:]
	}
	sensor, err := e.App.FindFirstRecordByData(store.Sensors, "hash", tokenHash(token))
	if err != nil || !strings.HasPrefix(token, sensorToken) {
		return sentence(e, http.StatusUnauthorized, "The token is not one of a sensor of this household.")
	}
	var reading struct {
		At           *time.Time      `json:"at"`
		TemperatureC json.RawMessage `json:"temperature_c"`
		HumidityPct  json.RawMessage `json:"humidity_pct"`
	}
	body, err := io.ReadAll(e.Request.Body)
	if err == nil {
		err = json.Unmarshal(body, &reading)
	}
	if err != nil {
		return sentence(e, http.StatusBadRequest, `The reading is not one whole JSON object: give {"temperature_c": 20.4, "humidity_pct": 47}.`)
	}
	at := r.Store.Clock.Now()
	if reading.At != nil {
		at = *reading.At
	}
	if seen := sensor.GetDateTime("seen_at").Time(); !seen.IsZero() && at.Before(seen.Add(often)) && !at.Before(seen) {
		return e.JSON(http.StatusOK, map[string]bool{"stored": false})
	}
	fields := map[string]any{
		// The same reading sent twice is the same entry.
		"id": husbandry.RecordID("climate", sensor.Id+" "+at.UTC().Format(time.RFC3339Nano)),
		"at": at.Format(time.RFC3339Nano), "what": husbandry.Climate, "by": sensor.GetString("name"), "device": sensor.Id,
	}
	for name, value := range map[string]json.RawMessage{"temperature_c": reading.TemperatureC, "humidity_pct": reading.HumidityPct} {
		if value != nil {
			fields[name] = value
		}
	}
	if bin := sensor.GetString("bin"); bin != "" {
		fields["bin"] = bin
	}
	entry, err := json.Marshal(fields)
	if err != nil {
		return err
	}
	receipt, err := r.Store.Put(store.Author{}, nil, []json.RawMessage{entry})
	if err != nil {
		return err
	}
	if verdict := receipt.Verdicts[0]; verdict.Verdict == store.Refused {
		return sentence(e, http.StatusBadRequest, verdict.Sentence)
	}
	if _, err := e.App.NonconcurrentDB().Update(store.Sensors, dbx.Params{"seen_at": store.Date(at).String()},
		dbx.HashExp{"id": sensor.Id}).Execute(); err != nil {
		return err
	}
	return e.JSON(http.StatusCreated, map[string]bool{"stored": true})
}
