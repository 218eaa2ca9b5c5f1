package books

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"

	"underlog/backend/store"
	"underlog/internal/book"
)

type (
	raw     = json.RawMessage
	putting = func(author store.Author, sheets, entries []raw) (store.Receipt, error)
)

// largest is the largest book that is taken in over HTTP, in bytes: ten years
// of a large room.
const largest = 64 << 20

// Routes are the routes of this package. OwnerOnly is bound to each.
type Routes struct {
	Store     *store.Store
	OwnerOnly *hook.Handler[*core.RequestEvent]
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	group := se.Router.Group("/api/underlog/book")
	group.Bind(r.OwnerOnly)
	group.GET("", r.write).Bind(apis.Gzip())
	group.POST("", r.take).Bind(apis.BodyLimit(largest))
}

// write answers with the whole household as a book.
func (r *Routes) write(e *core.RequestEvent) error {
	b, err := Write(r.Store)
	if err != nil {
		return err
	}
	e.Response.Header().Set("Content-Type", "application/jsonl; charset=utf-8")
	e.Response.Header().Set("Content-Disposition", `attachment; filename="underlog-book.jsonl"`)
	return book.Write(e.Response, b)
}

// take takes a book in; with dry=true it only says what would be added. The
// answer is JSON lines: {"done","all"} as it goes on, then the summary under
// "summary", or a sentence under "message" where the book cannot be read.
func (r *Routes) take(e *core.RequestEvent) error {
	b, err := book.Read(e.Request.Body, r.Store.Clock.Now())
	if err != nil {
		status := http.StatusBadRequest
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			status = http.StatusRequestEntityTooLarge
		}
		return e.JSON(status, map[string]any{"status": status, "message": err.Error() + "."})
	}
	e.Response.Header().Set("Content-Type", "application/jsonl; charset=utf-8")
	answer := json.NewEncoder(e.Response)
	tell := func(line any) {
		_ = answer.Encode(line) // a browser that went away does not stop the taking in
		_ = http.NewResponseController(e.Response).Flush()
	}
	summary, err := Take(r.Store, b, e.Auth.Id, e.Request.URL.Query().Get("dry") == "true", func(done, all int) {
		tell(map[string]int{"done": done, "all": all})
	})
	if err != nil {
		e.App.Logger().Error("a book could not be taken in", "error", err)
		tell(map[string]any{"message": "The server could not take it all in: " + err.Error() + ".", "summary": summary})
		return nil
	}
	tell(map[string]any{"summary": summary})
	_, _ = io.Copy(io.Discard, e.Request.Body)
	return nil
}
