package husbandry_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"underlog/internal/husbandry"
)

func TestATripIsAskedForWhatItLacks(t *testing.T) {
	flat := map[string]json.RawMessage{"id": json.RawMessage(`"t1"`), "name": json.RawMessage(`"Away"`), "leaves": json.RawMessage(`"2026-12-09"`)}
	problems := husbandry.CheckWhole("trips", flat, time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC))
	if len(problems) != 1 || !strings.HasPrefix(problems.Error(), "returns is missing: give a day such as 2026-05-28, from 1990 to 2099.") {
		t.Errorf("problems: %v", problems)
	}
}

func TestTheSpanOfATripIsWholeDaysOfTheHousehold(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	leaves, returns, ok := husbandry.Trip{Leaves: "2026-10-20", Returns: "2026-10-30"}.Span(zone) // over the end of summer time
	if !ok || leaves.Format(time.RFC3339) != "2026-10-20T00:00:00+02:00" || returns.Format(time.RFC3339) != "2026-10-30T00:00:00+01:00" {
		t.Errorf("from %v to %v, %v", leaves, returns, ok)
	}
	if _, _, ok := (husbandry.Trip{Leaves: "2026-10-20", Returns: "2026-10-19"}).Span(zone); ok {
		t.Error("a return before leaving has a span")
	}
}

func TestATripOfNoBinsIsOfAll(t *testing.T) {
	if !(husbandry.Trip{}).Has("a") || (husbandry.Trip{Bins: []string{"b"}}).Has("a") {
		t.Error("an empty list is all bins, another is its own")
	}
}
