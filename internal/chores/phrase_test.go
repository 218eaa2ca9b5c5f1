package chores

import (
	"testing"
	"time"
)

func TestWhen(t *testing.T) {
	noon := time.Date(2026, 6, 3, 12, 0, 0, 0, evening.Location()) // a Wednesday
	for after, want := range map[time.Duration]string{
		-time.Minute:   "by now",
		3 * time.Hour:  "by this afternoon",
		6 * time.Hour:  "by tonight",
		21 * time.Hour: "by tomorrow morning",
		25 * time.Hour: "by tomorrow noon",
		55 * time.Hour: "by Friday evening",
		12 * day:       "by 15 June",
	} {
		if got := when(noon.Add(after), noon); got != want {
			t.Errorf("%v later: %q, want %q", after, got, want)
		}
	}
	// It is the day of whoever asks that counts.
	utc := noon.In(time.UTC)
	if got := when(noon.Add(11*time.Hour).In(time.UTC), noon); got != "by tonight" {
		t.Errorf("at 23:00 here, 21:00 in UTC: %q", got)
	}
	if got := when(noon.Add(13*time.Hour), utc); got != "by tonight" {
		t.Errorf("at 1:00 here, 23:00 where it is asked: %q", got)
	}
}

func TestOddsAndSpansInWords(t *testing.T) {
	for p, want := range map[float64]string{
		0: "hardly any chance", 0.1: "1 in 10", 0.26: "1 in 4", 0.5: "1 in 2", 0.66: "2 in 3", 0.75: "3 in 4", 0.8: "4 in 5", 0.9: "9 in 10", 1: "almost surely",
	} {
		if got := chance(p); got != want {
			t.Errorf("chance of %g: %q, want %q", p, got, want)
		}
	}
	for p, want := range map[float64]string{0.1: "1 in 10", 0.45: "as likely as not", 0.7: "likely", 0.95: "almost surely"} {
		if got := likely(p); got != want {
			t.Errorf("likely %g: %q, want %q", p, got, want)
		}
	}
	for since, want := range map[time.Duration]string{time.Minute: "less than an hour", 5 * time.Hour: "5 h", 47 * time.Hour: "47 h", 80 * time.Hour: "3 days"} {
		if got := ago(back(since), evening); got != want {
			t.Errorf("%v ago: %q, want %q", since, got, want)
		}
	}
}
