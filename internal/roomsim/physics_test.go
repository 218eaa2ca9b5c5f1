package roomsim

import (
	"math"
	"testing"
)

// MustTub is a 6-quart tub (340 x 200 mm inside, from memory) with middling
// hidden properties, its damp side newly moistened.
func MustTub(openings ...Opening) *bin {
	b := &bin{Bin: Bin{ID: "tub", LengthMM: 340, WidthMM: 200, HeightMM: 120, SubstrateDepthMM: 50, DampShare: 0.5,
		LidGapMM: 0.3, WallMM: 1.5, Openings: openings}}
	b.soil = substrate{full: 0.60, diffusivity: 2e-9, drainage: 1e-5, litter: 475}
	b.vents = ventilation(b.Bin)
	b.celsius = 21
	b.fill(0.34, 0.13)
	return b
}

var cutOut = Opening{Where: "lid", Shape: "rectangle", LengthMM: 152, WidthMM: 102, Count: 1, MeshOpenShare: 0.5}

func (b *bin) millilitres() float64 { return b.damp.millilitres() + b.dry.millilitres() }

// Saturation pressure of water in Pa: IAPWS-IF97 (region 4), as tabulated in
// the science report of this project, within 0.1 % over 10 to 30 C.
func TestSaturationAgainstIF97(t *testing.T) {
	for celsius, kPa := range map[float64]float64{10: 1.22818, 15: 1.70574, 20: 2.33921, 21: 2.48810, 25: 3.16975, 30: 4.24669} {
		got := saturation(celsius) * 461.5 * (celsius + 273.15) / 1000
		if math.Abs(got/kPa-1) > 1e-3 {
			t.Errorf("%v C: %.5f kPa, want %.5f", celsius, got, kPa)
		}
	}
}

// What comes in is what goes out and what stays, to 1e-6 of it: through doses
// from drops to floods, dry and damp air.
func TestWaterBalance(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	weather := weather(cfg)
	for i := range 40 {
		b := newBin(cfg, i, 1)
		b.celsius = 21
		before := b.millilitres()
		r := draw(1, chanceOfDose, i, 0)
		for h := range 60 * 24 {
			if r.Float64() < 0.01 {
				b.water(math.Pow(10, between(r, 0, 3.2)))
			}
			b.settle(weather[h], 1)
		}
		if moved := b.givenML + b.lostML; math.Abs(before+b.givenML-b.lostML-b.millilitres()) > 1e-6*moved {
			t.Errorf("bin %d: %.6f mL before, %.6f given, %.6f lost, %.6f left", i, before, b.givenML, b.lostML, b.millilitres())
		}
		for _, c := range []column{b.damp, b.dry} {
			for l, w := range c.water {
				if !(w >= 0 && w <= b.soil.full+1e-9) {
					t.Errorf("bin %d layer %d: content %v", i, l, w)
				}
			}
		}
	}
}

// Common practice, no source: a well-vented 6-quart tub at 21 C and 45 % wants
// 2 to 3 US tablespoons about twice a week; one with nothing but its loose lid
// loses several times less.
func TestCommonPractice(t *testing.T) {
	air := Air{21, 45}
	perLook := func(b *bin) float64 {
		const halfWeek, settling, looks = 84, 8, 24
		given := 0.0
		for look := range settling + looks {
			dose := CommonDose(b.Bin)(feelWords[wordFor(b.damp.felt())])
			if look >= settling {
				given += dose
			}
			if dose > 0 {
				b.water(dose)
			}
			for range halfWeek {
				b.settle(air, 1)
			}
		}
		return given / looks
	}
	if given := perLook(MustTub(cutOut)); given < 1.8*Spoon || given > 3*Spoon {
		t.Errorf("a well-vented tub takes %.1f tablespoons a look", given/Spoon)
	}
	vented, loose := MustTub(cutOut), MustTub()
	for range 84 {
		vented.settle(air, 1)
		loose.settle(air, 1)
	}
	if lost := vented.lostML; lost < 2*Spoon || lost > 3*Spoon {
		t.Errorf("a well-vented tub loses %.1f tablespoons in half a week", lost/Spoon)
	}
	if x := vented.lostML / loose.lostML; x < 4 {
		t.Errorf("a loose lid loses only %.1f times less", x)
	}
}

