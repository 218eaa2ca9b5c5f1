package passes_test

import (
	"net/http"
	"strings"
	"sync"
	"testing"

	"underlog/internal/husbandry"
)

// Several phones come at once, some with a pass, one that guesses, while the
// owner logs and makes passes: each is answered as if it were alone.
func TestPhonesWithAPassAtOnce(t *testing.T) {
	h := mustBegin(t, map[string]any{"photos": true})
	h.Clock.Advance(3 * days)
	status := func(method, path, token, body string) int {
		request, err := http.NewRequest(method, "http://"+h.Addr()+path, strings.NewReader(body))
		if err != nil {
			t.Error(err)
			return 0
		}
		request.Header.Set("Authorization", token)
		response, err := http.DefaultClient.Do(request)
		if err != nil {
			t.Error(err)
			return 0
		}
		response.Body.Close()
		return response.StatusCode
	}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for range 5 {
				if got := status("GET", "/api/underlog/pass/view", h.sitter.Token(), ""); got != 200 {
					t.Errorf("the view is answered %d", got)
				}
				exchange := `{"protocol":1,"device":"` + h.sitter.Device + `","entries":[]}`
				if got := status("POST", "/api/underlog/pass/exchange", h.sitter.Token(), exchange); got != 200 {
					t.Errorf("the exchange is answered %d", got)
				}
			}
		})
	}
	all.Go(func() {
		for range 5 {
			if got := status("GET", "/api/underlog/pass/view", "Pass x", ""); got != 401 {
				t.Errorf("a guess is answered %d", got)
			}
		}
	})
	for range 5 {
		h.MustMakePass(h.trip.ID, "Sam", nil)
		h.MustStore(nil, h.Log(h.first.ID, husbandry.Look, nil))
	}
	all.Wait()
}
