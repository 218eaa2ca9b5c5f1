package example

import "underlog/internal/husbandry"

// A plot is what stands at one place of the example's racks.
type plot struct {
	rack            string
	shelf, position int
	name, kind      string
	line            string
	vents           vents
}

// vents are the few ways in which the invented keeper builds a bin.
type vents int

const (
	snug   vents = iota // only the loose lid
	few                 // drilled holes
	usual               // a screened cut-out in the lid
	airy                // a large cut-out and side holes
	narrow              // a small round cup
)

var plots = []plot{
	{"Alcove", 1, 1, "Slate pillbugs", "armadillidium-vulgare", "Harbour wall", usual},
	{"Alcove", 1, 2, "Chalkbacks", "armadillidium-klugii", "", airy},
	{"Alcove", 1, 3, "Lantern pillbugs", "armadillidium-gestroi", "", usual},
	{"Alcove", 1, 4, "Long-nosed pillbugs", "armadillidium-nasatum", "Quarry", usual},
	{"Alcove", 2, 1, "Spotted pillbugs", "armadillidium-maculatum", "", usual},
	{"Alcove", 2, 2, "Grainbacks", "armadillidium-granulatum", "", airy},
	{"Alcove", 2, 3, "Rough woodlice, grey", "porcellio-scaber", "Shed", few},
	{"Alcove", 2, 4, "Rough woodlice, rust", "porcellio-scaber", "Rust 3", usual},
	{"Alcove", 3, 1, "Swift woodlice", "porcellio-laevis", "", usual},
	{"Alcove", 3, 2, "Giant coast woodlice", "porcellio-hoffmannseggii", "", airy},
	{"Alcove", 3, 3, "Broad coast woodlice", "porcellio-expansus", "", airy},
	{"Alcove", 3, 4, "Powder woodlice", "porcellionides-pruinosus", "Greenhouse", usual},
	{"Landing", 1, 1, "Dwarf whites A", "trichorhina-tomentosa", "", snug},
	{"Landing", 1, 2, "Dwarf whites B", "trichorhina-tomentosa", "", snug},
	{"Landing", 1, 3, "Springtails, nursery", "folsomia-candida", "", snug},
	{"Landing", 1, 4, "Springtails, spare", "sinella-curviseta", "", narrow},
	{"Landing", 2, 1, "Moss woodlice", "oniscus-asellus", "Churchyard", few},
	{"Landing", 2, 2, "Striped runners", "philoscia-muscorum", "", few},
	{"Landing", 2, 3, "Little sea cubaris", "cubaris", "Little sea", snug},
	{"Landing", 2, 4, "Paper cubaris", "cubaris", "Paper", few},
	{"Landing", 3, 1, "Garden cubaris", "cubaris-murina", "", few},
	{"Landing", 3, 2, "Canopy runners", "merulanella", "", usual},
	{"Landing", 3, 3, "Arcangeli's rollers", "nesodillo-arcangelii", "", snug},
	{"Landing", 3, 4, "Deep-litter woodlice", "porcellio-dilatatus", "", usual},
}

// tub is the bin that belongs to the vents.
func (v vents) tub() husbandry.Bin {
	bin := husbandry.CommonTub()
	switch v {
	case snug:
		bin.Openings = nil
		bin.LidGapMM = 0.4
	case few:
		bin.Openings = []husbandry.Opening{{Where: "lid", Shape: "round", DiameterMM: 3.2, Count: 16, MeshOpenShare: 1}}
	case airy:
		bin.LengthMM, bin.WidthMM, bin.HeightMM, bin.SubstrateDepthMM = 400, 270, 140, 60
		bin.DampShare = 0.35
		bin.Openings = []husbandry.Opening{
			{Where: "lid", Shape: "rectangle", LengthMM: 200, WidthMM: 130, Count: 1, MeshOpenShare: 0.5},
			{Where: "side", Shape: "round", DiameterMM: 25, Count: 2, MeshOpenShare: 0.5},
		}
	case narrow:
		bin.Shape, bin.LengthMM, bin.WidthMM, bin.HeightMM, bin.SubstrateDepthMM = "round", 115, 115, 140, 40
		bin.DampShare = 1
		bin.Openings = nil
	}
	return bin
}

// pace is about the share of a dose that is lost in a day.
func (v vents) pace() float64 {
	return map[vents]float64{snug: 0.03, few: 0.04, usual: 0.2, airy: 0.24, narrow: 0.03}[v]
}

// dose is about what takes the damp side from dry to damp, in mL.
func (v vents) dose() float64 {
	return map[vents]float64{snug: 37, few: 37, usual: 37, airy: 44, narrow: 15}[v]
}
