package app

import (
	"context"
	"log/slog"

	"github.com/pocketbase/pocketbase/core"
	"github.com/spf13/cast"
)

// forward has what went wrong also said where the server was started:
// PocketBase keeps its log in a database of its own, for the dashboard.
// Requests that were refused are nobody's fault here and stay there.
func forward(pb core.App, log *slog.Logger) {
	pb.OnModelCreate(core.LogsTableName).BindFunc(func(e *core.ModelEvent) error {
		line, is := e.Model.(*core.Log)
		if is && slog.Level(line.Level) >= slog.LevelWarn && (line.Data["status"] == nil || cast.ToInt(line.Data["status"]) >= 500) {
			attributes := make([]any, 0, 2*len(line.Data))
			for _, name := range []string{"error", "details", "method", "url", "status"} {
				if value := line.Data[name]; value != nil {
					attributes = append(attributes, name, cast.ToString(value))
				}
			}
			log.Log(context.Background(), slog.Level(line.Level), line.Message, attributes...)
		}
		return e.Next()
	})
}
