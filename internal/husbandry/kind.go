package husbandry

// A Kind is a species profile: what a colony usually wants. Every value is a
// starting point that the keeper may edit; the identity of trade forms is
// often uncertain, so a bin's line is free text beside it.
type Kind struct {
	ID             string  `json:"id"`
	Slug           string  `json:"slug"`
	Name           string  `json:"name"`
	Moisture       string  `json:"moisture"` // wet, humid, moderate, arid
	TemperatureMin float64 `json:"temperature_min_c"`
	TemperatureMax float64 `json:"temperature_max_c"`
	Appetite       float64 `json:"appetite"` // for protein: 1 little, 2 some, 3 much
	Climbs         bool    `json:"climbs"`
	Source         string  `json:"source"`
	Deleted        bool    `json:"deleted,omitempty"`
}

// MoistureWords run from never dry to dry-leaning.
var MoistureWords = []string{"wet", "humid", "moderate", "arid"}

var kindFields = []Field{
	{Name: "slug", Type: Ref, Required: true},
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "moisture", Type: Word, Words: MoistureWords, Required: true},
	{Name: "temperature_min_c", Type: Number, Min: 0, Max: 40, Unit: "°C"},
	{Name: "temperature_max_c", Type: Number, Min: 0, Max: 45, Unit: "°C"},
	{Name: "appetite", Type: Number, Min: 0, Max: 5},
	{Name: "climbs", Type: Truth},
	{Name: "source", Type: Text, Max: 500},
}

const (
	practice  = "common practice and memory, no source opened"
	dryFamily = "order of water loss: Edney 1951 (introduction); rest " + practice
)

// Kinds returns the profiles that ship with the tool. Temperatures,
// moisture and appetite are common practice or from memory unless the
// profile's source says otherwise.
func Kinds() []Kind {
	rows := []Kind{
		{Slug: "armadillidium-vulgare", Name: "Armadillidium vulgare", Moisture: "moderate", TemperatureMin: 16, TemperatureMax: 27, Appetite: 2, Source: dryFamily},
		{Slug: "armadillidium-nasatum", Name: "Armadillidium nasatum", Moisture: "moderate", TemperatureMin: 18, TemperatureMax: 27, Appetite: 2, Source: practice},
		{Slug: "armadillidium-maculatum", Name: "Armadillidium maculatum", Moisture: "moderate", TemperatureMin: 18, TemperatureMax: 26, Appetite: 2, Source: practice},
		{Slug: "armadillidium-klugii", Name: "Armadillidium klugii", Moisture: "moderate", TemperatureMin: 18, TemperatureMax: 27, Appetite: 2, Source: practice},
		{Slug: "armadillidium-gestroi", Name: "Armadillidium gestroi", Moisture: "moderate", TemperatureMin: 18, TemperatureMax: 26, Appetite: 2, Source: practice},
		{Slug: "armadillidium-granulatum", Name: "Armadillidium granulatum", Moisture: "arid", TemperatureMin: 18, TemperatureMax: 27, Appetite: 2, Source: practice},
		{Slug: "porcellio-scaber", Name: "Porcellio scaber", Moisture: "moderate", TemperatureMin: 15, TemperatureMax: 26, Appetite: 3, Climbs: true, Source: dryFamily},
		{Slug: "porcellio-laevis", Name: "Porcellio laevis", Moisture: "moderate", TemperatureMin: 20, TemperatureMax: 28, Appetite: 3, Climbs: true, Source: practice},
		{Slug: "porcellio-dilatatus", Name: "Porcellio dilatatus", Moisture: "moderate", TemperatureMin: 18, TemperatureMax: 26, Appetite: 3, Source: practice},
		{Slug: "porcellio-hoffmannseggii", Name: "Porcellio hoffmannseggii", Moisture: "arid", TemperatureMin: 20, TemperatureMax: 28, Appetite: 3, Source: practice},
		{Slug: "porcellio-expansus", Name: "Porcellio expansus", Moisture: "arid", TemperatureMin: 20, TemperatureMax: 28, Appetite: 3, Source: practice},
		{Slug: "porcellio-ornatus", Name: "Porcellio ornatus", Moisture: "arid", TemperatureMin: 20, TemperatureMax: 28, Appetite: 3, Source: practice},
		{Slug: "porcellio-haasi", Name: "Porcellio haasi", Moisture: "arid", TemperatureMin: 20, TemperatureMax: 28, Appetite: 3, Source: practice},
		{Slug: "porcellio-spinicornis", Name: "Porcellio spinicornis", Moisture: "arid", TemperatureMin: 17.5, TemperatureMax: 27.5, Appetite: 2, Source: "reproduction 17.5-27.5 C: growth study read as an abstract; rest " + practice},
		{Slug: "porcellionides-pruinosus", Name: "Porcellionides pruinosus", Moisture: "moderate", TemperatureMin: 20, TemperatureMax: 30, Appetite: 3, Climbs: true, Source: practice},
		{Slug: "oniscus-asellus", Name: "Oniscus asellus", Moisture: "humid", TemperatureMin: 12, TemperatureMax: 23, Appetite: 1, Climbs: true, Source: dryFamily},
		{Slug: "philoscia-muscorum", Name: "Philoscia muscorum", Moisture: "humid", TemperatureMin: 12, TemperatureMax: 23, Appetite: 1, Source: dryFamily},
		{Slug: "trichorhina-tomentosa", Name: "Trichorhina tomentosa (dwarf white)", Moisture: "humid", TemperatureMin: 20, TemperatureMax: 30, Appetite: 1, Source: practice},
		{Slug: "trichoniscus-pusillus", Name: "Trichoniscus pusillus", Moisture: "humid", TemperatureMin: 10, TemperatureMax: 22, Appetite: 1, Source: dryFamily},
		{Slug: "cubaris-murina", Name: "Cubaris murina", Moisture: "humid", TemperatureMin: 20, TemperatureMax: 28, Appetite: 2, Source: practice},
		{Slug: "cubaris", Name: "Cubaris (cave and trade forms)", Moisture: "humid", TemperatureMin: 20, TemperatureMax: 27, Appetite: 1.5, Source: practice},
		{Slug: "nesodillo-arcangelii", Name: "Nesodillo arcangelii", Moisture: "humid", TemperatureMin: 20, TemperatureMax: 28, Appetite: 2, Source: practice},
		{Slug: "merulanella", Name: "Merulanella (trade forms)", Moisture: "humid", TemperatureMin: 20, TemperatureMax: 27, Appetite: 2, Climbs: true, Source: practice},
		{Slug: "folsomia-candida", Name: "Folsomia candida (springtail)", Moisture: "wet", TemperatureMin: 15, TemperatureMax: 25, Appetite: 1, Source: "Fountain and Hopkin 2005, read second-hand"},
		{Slug: "sinella-curviseta", Name: "Sinella curviseta (springtail)", Moisture: "wet", TemperatureMin: 18, TemperatureMax: 28, Appetite: 1, Source: practice},
	}
	for i := range rows {
		rows[i].ID = RecordID("kinds", rows[i].Slug)
	}
	return rows
}

// AsKind types a sheet of the sort "kinds".
func AsKind(s Sheet) (Kind, error) {
	var kind Kind
	return kind, retype(s, &kind)
}
