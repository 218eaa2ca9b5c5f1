package husbandry

// RoomID is the id of the one room sheet of a household.
const RoomID = "room00000000000"

// A Room is the household's settings.
type Room struct {
	ID                string  `json:"id"`
	Name              string  `json:"name"`
	TimeZone          string  `json:"time_zone"`
	Units             string  `json:"units"`               // us or metric
	Hemisphere        string  `json:"hemisphere"`          // north or south: when winter is
	TemperatureC      float64 `json:"temperature_c"`       // the room's usual air, used where no readings say otherwise
	HumiditySummerPct float64 `json:"humidity_summer_pct"` // midsummer
	HumidityWinterPct float64 `json:"humidity_winter_pct"` // midwinter, heated
	LookInDays        float64 `json:"look_in_days"`        // the longest a bin goes unopened
	MealsPerWeek      float64 `json:"meals_per_week"`
	CalciumWeeks      float64 `json:"calcium_weeks"` // the longest that a calcium source is trusted to last
	Example           bool    `json:"example"`       // an invented room to look around in
}

// UnitWords are the systems of units that people may choose.
var (
	UnitWords       = []string{"us", "metric"}
	HemisphereWords = []string{"north", "south"}
)

var roomFields = []Field{
	{Name: "name", Type: Text, Max: 80, Required: true},
	{Name: "time_zone", Type: Text, Max: 60, Required: true},
	{Name: "units", Type: Word, Words: UnitWords, Required: true},
	{Name: "hemisphere", Type: Word, Words: HemisphereWords},
	{Name: "temperature_c", Type: Number, Min: 0, Max: 45, Unit: "°C"},
	{Name: "humidity_summer_pct", Type: Number, Min: 1, Max: 100, Unit: "%"},
	{Name: "humidity_winter_pct", Type: Number, Min: 1, Max: 100, Unit: "%"},
	{Name: "look_in_days", Type: Number, Min: 1, Max: 14, Unit: "days"},
	{Name: "meals_per_week", Type: Number, Min: 0, Max: 14, Unit: "meals"},
	{Name: "calcium_weeks", Type: Number, Min: 1, Max: 52, Unit: "weeks"},
	{Name: "example", Type: Truth},
}

// UsualRoom returns the settings that a new household starts from. The air
// is a judgement for a lived-in room of a temperate climate, and so is how long
// a calcium source is trusted to last; looking in once a week at most and
// feeding two to three times a week are common practice, no source.
func UsualRoom() Room {
	return Room{
		ID: RoomID, Name: "My room", TimeZone: "UTC", Units: "us", Hemisphere: "north",
		TemperatureC: 21, HumiditySummerPct: 50, HumidityWinterPct: 38,
		LookInDays: 7, MealsPerWeek: 2.5, CalciumWeeks: 4,
	}
}

// AsRoom types a sheet of the sort "rooms"; what it lacks keeps the usual.
func AsRoom(s Sheet) (Room, error) {
	room := UsualRoom()
	return room, retype(s, &room)
}
