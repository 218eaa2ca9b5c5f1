package exchange_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

type loadAnswer struct {
	trial.Answer
	Mark string `json:"mark"`
	Load struct {
		Stage, Next string
		Left, Older int
		Done        bool
	} `json:"load"`
}

func mustLoad(t *testing.T, phone *trial.Phone, stage, before string) loadAnswer {
	t.Helper()
	request := phone.Request(nil, nil)
	request["load"] = map[string]string{"stage": stage, "before": before}
	var answer loadAnswer
	phone.MustCall("POST", "/api/underlog/exchange", phone.Token, request, 200, &answer)
	phone.Epoch, phone.Cursor = answer.Epoch, answer.Cursor
	return answer
}

// A new phone loads the last 200 days first, then on wish what is older, and
// has the same as the server in the end, although another phone goes on
// logging, among it entries of long ago.
func TestANewPhoneLoadsTheRecentFirst(t *testing.T) {
	first, bin := mustBegin(t)
	all := map[string]bool{}
	log := func(age time.Duration) husbandry.Entry {
		entry := water(first, bin.ID)
		entry.At = first.Clock.Now().Add(-age)
		all[entry.ID] = true
		return entry
	}
	// Many at one instant: a page may end between any two of them.
	var entries []husbandry.Entry
	for i := range 2600 {
		entries = append(entries, log(time.Duration(i/7)*4*time.Hour))
	}
	for i := range 1300 {
		entries = append(entries, log(time.Duration(300+i/9)*24*time.Hour))
	}
	struck := entries[5]
	strike := first.Log(bin.ID, husbandry.Strike, func(e *husbandry.Entry) {
		e.Struck, e.At = struck.ID, first.Clock.Now().Add(-400*24*time.Hour) // by a phone whose clock was wrong
	})
	all[strike.ID] = true
	for page := range slices.Chunk(append(entries, strike), 500) {
		first.MustStore(nil, page...)
	}

	second := first.MustSignIn("Robin")
	got := map[string]bool{}
	take := func(entries []husbandry.Entry) {
		for _, entry := range entries {
			got[entry.ID] = true
		}
	}
	answer := mustLoad(t, second, "recent", "")
	take(answer.Entries)
	if len(answer.Sheets) < 2 || answer.Cursor == 0 || answer.Mark == "" {
		t.Errorf("the first page has %d sheets and goes on at %d", len(answer.Sheets), answer.Cursor)
	}
	if !got[strike.ID] {
		t.Error("the strike of long ago is not with what it strikes")
	}
	pages := 1
	for ; !answer.Load.Done; pages++ {
		first.MustStore(nil, log(time.Hour), log(190*24*time.Hour), log(500*24*time.Hour))
		left := answer.Load.Left
		answer = mustLoad(t, second, "recent", answer.Load.Next)
		take(answer.Entries)
		if len(answer.Sheets) != 0 || answer.Load.Left >= left {
			t.Fatalf("page %d: %d sheets, %d left after %d", pages, len(answer.Sheets), answer.Load.Left, left)
		}
	}
	for _, entry := range entries {
		if inside := entry.At.After(second.Clock.Now().Add(-200 * 24 * time.Hour)); inside && !got[entry.ID] {
			t.Fatalf("%s of %s is missing", entry.ID, entry.At)
		}
	}
	if pages < 2 || len(got) >= 3000 || answer.Load.Older < 1300 {
		t.Errorf("%d pages with %d entries, %d older", pages, len(got), answer.Load.Older)
	}
	for {
		answer := second.MustExchange(nil, nil)
		take(answer.Entries)
		if !answer.More {
			break
		}
	}
	for next := answer.Load.Next; ; next = answer.Load.Next {
		answer = mustLoad(t, second, "older", next)
		take(answer.Entries)
		if answer.Load.Done {
			break
		}
	}
	if len(got) != len(all) {
		t.Errorf("the phone has %d entries, want %d", len(got), len(all))
	}
}

func TestALoadThatIsWrong(t *testing.T) {
	phone, _ := mustBegin(t)
	for _, load := range []any{
		map[string]string{"stage": "all"},
		map[string]string{"stage": "recent", "before": "yesterday"},
		map[string]string{"stage": "older", "before": "2026-05-28 10:00:00.000Z|no id!"},
		"recent",
	} {
		request := phone.Request(nil, nil)
		request["load"] = load
		status, answer, _ := phone.Call("POST", "/api/underlog/exchange", phone.Token, request)
		if status != 400 {
			t.Errorf("%v: answered %d %s", load, status, answer)
		}
	}
}

// A load of another feed than the server's begins anew.
func TestALoadOfAnOlderServer(t *testing.T) {
	phone, _ := mustBegin(t)
	phone.Epoch = fmt.Sprint("another", phone.Epoch)
	if answer := mustLoad(t, phone, "recent", ""); answer.Load.Stage != "" || !answer.More {
		t.Errorf("answered %+v", answer)
	}
}
