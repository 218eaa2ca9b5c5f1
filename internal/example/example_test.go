package example

import (
	"bytes"
	"testing"
	"time"

	"underlog/internal/book"
	"underlog/internal/husbandry"
)

var today = time.Date(2026, 6, 1, 9, 0, 0, 0, time.FixedZone("Harbour", 2*3600))

func TestExampleIsSoundAndTheSameEveryTime(t *testing.T) {
	var first, second bytes.Buffer
	if err := book.Write(&first, Book(today, "us")); err != nil {
		t.Fatal(err)
	}
	if err := book.Write(&second, Book(today.Add(5*time.Hour), "us")); err != nil {
		t.Fatal(err)
	}
	firstLine := bytes.IndexByte(first.Bytes(), '\n')
	if !bytes.Equal(first.Bytes()[firstLine:], second.Bytes()[bytes.IndexByte(second.Bytes(), '\n'):]) {
		t.Error("two books of one day differ")
	}
	read, err := book.Read(&first, today)
	if err != nil {
		t.Fatal(err)
	}
	if len(read.Problems)+len(read.Warnings) > 0 {
		t.Errorf("problems %v, warnings %v", read.Problems, read.Warnings)
	}
}

func TestExampleEndsYesterdayWithFoodLying(t *testing.T) {
	b := Book(today, "metric")
	var last time.Time
	lying := map[string]bool{}
	bins := 0
	for _, s := range b.Sheets {
		if s.Sheet == "bins" {
			bins++
		}
	}
	for _, e := range b.Entries {
		if e.At.After(last) {
			last = e.At
		}
		switch e.What {
		case husbandry.Feed:
			if e.Food != "cuttlebone" && e.Food != "egg shell" { // those stay
				lying[e.ID] = true
			}
		case husbandry.Leftovers:
			if e.Left == "all gone" || e.Removed {
				delete(lying, e.Of)
			}
		}
	}
	if bins != 24 {
		t.Errorf("%d bins", bins)
	}
	if yesterday := today.AddDate(0, 0, -1); last.Format(time.DateOnly) != yesterday.Format(time.DateOnly) {
		t.Errorf("ends %v", last)
	}
	if len(lying) == 0 {
		t.Error("no food lies in any bin: nothing would be due today")
	}
	if len(b.Entries) < 1500 || len(b.Entries) > 8000 {
		t.Errorf("%d entries in four months are not believable", len(b.Entries))
	}
}
