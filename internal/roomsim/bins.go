package roomsim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// A bin is a Bin as it truly is, with what nobody can see.
type bin struct {
	Bin       // with its true openings
	at        int
	soil      substrate
	damp, dry column
	vents     float64 // true exchange on a middling day, m3/s
	celsius   float64
	offset    float64 // warmer than the room by, K
	border    float64 // width between the sides, m
	apart     float64 // distance over which water seeps across, m
	appetite  float64 // pace of eating, around 1
	spores    float64 // pace of moulding, around 1
	feedDay   int     // next day on which it gets food
	feeding   *feeding
	taste     float64   // how much faster it eats protein than other food
	limeLasts time.Time // until when there is calcium

	lostML, givenML float64
}

// sizes of tubs, inside, mm: about 2 to 30 litres.
var sizes = []struct{ length, width, height float64 }{
	{180, 130, 90}, {260, 170, 100}, {340, 200, 120}, {340, 200, 120}, {340, 200, 120},
	{380, 260, 130}, {400, 280, 170}, {520, 340, 175},
}

var kinds = []string{
	"armadillidium-vulgare", "armadillidium-maculatum", "armadillidium-gestroi", "porcellio-laevis",
	"porcellio-scaber", "porcellionides-pruinosus", "cubaris-murina", "trichorhina-tomentosa",
}

const perShelf = 6

// newBin draws the bin at place i of a room whose exchange is off by roomFactor.
func newBin(cfg Config, i int, roomFactor float64) *bin {
	r := draw(cfg.Seed, chanceOfBin, i, 0)
	size := sizes[r.IntN(len(sizes))]
	b := &bin{at: i, Bin: Bin{
		Type: "bin", ID: fmt.Sprintf("b%02d", i+1), Name: fmt.Sprintf("Bin %d", i+1),
		Rack: "Wall", Shelf: i/perShelf + 1, Position: i%perShelf + 1, Kind: kinds[r.IntN(len(kinds))],
		LengthMM: size.length, WidthMM: size.width, HeightMM: size.height,
		SubstrateDepthMM: math.Round(clamp(between(r, 30, 90), 30, 0.6*size.height)),
		DampEnd:          []string{"left", "right"}[r.IntN(2)], DampShare: []float64{0.33, 0.5, 0.5, 0.5, 0.6}[r.IntN(5)],
		LidGapMM: math.Round(between(r, 0.1, 0.5)*10) / 10, WallMM: 1.5,
		Springtails:      r.Float64() < 0.8,
		SubstrateRenewed: cfg.Start.AddDate(0, 0, -20-r.IntN(120)).Format("2006-01-02"),
	}}
	b.Openings = drawOpenings(r, size.length, size.width)
	if cfg.Tubs != nil {
		b.Bin = cfg.Tubs[i]
	}
	b.taste = lognormal(draw(cfg.Seed, chanceOfTaste, i, 0), 1, 0.5)
	b.limeLasts = cfg.Start.AddDate(0, 0, 14)
	b.soil = substrate{
		full: between(r, 0.55, 0.65), diffusivity: lognormal(r, 2e-9, 0.35), drainage: lognormal(r, 1e-5, 0.5),
		litter: between(r, 250, 700),
	}
	b.vents = ventilation(b.Bin) * lognormal(r, roomFactor, 0.45)
	b.offset = 0.15*float64(4-b.Shelf%8) + 0.3*r.NormFloat64() // upper shelves are warmer
	b.fill(between(r, 0.30, 0.38), between(r, 0.10, 0.16))
	b.appetite, b.spores = lognormal(r, 1, 0.45), lognormal(r, 1, 0.25)
	b.feedDay = r.IntN(4)
	return b
}

// fill puts in substrate of the given water contents. Water seeps across a
// border as wide as the bin over a sixth of its length: contents near the
// border are closer to each other than the means of the sides.
func (b *bin) fill(damp, dry float64) {
	area := b.LengthMM * b.WidthMM * 1e-6
	depth := b.SubstrateDepthMM / 1000
	b.damp = newColumn(area*b.DampShare, depth, damp)
	b.dry = newColumn(area*(1-b.DampShare), depth, dry)
	b.border, b.apart = b.WidthMM/1000, b.LengthMM/1000/6
}

// drawOpenings draws one of four ways to vent a lid of the given size (mm).
func drawOpenings(r *rand.Rand, length, width float64) []Opening {
	cutOut := func() Opening {
		share := between(r, 0.08, 0.35)
		return Opening{Where: "lid", Shape: "rectangle", LengthMM: math.Round(length * math.Sqrt(share)),
			WidthMM: math.Round(width * math.Sqrt(share)), Count: 1, MeshOpenShare: []float64{0.35, 0.5, 0.65}[r.IntN(3)]}
	}
	holes := func(where string, least, most int, small, large float64) Opening {
		return Opening{Where: where, Shape: "round", DiameterMM: math.Round(between(r, small, large)*2) / 2,
			Count: least + r.IntN(most-least+1), MeshOpenShare: 1}
	}
	switch kind := r.Float64(); {
	case kind < 0.45: // a large screened cut-out
		return []Opening{cutOut()}
	case kind < 0.65: // a cut-out and screened side holes
		side := holes("side", 1, 4, 20, 30)
		side.MeshOpenShare = 0.5
		return []Opening{cutOut(), side}
	case kind < 0.88: // drilled holes
		return []Opening{holes("lid", 10, 60, 2, 5)}
	default: // nothing but the loose lid
		return []Opening{}
	}
}

// described is the bin as the household writes it down.
func (b *bin) described(cfg Config) Bin {
	told := b.Bin
	if cfg.Stress.WrongVents {
		factor := 2.0
		if draw(cfg.Seed, chanceOfBin, b.at, 1).Float64() < 0.5 {
			factor = 0.5
		}
		told.Openings = make([]Opening, len(b.Openings))
		told.LidGapMM = math.Round(b.LidGapMM*factor*100) / 100
		for i, o := range b.Openings {
			told.Openings[i] = o.scaled(factor)
		}
	}
	return told
}

// settle brings the bin through one hour of its room's air.
func (b *bin) settle(room Air, draft float64) {
	const steps, lag = 2, 2 * 3600.0
	for range steps {
		const dt = 3600.0 / steps
		b.celsius += (room.TemperatureC + b.offset - b.celsius) * dt / lag
		b.lostML += breathe(&b.damp, &b.dry, dt, b.vents*draft, b.celsius, room, b.soil)
		b.damp.redistribute(dt, b.soil)
		b.dry.redistribute(dt, b.soil)
		seep(&b.damp, &b.dry, dt, b.border, b.apart, b.soil)
	}
}

func (b *bin) water(ml float64) {
	b.damp.pour(ml, b.soil)
	b.givenML += ml
}

// What a bin truly is, in water content.
const (
	feltDry    = 0.18
	feltBarely = 0.245
	feltSoaked = 0.42
	floodFloor = 0.95  // of what the floor can hold
	floodTop   = 0.001 // m of standing water
)

// A Truth is what a bin truly is at some hour.
type Truth struct {
	Dry, AtRisk, Swamped bool
	Felt, Depth          float32 // water content at the surface, and of the whole damp side
}

func (b *bin) truth() Truth {
	felt, mean := b.damp.felt(), b.damp.mean()
	dry := felt < feltDry
	return Truth{
		Dry: dry, AtRisk: dry && b.damp.wettest() < feltBarely,
		Swamped: b.damp.floor() > floodFloor*b.soil.full || b.damp.pond > floodTop,
		Felt:    float32(felt), Depth: float32(mean),
	}
}
