package air

import "math"

// More judgement: how freely the substrate gives to the headspace.
const (
	surface = 1.5e-3 // m/s, from substrate to headspace
	// The dry half is only a little drier than saturated, and the drier the
	// room the drier it lies: at 97 % under a room at 45 %. So it lags by this
	// share of what the room lacks.
	dryHalfLag = 0.03 / 0.55
)

// A Tub is a lidded container as far as vapour cares; inside measures in
// metres. What is below 0 or not a number counts as 0.
type Tub struct {
	LengthM, WidthM, HeightM float64
	RoundPlan                bool    // round or oval, with its diameters in LengthM and WidthM
	DampShare                float64 // share of the plan that is kept damp, 0-1
	LidGapM                  float64 // height of the crack between lid and rim
	WallM                    float64 // thickness of lid and walls; 0 counts as 1.5 mm
	Openings                 []Opening
}

// A Climate is the air of the room. Temperatures outside -20 to 60 °C and
// humidities outside 0-100 % are taken as the nearest end.
type Climate struct{ TemperatureC, HumidityPct float64 }

// A Loss is what a bin loses in a steady climate.
type Loss struct {
	// DampMLPerHour leaves the surface of the damp side: into the room, and
	// into the dry side as long as that is the drier one.
	DampMLPerHour float64
	// TubMLPerHour leaves the tub: what a scale would show.
	TubMLPerHour float64
	// HeadspacePct is the relative humidity under the lid, 0-100 %.
	HeadspacePct float64
}

// Vents is the conductance of everything between headspace and room, m3/s, at
// a temperature and one atmosphere.
func (t Tub) Vents(celsius float64) float64 {
	diffusivity := Diffusivity(celsius, StandardPressure)
	plan, perimeter := t.plan()
	walls := perimeter * measure(t.HeightM)
	return t.share(false, plan, diffusivity) + t.share(true, walls, diffusivity) +
		crack(perimeter, measure(t.LidGapM), diffusivity) +
		permeability*(2*plan+walls)/wall(t.WallM)
}

// share is the conductance of all openings in the lid or in the sides, m3/s.
// Openings far apart add up. Crowded ones share the air in front of them: all
// together cannot pass more than that whole face laid open. The first, largest
// opening has its own air already in its faces, so it only shares for the
// others' sake; this form is exact for one opening and for very many.
func (t Tub) share(side bool, faceArea, diffusivity float64) float64 {
	if faceArea == 0 {
		return 0
	}
	open := faceArea / faces(faceArea, diffusivity)
	sum, largest := 0.0, 0.0
	for _, o := range t.Openings {
		if o.Side != side {
			continue
		}
		each := min(o.Conductance(diffusivity, t.WallM), open)
		sum += each * float64(max(o.Count, 1))
		largest = max(largest, each)
	}
	if sum == 0 {
		return 0
	}
	return 1 / (1/sum + (1-largest/sum)/open)
}

// plan is the area of the substrate, m2, and the length of the rim, m.
func (t Tub) plan() (area, perimeter float64) {
	length, width := measure(t.LengthM), measure(t.WidthM)
	if !t.RoundPlan {
		return length * width, 2 * (length + width)
	}
	// Ramanujan's perimeter of an ellipse, exact for a circle.
	a, b := length/2, width/2
	return math.Pi * a * b, math.Pi * (3*(a+b) - math.Sqrt((3*a+b)*(a+3*b)))
}

// Conductances are kept at knots of temperature. Between knots a line is 0.005 %
// off at most, and unlike a polynomial it keeps the order of two tubs.
const (
	coldest, warmest = -20.0, 60.0
	knotStep         = 5.0
	knots            = int((warmest-coldest)/knotStep) + 1
)

// Prepared is a tub whose vents have been worked out, so that a climate costs
// little.
type Prepared struct {
	damp, dry float64        // conductance from each half to the headspace, m3/s
	vents     [knots]float64 // m3/s at coldest + i*knotStep
}

// Prepare works out the vents.
func (t Tub) Prepare() Prepared {
	var p Prepared
	plan, _ := t.plan()
	damp := min(measure(t.DampShare), 1)
	p.damp, p.dry = surface*plan*damp, surface*plan*(1-damp)
	for i := range p.vents {
		p.vents[i] = t.Vents(coldest + float64(i)*knotStep)
	}
	return p
}

// Loss is what the bin loses in a steady climate, with both halves wet at the
// surface: potential loss, before drying slows it down.
func (p Prepared) Loss(c Climate) Loss {
	celsius := within(c.TemperatureC, coldest, warmest)
	dryness := 1 - within(c.HumidityPct, 0, 100)/100
	at := (celsius - coldest) / knotStep
	knot := min(int(at), knots-2)
	low := p.vents[knot]
	vents := low + (at-float64(knot))*(p.vents[knot+1]-low)

	total := p.damp + p.dry + vents
	if total == 0 {
		return Loss{HeadspacePct: 100 * (1 - dryness)}
	}
	// Everything is counted as lack of saturation, in shares of what the room
	// lacks: damp half 0, dry half dryHalfLag, room 1. The headspace holds so
	// little vapour that it is in balance at once.
	lack := (p.dry*dryHalfLag + vents) / total
	mlPerHour := dryness * SaturationDensity(celsius) / waterPerML * 3600
	return Loss{
		DampMLPerHour: p.damp * lack * mlPerHour,
		TubMLPerHour:  vents * (1 - lack) * mlPerHour,
		HeadspacePct:  100 * (1 - lack*dryness),
	}
}

func within(x, low, high float64) float64 {
	switch {
	case !(x > low):
		return low
	case x > high:
		return high
	}
	return x
}
