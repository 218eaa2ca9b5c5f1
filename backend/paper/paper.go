// Package paper typesets what is printed: labels for bins, and the sheet for
// whoever looks after them while the owner is away. It knows no records; the
// device that asks says what stands on the paper, since it may know more than
// the server does yet.
package paper

import (
	"bytes"
	"fmt"
	"net/http"
	"unicode/utf8"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"

	"underlog/backend/store"
)

// Bounds of a request.
const (
	mostLabels = 500
	mostWords  = 120 // characters of a line
	mostLines  = 6
	mostCode   = 200 // characters
	mostBody   = 1 << 20
)

// Routes are the routes of this package.
type Routes struct {
	Store     *store.Store
	OwnerOnly *hook.Handler[*core.RequestEvent]
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	se.Router.POST("/api/underlog/labels", r.labels).Bind(apis.RequireAuth(store.People), apis.BodyLimit(mostBody))
	se.Router.POST("/api/underlog/visit-sheet", r.visits).Bind(r.OwnerOnly, apis.BodyLimit(mostSheet))
}

// A wish is a sheet of labels.
type wish struct {
	Stock  Stock   `json:"stock"`
	Skip   int     `json:"skip"` // places on the first sheet that are used
	Labels []Label `json:"labels"`
}

func (r *Routes) labels(e *core.RequestEvent) error {
	var w wish
	if err := e.BindBody(&w); err != nil {
		return sentence(e, "The request is not one whole JSON object: give stock, skip and labels.")
	}
	if problem := w.check(); problem != "" {
		return sentence(e, problem)
	}
	var out bytes.Buffer
	if err := WriteLabels(&out, w.Stock, w.Labels, w.Skip, r.Store.Clock.Now()); err != nil {
		return sentence(e, err.Error()+".")
	}
	e.Response.Header().Set("Content-Disposition", `inline; filename="labels.pdf"`)
	return e.Blob(http.StatusOK, "application/pdf", out.Bytes())
}

func (w wish) check() string {
	if problem := w.Stock.check(); problem != "" {
		return problem
	}
	if n := len(w.Labels); n < 1 || n > mostLabels {
		return fmt.Sprintf("labels are %d: give 1 to %d.", n, mostLabels)
	}
	if each := w.Stock.Columns * w.Stock.Rows; w.Skip < 0 || w.Skip >= each {
		return fmt.Sprintf("skip is %d: give 0 to %d.", w.Skip, each-1)
	}
	for i, label := range w.Labels {
		for _, text := range append([]string{label.Place, label.Name}, label.Lines...) {
			if n := utf8.RuneCountInString(text); n > mostWords {
				return fmt.Sprintf("label %d has a line of %d characters: give at most %d.", i+1, n, mostWords)
			}
		}
		if n := len(label.Code); n < 1 || n > mostCode {
			return fmt.Sprintf("label %d has a code of %d characters: give 1 to %d.", i+1, n, mostCode)
		}
		if n := len(label.Lines); n > mostLines {
			return fmt.Sprintf("label %d has %d lines: give at most %d.", i+1, n, mostLines)
		}
	}
	return ""
}

func sentence(e *core.RequestEvent, text string) error {
	return e.JSON(http.StatusBadRequest, map[string]any{"status": http.StatusBadRequest, "message": text})
}
