package gauge

import "testing"

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

func BenchmarkReplay200Days(b *testing.B) {
	p, f, events := Dampness(0.034, 0.05), New(), season()
	b.ReportAllocs()
	for b.Loop() {
		f.Reset(p, p.Rate, nil)
		f.Replay(events)
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
