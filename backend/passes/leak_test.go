package passes_test

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// The whole of what a pass is ever told holds nothing of what it does not open:
// no name, id, note, photo, kind or food of another bin, no count of them, no
// other person, no number by which one could tell how much goes on.
func TestNothingOfOtherBinsLeaks(t *testing.T) {
	h := mustBegin(t, map[string]any{"photos": true})
	h.MustAddHelper("Ottilie")
	h.mustPhoto(h.first.ID, 3)
	hidden := h.mustPhoto(h.other.ID, 4)
	h.MustStore([]husbandry.Sheet{h.Edit(h.first, "note", "bought dearly"), h.Edit(h.first, "line", "orange line"), h.Edit(h.sheet, "note", "keys are under the pot")})
	h.Clock.Advance(3 * days)
	var told []string
	add := func(method, path string, body any) {
		status, answer, header := h.Call(method, path, h.sitter.Token(), body)
		var headers []string
		for name, values := range header {
			headers = append(headers, name+": "+strings.Join(values, ", "))
		}
		slices.Sort(headers)
		told = append(told, method+" "+path+" -> "+strconv.Itoa(status)+"\n"+strings.Join(headers, "\n")+"\n"+string(answer))
	}
	s := h.sitter
	view, exchange := "/api/underlog/pass/view", "/api/underlog/pass/exchange"
	add("GET", view, nil)
	add("POST", exchange, s.Request(s.Feel(h.first.ID, "dry"), s.Says("", "The door was open.")))
	add("POST", exchange, s.Request(s.Feel("nobinatall00000", "dry")))
	add("POST", exchange, map[string]any{"protocol": 9})
	add("POST", exchange, []byte("}"))
	add("GET", view, nil)
	add("GET", doorPhotos+nameOf(nil), nil)
	add("PATCH", doorPhotos+nameOf(nil), nil)
	add("GET", "/api/underlog/exchange", nil)
	add("GET", "/api/collections/bins/records", nil)
	add("GET", "/api/collections/passes/records", nil)
	add("GET", "/api/collections/logs/records", nil)
	h.MustCall("DELETE", "/api/underlog/passes/"+s.Pass, h.Token, nil, 204, nil)
	add("GET", view, nil)
	everything := strings.Join(told, "\n\n")

	for _, known := range []string{h.first.ID, "Pied pillbugs", "melon", "Robin, 0000"} {
		if !strings.Contains(everything, known) {
			t.Errorf("%q is not told either, so the test shows nothing", known)
		}
	}
	secrets := []string{
		h.other.ID, "Costly cubaris", "Vault", "V1-3", h.otherFed.ID, "mushroom", "Mushroom", "confidential", hidden,
		"armadillidium", "bought dearly", "orange line", "under the pot", "Ottilie", `"Robin"`, h.Person.ID, h.Device, "Cellar",
		s.Secret, s.Pass, "cursor", "durable", "people", "hash",
	}
	for _, secret := range secrets {
		if strings.Contains(everything, secret) {
			t.Errorf("a pass is told %q", secret)
		}
	}
	// Every name in the answers was chosen.
	allowed := strings.Fields(`version at epoch rehearsal sitter person time_zone units leaves returns from until call visits bins shut foods
		date to stops bin closed steps do end dose_if_ml dry barely damp soaked of food since pieces side handfuls
		id name place rack shelf position shape length_mm width_mm height_mm substrate_depth_mm damp_end damp_share openings lid_gap_mm springtails glance photo
		where diameter_mm count mesh_open_share fresh mean low high gone mouldy
		changed yours was next new gone why
		protocol verdicts entries verdict problems sentence field value accepted what by device feel note status message`)
	allowed = append(allowed, "melon") // a food's name by its slug
	for _, answer := range told[:6] {
		_, raw, _ := strings.Cut(answer[strings.LastIndex(answer[:strings.Index(answer, "{")], "\n"):], "\n")
		var value any
		if err := json.Unmarshal([]byte(raw), &value); err != nil {
			t.Fatalf("%v in %s", err, answer)
		}
		eachName(value, func(name string) {
			if !slices.Contains(allowed, name) && !isFood(name) {
				t.Errorf("a pass is told a field %q", name)
			}
		})
	}
	// The bins of the view are those of its visits and of the sitter's entries.
	for _, bin := range h.mustViewAs(t) {
		if bin != h.first.ID && bin != h.second.ID {
			t.Errorf("the view has a bin %s", bin)
		}
	}
}

// isFood reports whether a slug is of a food that ships with the tool and is
// not one that only another bin has.
func isFood(slug string) bool {
	return slug != "mushroom" && slices.ContainsFunc(husbandry.Foods(), func(food husbandry.Food) bool { return food.Slug == slug })
}

// mustViewAs lists the bins that a new pass for the same person is shown.
func (h *house) mustViewAs(t *testing.T) (ids []string) {
	t.Helper()
	h.sitter = h.MustMakePass(h.trip.ID, "Kim", nil)
	for _, bin := range h.mustView().Bins {
		ids = append(ids, bin.ID)
	}
	return ids
}

func eachName(value any, visit func(name string)) {
	switch value := value.(type) {
	case map[string]any:
		for name, inner := range value {
			visit(name)
			eachName(inner, visit)
		}
	case []any:
		for _, inner := range value {
			eachName(inner, visit)
		}
	}
}

// What goes on in other bins shows in nothing that a pass is told.
func TestOtherBinsDoNotShowInTheAnswers(t *testing.T) {
	h := mustBegin(t, nil)
	h.Clock.Advance(3 * days)
	ask := func() string {
		t.Helper()
		var told []string
		for _, path := range []string{"view", "exchange"} {
			method, body := "GET", any(nil)
			if path == "exchange" {
				method, body = "POST", h.sitter.Request()
			}
			status, answer, _ := h.Call(method, "/api/underlog/pass/"+path, h.sitter.Token(), body)
			if status != 200 {
				t.Fatalf("%s answers %d %s", path, status, answer)
			}
			told = append(told, string(answer))
		}
		return strings.Join(told, "\n")
	}
	before := ask()
	more := h.Bin("Another one")
	h.MustStore([]husbandry.Sheet{more, h.Edit(h.other, "name", "Even costlier")},
		h.Feed(h.other.ID), h.Log(h.other.ID, husbandry.Look, nil), h.Log(more.ID, husbandry.Note, func(e *husbandry.Entry) { e.Note = "x" }))
	if after := ask(); after != before {
		t.Errorf("what a pass is told went from\n%s\nto\n%s", before, after)
	}
	if got := h.sitter.MustExchange(h.sitter.Feel(h.first.ID, "dry")).Verdicts[0].Verdict; got != store.Stored {
		t.Fatal(got)
	}
	if after := ask(); after == before {
		t.Error("what the sitter found does not show either, so the test shows nothing")
	}
}
