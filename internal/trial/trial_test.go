package trial

import (
	"os"
	"testing"

	"underlog/internal/roomsim"
)

func mustConfigs(tb testing.TB, room string, first uint64, seasons int) []roomsim.Config {
	tb.Helper()
	name := map[string]string{roomsim.TuningRoom: "room1", roomsim.ReportingRoom: "room2"}[room]
	file, err := os.Open("../../testdata/climate/" + name + ".csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	climate, err := roomsim.ParseClimate(file)
	if err != nil {
		tb.Fatal(err)
	}
	var configs []roomsim.Config
	for i := range seasons {
		config, err := roomsim.NewConfig(room, climate, first+uint64(i))
		if err != nil {
			tb.Fatal(err)
		}
		configs = append(configs, config)
	}
	return configs
}

func TestTheToolOpensFewerLidsForFewerDryHours(t *testing.T) {
	configs := mustConfigs(t, roomsim.TuningRoom, 1, 1)
	rows := []roomsim.Row{
		{Policy: "twice a week", Report: roomsim.RunSeasons(configs, func() roomsim.Keeper { return roomsim.TwiceAWeek() })},
		{Policy: "the tool", Report: roomsim.RunSeasons(configs, func() roomsim.Keeper { return NewTool() })},
		{Policy: "oracle", Report: roomsim.RunSeasons(configs, func() roomsim.Keeper { return &roomsim.Oracle{} })},
	}
	roomsim.WriteTable(os.Stdout, rows)
	routine, tool := rows[0].Report.Total, rows[1].Report.Total
	if tool.Openings > 0.7*routine.Openings || tool.DryHours > 0.9*routine.DryHours {
		t.Errorf("openings %.2f and dry hours %.2f of the routine's", tool.Openings/routine.Openings, tool.DryHours/routine.DryHours)
	}
}