// Common practice, no source: a bin that was set up well is safe for a week
// untouched. Left for a season, a well-vented one is not.
func TestAWeekUntouched(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	for i := range 60 {
		b := newBin(cfg, i, 1)
		b.celsius = 21
		for range 7 * 24 {
			b.settle(Air{21, 45}, 1)
		}
		if b.truth().AtRisk {
			t.Errorf("bin %d (%v, %v mm deep) is at risk after a week", i, b.Openings, b.SubstrateDepthMM)
		}
	}
	tub := MustTub(cutOut)
	days := 0
	for ; days < 120 && !tub.truth().AtRisk; days++ {
		for range 24 {
			tub.settle(Air{21, 45}, 1)
		}
	}
	if days < 14 || days == 120 {
		t.Errorf("a well-vented tub is at risk after %d days", days)
	}
}

// More water than the substrate holds swamps it, and an open bin gets over it.
func TestFlood(t *testing.T) {
	b := MustTub(cutOut)
	b.water(800)
	b.settle(Air{21, 45}, 1)
	if !b.truth().Swamped {
		t.Errorf("800 mL do not swamp a damp side of 1.7 L: %+v", b.truth())
	}
	for range 60 * 24 {
		b.settle(Air{21, 45}, 1)
	}
	if b.truth().Swamped {
		t.Errorf("still swamped after two months: %+v", b.truth())
	}
}

// Whatever else is the same: more vent, drier air and warmer air never leave
// more water, and no dose leaves the surface drier.
func TestDrying(t *testing.T) {
	left := func(vents float64, air Air, dose float64) (ml, felt float64) {
		b := MustTub(cutOut)
		b.vents *= vents
		b.water(dose)
		for range 10 * 24 {
			b.settle(air, 1)
		}
		return b.millilitres(), b.damp.felt()
	}
	ml, felt := left(1, Air{21, 45}, 20)
	for name, other := range map[string]func() (float64, float64){
		"more vent": func() (float64, float64) { return left(1.5, Air{21, 45}, 20) },
		"drier":     func() (float64, float64) { return left(1, Air{21, 30}, 20) },
		"warmer":    func() (float64, float64) { return left(1, Air{25, 45}, 20) },
		"less dose": func() (float64, float64) { return left(1, Air{21, 45}, 0) },
	} {
		if otherML, otherFelt := other(); otherML >= ml || otherFelt >= felt {
			t.Errorf("%s: %.1f mL, felt %.3f; before %.1f mL, felt %.3f", name, otherML, otherFelt, ml, felt)
		}
	}
}

// A slab with closed faces whose content differs from its mean by a cosine of
// half a wave over its depth L forgets it at the rate D (pi/L)^2 (Crank, The
// Mathematics of Diffusion, plane sheet; from memory). Layers of unequal
// thickness and half-hour steps cost a few per cent.
func TestRedistributeAgainstSlab(t *testing.T) {
	s := substrate{full: 0.6, diffusivity: 3e-9}
	const mean, wave, depth = 0.40, 0.004, 0.05
	c := newColumn(0.034, depth, mean)
	swing := func() float64 {
		sum, norm, above := 0.0, 0.0, 0.0
		for i, thick := range c.thick {
			cosine := math.Cos(math.Pi * (above + thick/2) / depth)
			sum += thick * cosine * (c.water[i] - mean)
			norm += thick * cosine * cosine
			above += thick
		}
		return sum / norm
	}
	above := 0.0
	for i, thick := range c.thick {
		c.water[i] += wave * math.Cos(math.Pi*(above+thick/2)/depth)
		above += thick
	}
	first := swing()
	const hours = 36
	for range 2 * hours {
		c.redistribute(1800, s)
	}
	want := math.Exp(-s.spread(mean) * math.Pow(math.Pi/depth, 2) * hours * 3600)
	if got := swing() / first; want < 0.1 || want > 0.5 || math.Abs(got/want-1) > 0.05 {
		t.Errorf("after %d h %.4f of the wave is left, want %.4f", hours, got, want)
	}
}

