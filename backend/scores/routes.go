package scores

import (
	"net/http"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/honesty"
)

// Bind adds the route by which the people of the household see the scores.
func (s *Scores) Bind(se *core.ServeEvent) {
	se.Router.GET("/api/underlog/honesty", s.show).Bind(apis.RequireAuth(store.People), apis.SkipSuccessActivityLog())
}

// An Answer is the report on the room and on each bin that has been scored.
type Answer struct {
	Room honesty.Report            `json:"room"`
	Bins map[string]honesty.Report `json:"bins"` // by id
}

func (s *Scores) show(e *core.RequestEvent) error {
	results, err := s.store.Results()
	if err != nil {
		return err
	}
	byBin := map[string][]honesty.Result{}
	for _, result := range results {
		byBin[result.Bin] = append(byBin[result.Bin], result)
	}
	answer := Answer{Room: honesty.NewReport(results), Bins: map[string]honesty.Report{}}
	for bin, of := range byBin {
		answer.Bins[bin] = honesty.NewReport(of)
	}
	return e.JSON(http.StatusOK, answer)
}
