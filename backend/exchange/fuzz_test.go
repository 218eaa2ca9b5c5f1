package exchange_test

import (
	"encoding/json"
	"strings"
	"testing"

	"underlog/backend/exchange"
	"underlog/internal/husbandry"
)

// Whatever comes over the line, the decoder takes it or says what is wrong,
// and what it takes is within the bounds of the protocol.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{
		`{"protocol":1,"device":"0123456789abcdef0123456789abcdef","epoch":"","cursor":0,"sheets":[],"entries":[]}`,
		`{"protocol":1,"device":"0123456789abcdef0123456789abcdef","cursor":5,"mark":"x","entries":[{"id":"a"},5,null]}`,
		`{"protocol":1,"device":"0123456789abcdef0123456789abcdef","asked":["a",""]}`, `{"protocol":1,"asked":[5]}`, `{"protocol":1,"asked":"a"}`,
		`{"protocol":2,"entries":{}}`, `{"protocol":1,"entries":7}`, `[]`, `null`, ``, `{"protocol":1`, "{\"protocol\":1,\"device\":\"\xff\"}",
		`{"protocol":1e0,"device":"0123456789abcdef0123456789abcdef","cursor":9223372036854775807}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		request, refusal := exchange.Parse(body)
		if refusal != nil {
			if request != nil || refusal.Status < 400 || refusal.Status > 499 || !strings.HasSuffix(refusal.Sentence, ".") {
				t.Errorf("refused with %+v", refusal)
			}
			if _, err := json.Marshal(refusal); err != nil {
				t.Error(err)
			}
			return
		}
		if !husbandry.IsRecordID(request.Device) || request.Cursor < 0 || len(request.Sheets)+len(request.Entries) > exchange.MostRecords ||
			len(request.Asked) > exchange.MostAsked {
			t.Errorf("taken: %+v", request)
		}
	})
}
