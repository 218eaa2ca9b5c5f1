package bookcmd

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"underlog/internal/roomsim"
)

// The command on the growing book of a room of 60 bins that is fed and watered
// twice a week: from the file to the last window.
func BenchmarkChoresOfAGrowingBook(b *testing.B) {
	traces, err := os.Open("../../testdata/climate/room1.csv")
	if err != nil {
		b.Fatal(err)
	}
	defer traces.Close()
	climate, err := roomsim.ParseClimate(traces)
	if err != nil {
		b.Fatal(err)
	}
	config, err := roomsim.NewConfig(roomsim.TuningRoom, climate, 1)
	if err != nil {
		b.Fatal(err)
	}
	config.Bins, config.Days, config.Feeding = 60, 200, true
	room, err := roomsim.NewRoom(config)
	if err != nil {
		b.Fatal(err)
	}
	room.Run(roomsim.TwiceAWeek())
	for _, days := range []int{30, 100, 199} {
		b.Run(fmt.Sprint(days, "-days"), func(b *testing.B) {
			at := config.Start.AddDate(0, 0, days).Add(18 * time.Hour)
			path := filepath.Join(b.TempDir(), "book.jsonl")
			file, err := os.Create(path)
			if err != nil {
				b.Fatal(err)
			}
			if err := room.WriteBook(file, at); err != nil {
				b.Fatal(err)
			}
			if err := file.Close(); err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				command := Chores(func() time.Time { return at })
				command.SetArgs([]string{"--book", path, "--at", at.Format(time.RFC3339), "--json"})
				command.SetOut(io.Discard)
				command.SetErr(io.Discard)
				if err := command.Execute(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/0.5, "of-500ms")
		})
	}
}