// Water that sinks out of a layer into which none sinks leaves the content
// w (1 + 19 K t / (w L))^(-1/19) after a time t, for a speed K that goes with the
// 20th power of the content and a thickness L (the kinematic wave of Sisson,
// Ferguson and van Genuchten 1980, from memory; it is also the integral of
// L dw/dt = -K). Layers are thick here, so that nearly nothing spreads.
func TestSinkingAgainstItsIntegral(t *testing.T) {
	s := substrate{full: 0.6, drainage: 2e-5}
	const start, thick = 0.59, 0.05
	c := column{area: 0.034}
	for i := range c.thick {
		c.thick[i] = thick
	}
	c.water[0] = start
	speed := s.drainage * math.Pow(start/s.full, 20)
	for halfHours := 1; halfHours <= 96; halfHours++ {
		c.redistribute(1800, s)
		want := start * math.Pow(1+19*speed*1800*float64(halfHours)/(start*thick), -1.0/19)
		if halfHours%12 == 0 && math.Abs(c.water[0]-want) > 0.01 {
			t.Errorf("after %d half hours the content is %.3f, want %.3f", halfHours, c.water[0], want)
		}
	}
}

// Half hours are fine enough: a day after a dose the surface feels and the floor
// is as with steps of ten seconds, whatever the substrate, and a dose has not
// left the surface drier.
func TestADoseInHalfHoursAndInSeconds(t *testing.T) {
	cfg := MustConfigs(t, TuningRoom, 1)[0]
	for i := range 60 {
		drawn := newBin(cfg, i, 1)
		for _, spoons := range []float64{0, 1.5, 3, 5} {
			dosed := func(dt float64) column {
				c := drawn.damp
				c.pour(spoons*Spoon*c.area/0.034, drawn.soil)
				for range int(24 * 3600 / dt) {
					c.redistribute(dt, drawn.soil)
				}
				return c
			}
			rough, fine := dosed(1800), dosed(10)
			if math.Abs(rough.felt()-fine.felt()) > 0.01 || math.Abs(rough.floor()-fine.floor()) > 0.01 {
				t.Errorf("bin %d, %g spoons: felt %.3f, floor %.3f in half hours; %.3f, %.3f in seconds",
					i, spoons, rough.felt(), rough.floor(), fine.felt(), fine.floor())
			}
			undosed := drawn.damp
			for range 48 {
				undosed.redistribute(1800, drawn.soil)
			}
			if rough.felt() < undosed.felt() {
				t.Errorf("bin %d: felt %.3f a day after %g spoons, %.3f without", i, rough.felt(), spoons, undosed.felt())
			}
		}
	}
}

// The power law passes about what the estimates in the project's science report
// give (computed there; films assumed, so no better than a third): a 4 x 6 inch
// screened cut-out, ten 1/8 inch holes, and the crack of a loose lid.
func TestVentilationIsOfTheRightSize(t *testing.T) {
	for name, c := range map[string]struct {
		gap  float64
		open []Opening
		want float64 // m3/s
	}{
		"cut-out":    {0, []Opening{cutOut}, 1.31e-5},
		"ten holes":  {0, []Opening{{Where: "lid", Shape: "round", DiameterMM: 3.2, Count: 10, MeshOpenShare: 1}}, 4.9e-7},
		"two 1 inch": {0, []Opening{{Where: "side", Shape: "round", DiameterMM: 25.4, Count: 2, MeshOpenShare: 0.5}}, 1.7e-6},
		"0.3 mm gap": {0.3, nil, 0.8e-6},
		"0.5 mm gap": {0.5, nil, 1.3e-6},
	} {
		b := MustTub(c.open...).Bin
		b.LidGapMM = c.gap
		if got := ventilation(b); got < 0.67*c.want || got > 1.5*c.want {
			t.Errorf("%s: %.3g m3/s, want about %.3g", name, got, c.want)
		}
	}
}
