package gauge

import (
	"testing"
	"time"
)

// season is 200 days of a bin looked at 60 times, watered at 40 of them.
func season() []Event {
	var events []Event
	for i := range 60 {
		h := float64(i+1) * 80
		clock := h * 0.40 // mL: a well-vented bin loses about 10 mL a day
		events = append(events, Event{Clock: clock, Hours: h, Kind: Word, Word: 1 + i%2})
		if i%3 != 0 {
			events = append(events, Event{Clock: clock, Hours: h, Kind: Dose, Amount: 45})
		}
	}
	return events
}

func fortnight(f *Filter) []Future {
	var futures []Future
	for i := 1; i <= 56; i++ {
		h := float64(6 * i)
		futures = append(futures, Future{Clock: f.clock + 0.4*h, Hours: f.hours + h, ClockSpread: 0.02 * h})
	}
	return futures
}

// limited reports the time of one round as a share of a limit.
func limited(b *testing.B, limit time.Duration) {
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(limit), "of-"+limit.String())
}

func BenchmarkReplay200Days(b *testing.B) {
	p, f, events := Dampness(0.034, 0.05), New(), season()
	b.ReportAllocs()
	for b.Loop() {
		f.Reset(p, p.Rate, nil)
		f.Replay(events)
	}
	limited(b, time.Millisecond)
}

// Whatever happens and is asked, nothing is allocated once a filter has been
// through it.
func TestNothingIsAllocatedOnTheWay(t *testing.T) {
	p, f, into, events := Dampness(0.034, 0.05), New(), New(), season()
	var mark Mark
	var lesson Lesson
	odds, fans := make([]Odds, 0, 100), make([]Fan, 0, 100)
	f.Reset(p, p.Rate, nil)
	f.Replay(events)
	futures := fortnight(f)
	once := func() {
		f.Reset(p, p.Rate, nil)
		f.Forecast(odds[:0], futures) // with every rate in reach
		f.Replay(events)
		f.Forecast(odds[:0], futures)
		f.Fans(fans[:0], futures)
		f.If(into, futures[3], 1).DoseToRefill(1, 1.1, 0.05)
		f.Lesson(&lesson)
		f.Keep(&mark)
		f.BackTo(&mark)
		f.Reweigh(RatePrior{LogMedian: 0.1, LogSpread: 0.4})
		f.Forecast(odds[:0], futures)
	}
	once()
	if n := testing.AllocsPerRun(5, once); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkReplayAndForecast(b *testing.B) {
	p, f, events := Dampness(0.034, 0.05), New(), season()
	f.Reset(p, p.Rate, nil)
	f.Replay(events)
	futures := fortnight(f)
	odds := make([]Odds, 0, len(futures))
	b.ReportAllocs()
	for b.Loop() {
		f.Reset(p, p.Rate, nil)
		f.Replay(events)
		odds = f.Forecast(odds[:0], futures)
	}
}

func BenchmarkFans(b *testing.B) {
	p, f, events := Dampness(0.034, 0.05), New(), season()
	f.Reset(p, p.Rate, nil)
	f.Replay(events)
	futures := fortnight(f)
	fans := make([]Fan, 0, len(futures))
	b.ReportAllocs()
	for b.Loop() {
		fans = f.Fans(fans[:0], futures)
	}
}

func BenchmarkPool60(b *testing.B) {
	p, f, events := Dampness(0.034, 0.05), New(), season()
	lessons := make([]Lesson, 60)
	for i := range lessons {
		f.Reset(p, p.Rate, nil)
		f.Replay(events)
		f.Lesson(&lessons[i])
	}
	b.ReportAllocs()
	for b.Loop() {
		Pool(p.Rate, lessons, nil)
	}
}
