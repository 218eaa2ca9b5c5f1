package calendar_test

import (
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

type link struct{ ID, Name, Of, Trip, Path, SeenAt string }

func mustLink(phone *trial.Phone, wish map[string]string) link {
	phone.Helper()
	var made link
	phone.MustCall("POST", "/api/underlog/calendars", phone.Token, wish, 201, &made)
	return made
}

// mustRead asks for a calendar as a client does.
func mustRead(t *trial.Trial, path, tag string, status int) (body, etag string) {
	t.Helper()
	request, err := http.NewRequest("GET", "http://"+t.Addr()+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if tag != "" {
		request.Header.Set("If-None-Match", tag)
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	raw, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	if response.StatusCode != status {
		t.Fatalf("%s answered %d, want %d: %s", path, response.StatusCode, status, raw)
	}
	if kind := response.Header.Get("Content-Type"); status == 200 && kind != "text/calendar; charset=utf-8" {
		t.Errorf("it is %s", kind)
	}
	return string(raw), response.Header.Get("ETag")
}

// property returns the values of a property in all events, folds undone.
func property(calendar, name string) (values []string) {
	_, events, _ := strings.Cut(strings.ReplaceAll(calendar, "\r\n ", ""), "BEGIN:VEVENT")
	for line := range strings.SplitSeq(events, "\r\n") {
		if head, value, found := strings.Cut(line, ":"); found && strings.SplitN(head, ";", 2)[0] == name {
			values = append(values, value)
		}
	}
	return values
}

// mustTrip makes a trip of three weeks beginning in a week, to which somebody can
// come every day.
func mustTrip(phone *trial.Phone, name string, bins ...string) husbandry.Sheet {
	phone.Helper()
	trip := husbandry.UsualTrip()
	day := func(n int) string { return phone.Clock.Now().AddDate(0, 0, n).Format(time.DateOnly) }
	trip.Name, trip.Leaves, trip.Returns, trip.Sitter, trip.Call, trip.Bins = name, day(7), day(28), "Next door", "030 000", bins
	for n := 7; n < 28; n++ {
		trip.Days = append(trip.Days, day(n))
	}
	trip.ID = trial.NewID()
	sheet := phone.Sheet("trips", trip)
	phone.MustStore([]husbandry.Sheet{sheet})
	return sheet
}

func TestASittersCalendarShowsTheirVisitsAndNothingElse(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	mine, other := owner.Bin("Pied pillbugs"), owner.Bin("Secret springtails")
	owner.MustStore([]husbandry.Sheet{mine, other})
	trip := mustTrip(owner, "Summer", mine.ID)
	mustTrip(owner, "Elsewhere", other.ID)
	made := mustLink(owner, map[string]string{"of": "trip", "trip": trip.ID, "name": "Next door"})

	calendar, tag := mustRead(server, made.Path, "", 200)
	if len(property(calendar, "UID")) == 0 || !strings.Contains(calendar, "W2-3 Pied pillbugs") {
		t.Fatalf("there is no visit in\n%s", calendar)
	}
	for _, secret := range []string{"Secret", "Elsewhere", "Round"} {
		if strings.Contains(calendar, secret) {
			t.Errorf("it tells of %s:\n%s", secret, calendar)
		}
	}
	if !strings.Contains(calendar, "DTSTART;TZID=Europe/Berlin:2026") || !strings.Contains(calendar, "REFRESH-INTERVAL;VALUE=DURATION:PT4H") {
		t.Errorf("no zone, or no interval, in\n%s", calendar)
	}
	if _, again := mustRead(server, made.Path, tag, 304); again != tag {
		t.Errorf("what is the same has the tag %s, not %s", again, tag)
	}

	whole, _ := mustRead(server, mustLink(owner, map[string]string{"of": "room", "name": "Desk"}).Path, "", 200)
	for _, known := range []string{"Secret", "Pied", "Round"} {
		if !strings.Contains(whole, known) {
			t.Errorf("the owner's calendar lacks %s", known)
		}
	}
}

func TestAChangeIsToldAsAChangeAndWhatIsGoneIsCancelled(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	bin := owner.Bin("Pied pillbugs")
	owner.MustStore([]husbandry.Sheet{bin})
	trip := mustTrip(owner, "Summer")
	path := mustLink(owner, map[string]string{"of": "trip", "trip": trip.ID, "name": "Next door"}).Path
	before, tag := mustRead(server, path, "", 200)
	visits := property(before, "UID")

	edit := func(field, value string) {
		owner.Clock.Advance(time.Minute)
		stamp := husbandry.NextStamp(owner.Clock.Now(), owner.Device, "")
		owner.MustStore([]husbandry.Sheet{{Sheet: "trips", ID: trip.ID, Fields: map[string]husbandry.Stamped{field: {Value: []byte(value), Stamp: stamp}}}})
	}
	edit("call", `"030 111"`)
	after, changed := mustRead(server, path, tag, 200)
	if changed == tag || !strings.Contains(after, "030 111") || strings.Join(property(after, "UID"), " ") != strings.Join(visits, " ") {
		t.Errorf("a change duplicates, or is not there:\n%s", after)
	}
	for i, sequence := range property(after, "SEQUENCE") {
		if sequence != "1" || property(after, "LAST-MODIFIED")[i] <= property(before, "LAST-MODIFIED")[i] {
			t.Errorf("visit %d has the sequence %s and was changed at %s", i, sequence, property(after, "LAST-MODIFIED")[i])
		}
	}
	edit("deleted", "true")
	gone, _ := mustRead(server, path, "", 200)
	if status := strings.Join(property(gone, "STATUS"), " "); status != strings.TrimSpace(strings.Repeat("CANCELLED ", len(visits))) {
		t.Errorf("the visits of a trip that was removed are %s", status)
	}
	server.Clock.Advance(31 * 24 * time.Hour)
	mustRead(server, path, "", 404) // the return and a day's grace are past
}

func TestALinkIsGoodUntilItIsWithdrawn(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	helper := owner.MustAddHelper("Kim")
	first := mustLink(owner, map[string]string{"of": "room", "name": "Desk"})
	hers := mustLink(helper, map[string]string{"of": "room", "name": "Kim's phone"})
	mustRead(server, first.Path, "", 200)

	var renewed link
	owner.MustCall("POST", "/api/underlog/calendars/"+first.ID+"/link", owner.Token, nil, 200, &renewed)
	mustRead(server, first.Path, "", 404)
	mustRead(server, renewed.Path, "", 200)

	_, answer, _ := server.Call("GET", "/api/underlog/calendars", helper.Token, nil)
	if strings.Contains(string(answer), first.ID) || !strings.Contains(string(answer), hers.ID) || strings.Contains(string(answer), "path") {
		t.Errorf("a helper sees %s", answer)
	}
	owner.MustCall("DELETE", "/api/underlog/calendars/"+first.ID, owner.Token, nil, 204, nil)
	mustRead(server, renewed.Path, "", 404)
	owner.MustCall("DELETE", "/api/underlog/people/"+helper.Person.ID, owner.Token, nil, 204, nil)
	mustRead(server, hers.Path, "", 404) // who is gone takes their links along
}

func TestGuessingIsSlow(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	server.MustSetUp("Europe/Berlin")
	last := 0
	for range 40 {
		last, _, _ = server.Call("GET", "/api/underlog/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAA.ics", "", nil)
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("the 40th guess within a minute is answered %d", last)
	}
}

func TestWrongWishesGetASentence(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	owner := server.MustSetUp("Europe/Berlin")
	for _, c := range []struct {
		wish map[string]string
		says string
	}{
		{map[string]string{"of": "room", "name": " "}, "name has 0 characters: give 1 to 80"},
		{map[string]string{"of": "room", "name": strings.Repeat("ä", 81)}, "name has 81 characters"},
		{map[string]string{"of": "shed", "name": "x"}, `of is \"shed\": give room or trip.`},
		{map[string]string{"of": "trip", "name": "x", "trip": "none"}, "trip is none: give the id of a trip"},
	} {
		status, answer, _ := server.Call("POST", "/api/underlog/calendars", owner.Token, c.wish)
		if status != 400 || !strings.Contains(string(answer), c.says) {
			t.Errorf("%v: %d %s, want %q", c.wish, status, answer, c.says)
		}
	}
}
