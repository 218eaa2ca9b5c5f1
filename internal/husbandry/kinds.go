package husbandry

// Where a value of a profile that ships with the tool comes from.
const (
	practice = "common practice, no source"
	memory   = "from memory"
	either   = "from memory and common practice, no source"
	opened   = ", read as an abstract"

	waterLoss = "order of water loss by genus: Edney 1951, introduction"
	waller    = "Waller and Verdi 2016, International Journal of Biology 8(4)" + opened
	horvath   = "from memory; nearly three times as long at 15 °C as at 22 °C: Horváthová and others 2015, ZooKeys" + opened
	fountain  = "Fountain and Hopkin 2005, Annual Review of Entomology 50, read second-hand"
	tunisian  = "Population dynamics of Porcellio albinus of Zarat, Tunisia" + opened
)

type span [2]float64

// A profile is a Kind as this file writes it: a value, then its source.
type profile struct {
	slug, name string
	animal     string

	moisture, moistureSource string
	air, airSource           string
	celsius                  span
	celsiusSource            string
	brood                    span
	broodSource              string
	days                     span
	daysSource               string
	months                   span
	monthsSource             string
	appetite                 float64
	climbs, guards           bool
	guardsSource             string
}

// usual gives the sources that a profile does not name: they are from memory
// and common practice.
func (p profile) usual() Kind {
	or := func(named, usual string) string {
		if named != "" {
			return named
		}
		return usual
	}
	return Kind{
		ID: RecordID("kinds", p.slug), Slug: p.slug, Name: p.name, Animal: or(p.animal, AnimalWords[0]),
		Moisture: p.moisture, MoistureSource: or(p.moistureSource, either),
		Air: p.air, AirSource: or(p.airSource, either),
		TemperatureMin: p.celsius[0], TemperatureMax: p.celsius[1], TemperatureSource: or(p.celsiusSource, either),
		BroodMin: p.brood[0], BroodMax: p.brood[1], BroodSource: or(p.broodSource, either),
		BroodDaysMin: p.days[0], BroodDaysMax: p.days[1], BroodDaysSource: or(p.daysSource, either),
		MaturityMin: p.months[0], MaturityMax: p.months[1], MaturitySource: or(p.monthsSource, either),
		Appetite: p.appetite, AppetiteSource: practice,
		Climbs: p.climbs, ClimbsSource: practice,
		Guards: p.guards, GuardsSource: or(p.guardsSource, practice),
	}
}

