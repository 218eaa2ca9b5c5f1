package renewal

import (
	"slices"
	"testing"
	"time"
)

func date(t *testing.T, text, zone string) time.Time {
	t.Helper()
	place, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	at, err := time.ParseInLocation(time.DateOnly, text, place)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func months(n int) time.Duration { return time.Duration(n) * 30 * day }

// Sixty bins that were all renewed on the first of January and July are spread
// out: with a goal of half a year, over the weeks that the spans reach.
func TestAYearIsSpread(t *testing.T) {
	today := date(t, "2026-03-04", "Europe/Berlin")
	var bins []Bin
	for i := range 60 {
		bins = append(bins, Bin{ID: string(rune('A' + i)), Wants: date(t, "2026-07-01", "Europe/Berlin"), Every: months(6)})
	}
	cal, err := Year(bins, nil, today, Punctual)
	if err != nil {
		t.Fatal(err)
	}
	load := make([]int, Weeks)
	for _, block := range cal.Blocks {
		load[block.Week]++
	}
	// The span of a goal is 45 days before to 30 days after: 11 or 12 weeks.
	if cal.Fullest > 6 || slices.Max(load) != cal.Fullest {
		t.Errorf("the fullest week has %d renewals, said to be %d: %v", slices.Max(load), cal.Fullest, load)
	}
	if len(cal.Blocks) != 120 {
		t.Errorf("%d renewals in a year of 60 bins, want 120", len(cal.Blocks))
	}
}

func TestHolidaysAndYoungAreKeptFree(t *testing.T) {
	today := date(t, "2026-03-04", "America/New_York") // a Wednesday
	day := func(text string) time.Time { return date(t, text, "America/New_York") }
	away := []Span{{day("2026-03-16"), day("2026-03-24")}}
	bins := []Bin{
		{ID: "holiday", Wants: day("2026-03-18"), Every: months(6)},
		{ID: "young", Wants: day("2026-03-05"), Every: months(6), Young: day("2026-03-03")},
		{ID: "moved", Wants: day("2026-03-18"), Every: months(6), On: day("2026-03-17"), Moved: true},
		{ID: "overdue", Wants: day("2025-11-01"), Every: months(3)},
	}
	cal, err := Year(bins, away, today, Punctual)
	if err != nil {
		t.Fatal(err)
	}
	if want := []bool{false, false, true, true, false}; !slices.Equal(cal.Away[:5], want) {
		t.Errorf("away %v, want %v", cal.Away[:5], want)
	}
	first := map[string]string{}
	for _, block := range cal.Blocks {
		if block.Nth == 0 {
			first[block.Bin] = cal.Weeks[block.Week].Format(time.DateOnly)
		}
	}
	// The clocks go forward on 8 March: weeks are counted in days all the same.
	for bin, want := range map[string]string{"holiday": "2026-03-09", "young": "2026-03-30", "moved": "2026-03-16", "overdue": "2026-03-02"} {
		if first[bin] != want {
			t.Errorf("%s is in the week of %s, want %s", bin, first[bin], want)
		}
	}
}

// 48 bins that are each renewed every half year come to 48 x 7 / 182.6 = 1.84
// renewals a week, every quarter to 3.68: no calendar has a fullest week below
// the next whole number, and bins that are staggered evenly reach it.
func TestStaggeredBinsReachTheLeastFullestWeek(t *testing.T) {
	today := date(t, "2026-03-02", "Europe/Berlin") // a Monday
	for _, c := range []struct {
		days  float64
		least int
	}{{182.6, 2}, {91.3, 4}} {
		var bins []Bin
		for i := range 48 {
			wants := today.AddDate(0, 0, int(float64(i)*c.days/48))
			bins = append(bins, Bin{ID: string(rune('A' + i)), Wants: wants, Every: time.Duration(c.days * float64(day))})
		}
		cal, err := Year(bins, nil, today, Punctual)
		if err != nil {
			t.Fatal(err)
		}
		if cal.Fullest != c.least {
			t.Errorf("every %.1f days the fullest week has %d renewals, want %d", c.days, cal.Fullest, c.least)
		}
	}
}
