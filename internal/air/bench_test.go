package air

import "testing"

var kept Loss

func BenchmarkLoss(b *testing.B) {
	tub := sixQuart(0.0003, cutOut(6, 4), inSide(holes(10, 1.0/8, 1)))
	p := tub.Prepare()
	climate := Climate{TemperatureC: 21, HumidityPct: 45}
	b.ReportAllocs()
	for i := range b.N {
		climate.TemperatureC = 15 + float64(i&15)
		kept = p.Loss(climate)
	}
}

func BenchmarkPrepare(b *testing.B) {
	tub := sixQuart(0.0003, cutOut(6, 4), inSide(holes(10, 1.0/8, 1)))
	b.ReportAllocs()
	for range b.N {
		p := tub.Prepare()
		kept.TubMLPerHour = p.vents[0]
	}
}

// The replay calls Loss thousands of times; it must not allocate.
func TestLossDoesNotAllocate(t *testing.T) {
	tub := sixQuart(0.0003, cutOut(6, 4))
	p := tub.Prepare()
	if n := testing.AllocsPerRun(100, func() { kept = p.Loss(Climate{TemperatureC: 21, HumidityPct: 45}) }); n != 0 {
		t.Errorf("%v allocations per call", n)
	}
}
