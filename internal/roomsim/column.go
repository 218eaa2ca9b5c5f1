package roomsim

import "math"

const layers = 10

// A substrate is what a bin is filled with.
type substrate struct {
	full        float64 // water content when saturated, 0.55 to 0.65
	diffusivity float64 // of water at a content of 0.40, m2/s
	drainage    float64 // conductivity when saturated, m/s
	litter      float64 // resistance of litter and still air above it, s/m
}

// A column is one side of a bin: layers of substrate from the top down, thin
// ones first, with water standing on top if there is no room for it below.
type column struct {
	area  float64         // m2
	thick [layers]float64 // m
	water [layers]float64 // content, m3 of water per m3
	pond  float64         // m
}

// airDry is the content below which no water moves.
const airDry = 0.02

// newColumn divides depth (m) into layers that grow by a fixed ratio from 3 mm
// at the top, or equally where 3 mm would already be too thick.
func newColumn(area, depth, water float64) column {
	const top = 0.003
	ratio := 1.0
	if depth > top*layers {
		low, high := 1.0, 2.0
		for range 60 {
			ratio = (low + high) / 2
			if top*(math.Pow(ratio, layers)-1)/(ratio-1) < depth {
				low = ratio
			} else {
				high = ratio
			}
		}
	}
	c := column{area: area}
	sum, thick := 0.0, 1.0
	for i := range c.thick {
		c.thick[i] = thick
		sum += thick
		thick *= ratio
	}
	for i := range c.thick {
		c.thick[i] *= depth / sum
		c.water[i] = water
	}
	return c
}

func (c *column) depth() float64 {
	sum := 0.0
	for _, t := range c.thick {
		sum += t
	}
	return sum
}

// millilitres is all the water in the column.
func (c *column) millilitres() float64 {
	sum := c.pond
	for i, t := range c.thick {
		sum += t * c.water[i]
	}
	return sum * c.area * 1e6
}

// mean is the column's mean water content.
func (c *column) mean() float64 { return c.millilitres() / (c.area * c.depth() * 1e6) }

// felt is the water content that a finger finds: the top 20 mm, weighted by
// exp(-depth/8 mm).
func (c *column) felt() float64 {
	const reach, scale = 0.020, 0.008
	sum, weights, above := 0.0, 0.0, 0.0
	for i, t := range c.thick {
		below := math.Min(above+t, reach)
		if below <= above {
			break
		}
		w := math.Exp(-above/scale) - math.Exp(-below/scale)
		sum += w * c.water[i]
		weights += w
		above += t
	}
	return sum / weights
}

// wettest is the water content of the wettest layer.
func (c *column) wettest() float64 {
	most := 0.0
	for _, w := range c.water {
		most = math.Max(most, w)
	}
	return most
}

// floor is the mean water content of the lowest 10 mm.
func (c *column) floor() float64 {
	const reach = 0.010
	sum, left := 0.0, reach
	for i := layers - 1; i >= 0 && left > 0; i-- {
		t := math.Min(c.thick[i], left)
		sum += t * c.water[i]
		left -= t
	}
	return sum / reach
}

// pour gives ml of water from above. A dry surface repels: more runs past it
// through cracks and spreads over the whole depth.
func (c *column) pour(ml float64, s substrate) {
	water := ml * 1e-6 / c.area // m
	past := water * (0.15 + 0.30*clamp((feltDry-c.felt())/feltDry, 0, 1))
	depth := c.depth()
	for i := range c.water {
		c.water[i] += past / depth
	}
	c.pond += water - past
	c.settle(s)
	c.infiltrate(s)
}

// infiltrate lets standing water into the upper layers, each up to nine tenths
// of what it can hold.
func (c *column) infiltrate(s substrate) {
	for i := 0; i < layers && c.pond > 0; i++ {
		room := (0.9*s.full - c.water[i]) * c.thick[i]
		if room > 0 {
			in := math.Min(room, c.pond)
			c.water[i] += in / c.thick[i]
			c.pond -= in
		}
	}
}

// settle pushes water that a layer cannot hold into the layer above, and from
// the top layer onto the surface.
func (c *column) settle(s substrate) {
	for i := layers - 1; i >= 0; i-- {
		over := (c.water[i] - s.full) * c.thick[i]
		if over <= 0 {
			continue
		}
		c.water[i] = s.full
		if i > 0 {
			c.water[i-1] += over / c.thick[i-1]
		} else {
			c.pond += over
		}
	}
}

// spread is the diffusivity of water at content w, m2/s: tenfold per 0.10.
func (s substrate) spread(w float64) float64 {
	const least, most = 1e-10, 3e-7
	return math.Min(most, least+s.diffusivity*math.Exp(math.Ln10*(w-0.40)/0.10))
}

// drain is the flow of sinking water at content w, m/s, and how much it grows
// with w, m/s per unit content.
func (s substrate) drain(w float64) (flow, growth float64) {
	const power = 20
	q := w / s.full
	q *= q // 2
	q *= q // 4
	fourth := q
	q *= q // 8
	q *= q // 16
	flow = s.drainage * q * fourth
	return flow, power * flow / math.Max(w, airDry)
}

// redistribute moves water between the layers for dt seconds: one implicit
// step, linear in the new contents, so it is stable however wet the substrate
// is and loses nothing. Sinking is taken by its tangent: it slows steeply as a
// layer drains, and at its first speed a layer would drain to dust.
func (c *column) redistribute(dt float64, s substrate) {
	var spread, sink, growth [layers]float64
	for i, w := range c.water {
		spread[i] = s.spread(w)
		sink[i], growth[i] = s.drain(w)
	}
	// Flow down through the floor of layer i: rest[i] + give[i]*water[i] - back[i]*water[i+1].
	var give, back, rest [layers]float64
	for i := range layers - 1 {
		g := 0.5 * (spread[i] + spread[i+1]) / (0.5 * (c.thick[i] + c.thick[i+1]))
		give[i], back[i] = g+growth[i], g
		rest[i] = sink[i] - growth[i]*c.water[i]
	}
	// Thomas's algorithm from the top layer down.
	var upper, right [layers]float64
	for i := range layers {
		store := c.thick[i] / dt
		diagonal, lower := store+give[i], 0.0
		if i > 0 {
			diagonal += back[i-1]
			lower = -give[i-1]
		}
		r := store*c.water[i] - rest[i]
		if i > 0 {
			r += rest[i-1]
			diagonal -= lower * upper[i-1]
			r -= lower * right[i-1]
		}
		upper[i] = -back[i] / diagonal
		right[i] = r / diagonal
	}
	c.water[layers-1] = right[layers-1]
	for i := layers - 2; i >= 0; i-- {
		c.water[i] = right[i] - upper[i]*c.water[i+1]
	}
	c.settle(s)
	c.infiltrate(s)
}

// seep moves water for dt seconds from the damp side to the dry side of the
// same substrate, layer by layer, over the distance (m) between the middles of
// what lies beside the border, through a border of the given width (m).
// Standing water runs off to both sides.
func seep(damp, dry *column, dt, width, distance float64, s substrate) {
	for i := range layers {
		d := 0.5 * (s.spread(damp.water[i]) + s.spread(dry.water[i]))
		flow := d * (damp.water[i] - dry.water[i]) / distance * width * damp.thick[i] * dt // m3
		damp.water[i] -= flow / (damp.area * damp.thick[i])
		dry.water[i] += flow / (dry.area * dry.thick[i])
	}
	if damp.pond > 0 {
		runoff := damp.pond * damp.area / 2
		damp.pond -= runoff / damp.area
		dry.pond += runoff / dry.area
		dry.infiltrate(s)
	}
}
