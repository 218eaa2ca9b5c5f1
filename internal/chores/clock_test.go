package chores

import (
	"math"
	"testing"
	"time"

	"underlog/internal/husbandry"
)

func airRead(at time.Time, celsius, percent float64) *husbandry.Entry {
	return &husbandry.Entry{At: at, What: husbandry.Climate, TemperatureC: &celsius, HumidityPct: &percent}
}

// What a clock gains between two instants hangs on the air between them, and
// not, to the last bit, on where it was begun or when it was asked.
func TestAClockGainsTheSameWhereverItBegins(t *testing.T) {
	readings := []*husbandry.Entry{airRead(back(9*day), 20, 40), airRead(back(3*day), 23, 60), airRead(back(2*time.Hour), 22, 35)}
	air := NewAir(husbandry.UsualRoom(), readings)
	long := newClock(air, back(200*day), evening.Add(120*day), evening)
	short := newClock(air, back(30*day).Add(7*time.Minute), evening.Add(90*day), evening)
	if !long.sameAs(short) || !short.sameAs(long) {
		t.Error("they are not told to be the same")
	}
	for _, from := range []time.Duration{30*day - time.Hour, 5 * day, 61 * time.Minute, 0} {
		for _, to := range []time.Duration{from, from - 17*time.Minute, -20 * day} {
			a, b := long.between(back(from), back(to)), short.between(back(from), back(to))
			if a != b || a < 0 {
				t.Errorf("from %v to %v before: %v and %v", from, to, a, b)
			}
		}
	}
	// One hour of the air that the clock is counted in is an hour.
	usual := husbandry.UsualRoom()
	usual.TemperatureC, usual.HumiditySummerPct, usual.HumidityWinterPct = 21, 45, 45
	reference := newClock(NewAir(usual, nil), back(10*day), evening, evening)
	if got := reference.between(back(5*day), back(4*day)); math.Abs(got-24) > 1e-6 {
		t.Errorf("a day of the reference air counts %v hours", got)
	}
}

func TestDrierAndWarmerAirDriesFaster(t *testing.T) {
	gain := func(celsius, percent float64) float64 {
		air := NewAir(husbandry.UsualRoom(), []*husbandry.Entry{airRead(back(2*day), celsius, percent), airRead(back(0), celsius, percent)})
		return newClock(air, back(10*day), evening.Add(day), evening).between(back(2*day), back(0))
	}
	usual := gain(21, 50)
	if dry, warm, damp := gain(21, 30), gain(26, 50), gain(21, 80); dry <= usual || warm <= usual || damp >= usual {
		t.Errorf("usual %.1f h, dry %.1f, warm %.1f, damp %.1f", usual, dry, warm, damp)
	}
}

// Readings change what lies since the one before, and nothing older: what was
// replayed of it stands.
func TestAReadingLeavesThePastAlone(t *testing.T) {
	first := []*husbandry.Entry{airRead(back(9*day), 20, 40), airRead(back(3*day), 23, 60)}
	before := newClock(NewAir(husbandry.UsualRoom(), first), back(30*day), evening.Add(30*day), evening)
	after := newClock(NewAir(husbandry.UsualRoom(), append(first, airRead(back(time.Hour), 25, 30))), back(30*day), evening.Add(30*day), evening)
	if before.sameAs(after) {
		t.Error("a reading changed nothing")
	}
	if a, b := before.between(back(20*day), back(3*day+3*time.Hour)), after.between(back(20*day), back(3*day+3*time.Hour)); a != b {
		t.Errorf("the past went from %v to %v", a, b)
	}
	// One that had not been made yet does not count.
	early := newClock(NewAir(husbandry.UsualRoom(), append(first, airRead(back(time.Hour), 25, 30))), back(30*day), evening.Add(30*day), back(2*time.Hour))
	if !early.sameAs(before) {
		t.Error("a reading counts before it was made")
	}
}
