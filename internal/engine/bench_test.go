package engine

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"underlog/internal/example"
	"underlog/internal/husbandry"
)

// big makes a room of many bins, each with so many times the example's days of
// entries.
func big(tb testing.TB, bins, times int) ([]husbandry.Sheet, []husbandry.Entry) {
	tb.Helper()
	base := example.Book(today, "us")
	sheets := husbandry.Seeds()
	var entries []husbandry.Entry
	var templates []husbandry.Sheet
	for _, s := range base.Sheets {
		if s.Sheet == "bins" {
			templates = append(templates, s)
		}
	}
	for n := range bins {
		template := templates[n%len(templates)]
		copied := template
		copied.ID = fmt.Sprintf("bin%012d", n)
		sheets = append(sheets, copied)
		for era := range times {
			for _, entry := range base.Entries {
				if entry.Bin != template.ID {
					continue
				}
				suffix := fmt.Sprintf("-%d-%d", n, era)
				entry.ID, entry.Bin = entry.ID+suffix, copied.ID
				if entry.Of != "" {
					entry.Of += suffix
				}
				entry.At = entry.At.AddDate(0, 0, -era*example.Days)
				entries = append(entries, entry)
			}
		}
	}
	for _, entry := range base.Entries {
		if entry.What == husbandry.Climate {
			entries = append(entries, entry)
		}
	}
	return sheets, entries
}

// limited reports the time of one round as a share of a limit.
func limited(b *testing.B, limit time.Duration) {
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(limit), "of-"+limit.String())
}

const twoYears = 6 // times the example's days

// The engine holds a room of 200 bins; an entry arrives and the clock has moved.
func BenchmarkRefresh200Bins(b *testing.B) {
	sheets, entries := big(b, 200, twoYears)
	for _, c := range []struct {
		name string
		what func(n int, at time.Time) husbandry.Entry
	}{
		{"felt", func(n int, at time.Time) husbandry.Entry {
			return husbandry.Entry{What: husbandry.Feel, Feel: husbandry.FeelWords[n%4]}
		}},
		{"fed", func(n int, at time.Time) husbandry.Entry {
			return husbandry.Entry{What: husbandry.Feed, Food: "carrot", Pieces: 1}
		}},
		{"late", func(n int, at time.Time) husbandry.Entry { // written down two days after
			return husbandry.Entry{What: husbandry.Feel, Feel: husbandry.FeelWords[n%4], At: at.Add(-48 * time.Hour)}
		}},
		{"air", func(n int, at time.Time) husbandry.Entry {
			celsius := 21 + 0.1*float64(n%10)
			return husbandry.Entry{What: husbandry.Climate, TemperatureC: &celsius}
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			e := New()
			e.Put(sheets, entries)
			at := today
			e.Survey(at)
			b.ReportAllocs()
			for n := 0; b.Loop(); n++ {
				at = at.Add(time.Second)
				entry := c.what(n, at)
				entry.ID = fmt.Sprint("x", n)
				if entry.What != husbandry.Climate {
					entry.Bin = fmt.Sprintf("bin%012d", n%200)
				}
				if entry.At.IsZero() {
					entry.At = at
				}
				e.Put(nil, []husbandry.Entry{entry})
				e.Survey(at)
			}
			limited(b, 150*time.Millisecond)
		})
	}
}

// The engine holds a room of 200 bins, and the next day is asked for.
func BenchmarkNextDay200Bins(b *testing.B) {
	sheets, entries := big(b, 200, twoYears)
	e := New()
	e.Put(sheets, entries)
	e.Survey(today)
	b.ReportAllocs()
	for n := 1; b.Loop(); n++ {
		e.Survey(today.AddDate(0, 0, n%2))
	}
	limited(b, 150*time.Millisecond)
}

// Everything is worked out anew, as when the program starts.
func BenchmarkFirstSurvey(b *testing.B) {
	for _, bins := range []int{1, 60, 200} {
		b.Run(fmt.Sprint(bins, "-bins"), func(b *testing.B) {
			sheets, entries := big(b, bins, twoYears)
			b.ReportAllocs()
			for b.Loop() {
				b.StopTimer()
				e := New()
				e.Put(sheets, entries)
				b.StartTimer()
				e.Survey(today)
			}
			limited(b, time.Duration(bins)*2500*time.Microsecond) // half a second for 200
		})
	}
}

// heldBy is the memory that an engine needs beyond the records it was given.
func heldBy(tb testing.TB, bins, times int) float64 {
	tb.Helper()
	sheets, entries := big(tb, bins, times)
	e := New()
	e.Put(sheets, entries)
	for bin := range e.records.byBin {
		e.records.byBin[bin].inOrder()
	}
	heap := func() float64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc)
	}
	before := heap()
	e.Survey(today)
	after := heap()
	runtime.KeepAlive(e)
	return after - before
}

// What the engine keeps of two years is what it keeps of the days that count.
func TestMemoryIsFlatAsHistoryGrows(t *testing.T) {
	short, long := heldBy(t, 12, 3), heldBy(t, 12, 12)
	t.Logf("%.0f kB a bin of half a year, %.0f kB of two years", short/12e3, long/12e3)
	if long > 1.3*short {
		t.Errorf("%.0f kB for two years of entries, %.0f kB for half a year", long/1e3, short/1e3)
	}
}

func BenchmarkMemoryOf200Bins(b *testing.B) {
	for b.Loop() {
		b.ReportMetric(heldBy(b, 200, twoYears)/1e6, "MB")
	}
}