// profiles are the kinds that ship with the tool. What was read, and where, is
// said beside it; testdata/kinds.csv holds what was read.
var profiles = []profile{
	{slug: "armadillidium-vulgare", name: "Armadillidium vulgare", moisture: "moderate", moistureSource: waterLoss, air: "moderate", celsius: span{16, 27},
		brood: span{27, 39}, broodSource: waller + ": 39 eggs, 27 young", days: span{13, 32}, daysSource: waller + ": 13; a teaching page: 32", months: span{6, 12}, appetite: 2},
	{slug: "armadillidium-nasatum", name: "Armadillidium nasatum", moisture: "moderate", moistureSource: waterLoss, air: "moderate", celsius: span{18, 27},
		brood: span{30, 44}, broodSource: waller + ": 44 eggs; the lower end from memory", days: span{13, 30}, daysSource: waller + ": 13; the upper end from memory", months: span{4, 8}, appetite: 2},
	{slug: "armadillidium-maculatum", name: "Armadillidium maculatum", moisture: "moderate", air: "moderate", celsius: span{18, 26}, brood: span{20, 60}, days: span{25, 35}, months: span{6, 10}, appetite: 2},
	{slug: "armadillidium-klugii", name: "Armadillidium klugii", moisture: "moderate", air: "much", celsius: span{18, 27}, brood: span{20, 50}, days: span{25, 35}, months: span{6, 10}, appetite: 2},
	{slug: "armadillidium-gestroi", name: "Armadillidium gestroi", moisture: "moderate", air: "moderate", celsius: span{18, 26}, brood: span{20, 50}, days: span{25, 35}, months: span{6, 12}, appetite: 2},
	{slug: "armadillidium-granulatum", name: "Armadillidium granulatum", moisture: "arid", air: "much", celsius: span{18, 27}, brood: span{30, 80}, days: span{25, 35}, months: span{6, 12}, appetite: 2},
	{slug: "porcellio-scaber", name: "Porcellio scaber", moisture: "moderate", moistureSource: waterLoss, air: "moderate", celsius: span{15, 26},
		brood: span{15, 50}, broodSource: "from memory; 7 to 106 is told second-hand", days: span{25, 35}, daysSource: horvath, months: span{4, 10}, appetite: 3, climbs: true},
	{slug: "porcellio-laevis", name: "Porcellio laevis", moisture: "moderate", air: "moderate", celsius: span{20, 28}, brood: span{40, 80}, days: span{20, 28}, months: span{3, 5}, appetite: 3, climbs: true},
	{slug: "porcellio-dilatatus", name: "Porcellio dilatatus", moisture: "moderate", air: "moderate", celsius: span{18, 26}, brood: span{30, 70}, days: span{22, 30}, months: span{4, 6}, appetite: 3},
	{slug: "porcellio-hoffmannseggii", name: "Porcellio hoffmannseggii", moisture: "arid", air: "much", celsius: span{20, 28}, brood: span{40, 100}, days: span{28, 40}, months: span{8, 14}, appetite: 3, guards: true},
	{slug: "porcellio-expansus", name: "Porcellio expansus", moisture: "arid", air: "much", celsius: span{20, 28}, brood: span{30, 80}, days: span{30, 45}, months: span{10, 16}, appetite: 3, guards: true},
	{slug: "porcellio-magnificus", name: "Porcellio magnificus", moisture: "arid", air: "much", celsius: span{20, 28}, brood: span{20, 60}, days: span{28, 40}, months: span{8, 14}, appetite: 3, guards: true},
	{slug: "porcellio-ornatus", name: "Porcellio ornatus", moisture: "arid", air: "much", celsius: span{20, 28}, brood: span{30, 80}, days: span{25, 35}, months: span{6, 10}, appetite: 3},
	{slug: "porcellio-haasi", name: "Porcellio haasi", moisture: "arid", air: "much", celsius: span{20, 28}, brood: span{30, 80}, days: span{25, 35}, months: span{6, 10}, appetite: 3},
	{slug: "porcellio-albinus", name: "Porcellio albinus", moisture: "arid", moistureSource: tunisian + ": a species of dry sand", air: "much", celsius: span{20, 30},
		brood: span{5, 39}, broodSource: tunisian + ": 13 to 67 eggs, 5 to 39 young", days: span{25, 40}, months: span{8, 14}, appetite: 3, guards: true, guardsSource: "from memory: families hold their burrow"},
	{slug: "porcellio-spinicornis", name: "Porcellio spinicornis", moisture: "arid", air: "much",
		celsius: span{17.5, 27.5}, celsiusSource: "the range of reproduction in a study of growth and survival" + opened, brood: span{20, 50}, days: span{28, 40}, months: span{8, 12}, appetite: 2},
	{slug: "porcellionides-pruinosus", name: "Porcellionides pruinosus", moisture: "moderate", air: "moderate", celsius: span{20, 30}, brood: span{15, 40}, days: span{14, 25},
		months: span{1, 3}, monthsSource: "Achouri and others, Crustaceana" + opened + ": females told apart at about 1 month; the upper end from memory", appetite: 3, climbs: true},
	{slug: "oniscus-asellus", name: "Oniscus asellus", moisture: "humid", moistureSource: waterLoss, air: "little", celsius: span{12, 23},
		brood: span{10, 70}, broodSource: "an unsigned page on the species: weak", days: span{30, 40}, months: span{3, 12}, appetite: 1, climbs: true},
	{slug: "philoscia-muscorum", name: "Philoscia muscorum", moisture: "humid", moistureSource: waterLoss, air: "little", celsius: span{12, 23}, brood: span{10, 40}, days: span{28, 35}, months: span{6, 12}, appetite: 1},
	{slug: "trichorhina-tomentosa", name: "Trichorhina tomentosa (dwarf white)", moisture: "humid", air: "closed", celsius: span{20, 30},
		brood: span{5, 10}, broodSource: "from memory; its sister Trichorhina donaldsoni has 5.9 a brood" + opened, days: span{14, 25}, months: span{1.5, 3}, appetite: 1},
	{slug: "trichoniscus-pusillus", name: "Trichoniscus pusillus", moisture: "humid", moistureSource: waterLoss, air: "closed", celsius: span{10, 22},
		brood: span{4, 18}, broodSource: "a study of the species" + opened, days: span{28, 35}, daysSource: "a study of the species" + opened + ": gravid for 4 to 5 weeks", months: span{6, 12}, monthsSource: memory, appetite: 1},
	{slug: "cubaris-murina", name: "Cubaris murina", moisture: "humid", air: "little", celsius: span{20, 28}, brood: span{8, 20}, days: span{20, 30}, months: span{3, 5}, appetite: 2},
	{slug: "cubaris", name: "Cubaris (cave and trade forms)", moisture: "humid", air: "little", celsius: span{20, 27}, brood: span{4, 15}, days: span{30, 50}, months: span{6, 12}, appetite: 1.5},
	{slug: "nesodillo-arcangelii", name: "Nesodillo arcangelii", moisture: "humid", air: "little", celsius: span{20, 28}, brood: span{8, 20}, days: span{25, 35}, months: span{4, 8}, appetite: 2},
	{slug: "merulanella", name: "Merulanella (trade forms)", moisture: "humid", air: "moderate", celsius: span{20, 27}, brood: span{8, 25}, days: span{30, 45}, months: span{6, 12}, appetite: 2, climbs: true},
	{slug: "folsomia-candida", name: "Folsomia candida (springtail)", animal: "springtail", moisture: "wet", air: "closed", celsius: span{15, 25}, celsiusSource: fountain,
		brood: span{30, 50}, broodSource: fountain, days: span{7, 10}, daysSource: fountain, months: span{0.7, 0.8}, monthsSource: fountain, appetite: 1},
	{slug: "sinella-curviseta", name: "Sinella curviseta (springtail)", animal: "springtail", moisture: "wet", air: "closed", celsius: span{18, 28}, brood: span{10, 30}, days: span{6, 10}, months: span{0.8, 1}, appetite: 1},
	{slug: "neanuridae", name: "Neanuridae (stout springtails, trade forms)", animal: "springtail", moisture: "wet", air: "closed", celsius: span{18, 26}, brood: span{10, 30}, broodSource: memory, days: span{10, 20}, daysSource: memory, months: span{1.5, 3}, monthsSource: memory, appetite: 1},
}

// Kinds returns the profiles that ship with the tool.
func Kinds() []Kind {
	kinds := make([]Kind, len(profiles))
	for i, p := range profiles {
		kinds[i] = p.usual()
	}
	return kinds
}
