package air

import "math"

// Strengths of moving air and the make of meshes and lids: judgement, chosen so
// that a large screened cut-out loses what keepers say it does. RateLogSD is
// the price of not having measured them.
const (
	filmInside  = 1.0e-3 // m/s, what moving air adds on the inner face of a large opening
	filmOutside = 2.0e-3 // m/s, the same on the outer face
	stirredFrom = 10e-3  // m, diameter around which an opening begins to feel that movement
	meshThick   = 0.3e-3 // m
	lidRim      = 10e-3  // m, depth of the crack between lid and rim
	usualWall   = 1.5e-3 // m

	// permeability of the plastic to vapour, m2/s: between polypropylene and
	// polystyrene (from memory). It keeps a bin without any opening from
	// being perfectly tight: about 0.015 g a day for a 6-quart tub at 21 °C, 45 %.
	permeability = 1e-10
)

// An Opening is one sort of vent, Count times.
type Opening struct {
	Side  bool // in a side wall, not in the lid
	Round bool
	// LengthM and WidthM measure a rectangle, DiameterM a round hole; metres.
	LengthM, WidthM, DiameterM float64
	Count                      int     // 0 counts as 1
	MeshOpenShare              float64 // share of the mesh that is holes, 0-1; 1 is no mesh, 0 counts as 1
}

// Area is the clear area of one such opening before the mesh, m2.
func (o Opening) Area() float64 {
	if o.Round {
		return discArea(measure(o.DiameterM))
	}
	return measure(o.LengthM) * measure(o.WidthM)
}

// Conductance is the flow of air that would carry the vapour which passes one
// such opening alone in a wall, m3/s. Vapour crosses the inner face, the wall,
// the mesh and the outer face. Each face passes 8D/(πd) by spreading in still
// air, which is the end correction of a hole, and a film's worth by moving air
// if the opening is large. A rectangle counts as the circle of its area; for a
// slot ten times as long as wide that is a quarter too little in still air.
func (o Opening) Conductance(diffusivity, wallM float64) float64 {
	area := o.Area()
	if area == 0 {
		return 0
	}
	resistance := faces(area, diffusivity) + wall(wallM)/diffusivity
	if share := o.MeshOpenShare; share > 0 && share < 1 {
		resistance += meshThick / (share * diffusivity)
	}
	return area / resistance
}

// StillConductance is the conductance of a round hole or tube in still air,
// m3/s, with the correction for both its ends: D·A/(l + πd/4). For a hole in a
// thin plate this is D·d: it goes with the diameter, not with the area.
func StillConductance(diffusivity, diameter, length float64) float64 {
	if !(diameter > 0) {
		return 0
	}
	return diffusivity * discArea(diameter) / (length + math.Pi*diameter/4)
}

// faces is the resistance of the air on both faces of an opening, s/m.
func faces(area, diffusivity float64) float64 {
	diameter := math.Sqrt(4 * area / math.Pi)
	spreading := 8 * diffusivity / (math.Pi * diameter)
	// A film is D/k thick: 25 mm inside, 12 mm outside. A hole much narrower
	// than that lies at the bottom of still air and feels none of the movement:
	// an eighth-inch hole a tenth of it, which adds half a per cent to its
	// conductance; an inch hole all of it.
	felt := -math.Expm1(-math.Pow(diameter/stirredFrom, 2))
	return 1/(spreading+felt*filmInside) + 1/(spreading+felt*filmOutside)
}

// crack is the conductance of the gap all along the lid, m3/s: as deep as the
// rim, and longer by its own height for its two ends (judgement).
func crack(perimeter, gap, diffusivity float64) float64 {
	if gap == 0 {
		return 0
	}
	return diffusivity * perimeter * gap / (lidRim + gap)
}

func discArea(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// wall is a wall's thickness, m.
func wall(m float64) float64 {
	if m > 0 {
		return m
	}
	return usualWall
}

// measure takes what is no length as none.
func measure(m float64) float64 {
	if m > 0 && !math.IsInf(m, 1) {
		return m
	}
	return 0
}
