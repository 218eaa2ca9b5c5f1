package roomsim

import "math"

// saturation is the density of saturated water vapour, kg/m3, over -20 to 60 C:
// Buck's equation of 1996 for pressure over liquid water (from memory; checked
// in the tests), with the ideal-gas law.
func saturation(celsius float64) float64 {
	const gasConstant = 461.5 // of water vapour, J/(kg K)
	pascal := 611.21 * math.Exp((18.678-celsius/234.5)*celsius/(257.14+celsius))
	return pascal / (gasConstant * (celsius + 273.15))
}

// exchange is the flow of air through one opening, m3/s, by a power law of its
// open area (m2).
func exchange(openArea float64) float64 {
	if openArea <= 0 {
		return 0
	}
	return 1.25e-5 * math.Pow(openArea/0.0155, 0.74)
}

// ventilation is the flow of air through all openings of a bin as drawn, m3/s,
// before the bin's and the room's own factors. Mesh mostly stills the air: its
// open share counts with the power 0.3.
func ventilation(b Bin) float64 {
	flow := exchange(2 * (b.LengthMM + b.WidthMM) * b.LidGapMM * 1e-6)
	for _, o := range b.Openings {
		flow += float64(max(1, o.Count)) * exchange(o.areaMM2()*1e-6) * math.Pow(o.MeshOpenShare, 0.3) * thickWall(b, o)
	}
	return flow
}

// thickWall is the share that a wall leaves of an opening's flow: a deep narrow
// hole passes less.
func thickWall(b Bin, o Opening) float64 {
	return 1 / (1 + 0.5*b.WallMM/math.Sqrt(o.areaMM2()))
}

// humidityAbove is the relative humidity of air in contact with substrate of
// content w, 0 to 1: Henderson's sorption curve.
func humidityAbove(w float64) float64 {
	return 1 - math.Exp(-158*math.Pow(math.Max(w, 0), 1.6))
}

// crust is the resistance of the dry top, s/m, at content w of the top layer.
func crust(w float64) float64 {
	return math.Min(4000, 10*math.Exp(35.63*(0.15-w)))
}

// face is the conductance from a column's surface to the headspace, m3/s, and
// the vapour density just above it, relative to saturation.
func (c *column) face(s substrate) (conductance, humidity float64) {
	if c.pond > 0 {
		return c.area / s.litter, 1
	}
	return c.area / (s.litter + crust(c.water[0])), humidityAbove(c.water[0])
}

// breathe lets both sides evaporate into the headspace for dt seconds, and the
// headspace out through the vents (flow in m3/s). The headspace holds so little
// vapour that it is in balance at once. It returns the mL lost to the room;
// less than nothing when the room dampens the bin.
func breathe(damp, dry *column, dt, flow, celsius float64, room Air, s substrate) float64 {
	full := saturation(celsius)
	outside := room.HumidityPct / 100 * saturation(room.TemperatureC)
	dampFace, dampHumidity := damp.face(s)
	dryFace, dryHumidity := dry.face(s)
	inside := (full*(dampFace*dampHumidity+dryFace*dryHumidity) + flow*outside) / (dampFace + dryFace + flow)
	lost := damp.dryBy(dampFace*(dampHumidity*full-inside)*dt/1000, s)
	return lost + dry.dryBy(dryFace*(dryHumidity*full-inside)*dt/1000, s)
}

// dryBy takes m3 of water from the surface, from standing water first, as far
// as there is any, and returns the mL taken.
func (c *column) dryBy(m3 float64, s substrate) float64 {
	want := m3 / c.area
	taken := math.Min(want, c.pond)
	if want < 0 {
		taken = 0
	}
	c.pond -= taken
	fromTop := math.Min(want-taken, math.Max(0, (c.water[0]-airDry)*c.thick[0]))
	c.water[0] -= fromTop / c.thick[0]
	c.settle(s)
	return (taken + fromTop) * c.area * 1e6
}
