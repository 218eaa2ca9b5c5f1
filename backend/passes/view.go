package passes

import (
	"maps"
	"net/http"
	"slices"
	"time"

	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/engine"
	"underlog/internal/husbandry"
)

// A View is everything that a sitter's phone needs for the whole trip without
// signal. Every field of it is chosen: what is not needed is not in it.
type View struct {
	Version   int               `json:"version"`
	At        string            `json:"at"`
	Epoch     string            `json:"epoch"`
	Rehearsal bool              `json:"rehearsal"`
	Sitter    string            `json:"sitter"`
	Person    string            `json:"person"`
	TimeZone  string            `json:"time_zone"`
	Units     string            `json:"units"`
	Leaves    string            `json:"leaves"`
	Returns   string            `json:"returns"`
	From      string            `json:"from"`
	Until     string            `json:"until"`
	Call      string            `json:"call"`
	Visits    []Visit           `json:"visits"`
	Changed   *Change           `json:"changed,omitempty"` // where it is another plan than before the last visit
	Bins      []Bin             `json:"bins"`
	Shut      []Shut            `json:"shut"`
	Foods     map[string]string `json:"foods"` // names by slug
}

// A Visit is one day on which the sitter comes.
type Visit struct {
	Date  string `json:"date"`
	From  string `json:"from"`
	To    string `json:"to"`
	Stops []Stop `json:"stops"` // in walking order
}

// A Stop is one bin of a visit.
type Stop struct {
	Bin    string `json:"bin"`
	Closed bool   `json:"closed"` // it should be left shut, but will not last
	Steps  []Step `json:"steps"`
}

// What a Step tells to do.
const (
	doFeel      = "feel"
	doLeftovers = "leftovers"
	doFeed      = "feed"
	doLeaves    = "add leaves"
)

// A Step is one thing to do; Do says which fields count.
type Step struct {
	Do       string             `json:"do"`
	End      string             `json:"end,omitempty"`        // feel
	DoseIfML map[string]float64 `json:"dose_if_ml,omitempty"` // feel; 0: nothing to do
	Of       string             `json:"of,omitempty"`         // leftovers
	Food     string             `json:"food,omitempty"`       // leftovers, feed: slug
	Since    *time.Time         `json:"since,omitempty"`      // leftovers
	Pieces   int                `json:"pieces,omitempty"`     // feed
	Side     string             `json:"side,omitempty"`       // feed
	Handfuls float64            `json:"handfuls,omitempty"`   // add leaves
}

// A Bin is what the drawing of a bin is made of, and where the bin stands.
type Bin struct {
	ID               string              `json:"id"`
	Name             string              `json:"name"`
	Place            string              `json:"place"`
	Rack             string              `json:"rack"`
	Shelf            int                 `json:"shelf"`
	Position         int                 `json:"position"`
	Shape            string              `json:"shape"`
	LengthMM         float64             `json:"length_mm"`
	WidthMM          float64             `json:"width_mm"`
	HeightMM         float64             `json:"height_mm"`
	SubstrateDepthMM float64             `json:"substrate_depth_mm"`
	DampEnd          string              `json:"damp_end"`
	DampShare        float64             `json:"damp_share"`
	Openings         []husbandry.Opening `json:"openings"`
	LidGapMM         float64             `json:"lid_gap_mm"`
	Springtails      bool                `json:"springtails"`
	Glance           Glance              `json:"glance"`
	Photo            string              `json:"photo"`
}

// A Glance is how a bin is drawn now.
type Glance struct {
	Damp   Level   `json:"damp"`
	Leaves Level   `json:"leaves"`
	Fresh  Level   `json:"fresh"`
	Dry    float64 `json:"dry"`
	Food   []Lying `json:"food"`
}

type (
	// Level is a level with its span.
	Level = engine.Level
	// Lying is food that lies in a bin.
	Lying = engine.Lying
)

// A Shut is a bin that nobody is to open.
type Shut struct {
	Place string `json:"place"`
	Name  string `json:"name"`
}

// A lastView is the view that a pass was shown last, and of what it was made.
type lastView struct {
	view   *View
	cursor int64
	at     time.Time
}

// fresh is how long a view is shown again where nothing changed.
const fresh = 10 * time.Minute

func (r *Routes) show(e *core.RequestEvent) error {
	pass, s, isLate := within(e)
	if isLate {
		return sentence(e, http.StatusGone, overPass)
	}
	view, err := r.viewOf(pass, s)
	if err != nil {
		return err
	}
	return e.JSON(http.StatusOK, view)
}

// rehearse shows the owner what a sitter would be shown of a trip.
func (r *Routes) rehearse(e *core.RequestEvent) error {
	s, err := r.span(e.Request.PathValue("trip"))
	if err != nil {
		return err
	}
	if !s.ok {
		return sentence(e, http.StatusNotFound, noTrip)
	}
	view, err := r.build(&store.Pass{Trip: s.trip.ID, Sitter: s.trip.Sitter, Photos: true}, s)
	if err != nil {
		return err
	}
	view.Rehearsal = true
	return e.JSON(http.StatusOK, view)
}

// viewOf returns what a pass is shown, made anew where anything changed.
func (r *Routes) viewOf(pass *store.Pass, s span) (*View, error) {
	cursor, err := r.Store.Last()
	if err != nil {
		return nil, err
	}
	now := r.Store.Clock.Now()
	r.seen.Lock()
	last, is := r.seen.of[pass.ID]
	r.seen.Unlock()
	if age := now.Sub(last.at); is && last.cursor == cursor && age >= 0 && age < fresh {
		return last.view, nil
	}
	view, err := r.build(pass, s)
	if err != nil {
		return nil, err
	}
	r.seen.Lock()
	defer r.seen.Unlock()
	if r.seen.of == nil || len(r.seen.of) > 100 {
		r.seen.of = map[string]lastView{}
	}
	r.seen.of[pass.ID] = lastView{view, cursor, now}
	return view, nil
}

// build works out what a pass is shown.
func (r *Routes) build(pass *store.Pass, s span) (*View, error) {
	room, err := r.Store.Room()
	if err != nil {
		return nil, err
	}
	epoch, err := r.Store.Epoch()
	if err != nil {
		return nil, err
	}
	reach, err := r.reach(pass, s)
	if err != nil {
		return nil, err
	}
	seen := s.trip
	seen.Bins = slices.Sorted(maps.Keys(reach.Bins))
	plan, glances, err := r.Forecast.Trip(s.trip, seen)
	if err != nil {
		return nil, err
	}
	view := &View{
		Version: 1, At: r.Store.Clock.Now().UTC().Format(time.RFC3339), Epoch: epoch,
		Sitter: pass.Sitter, Person: pass.Person, TimeZone: room.TimeZone, Units: room.Units,
		Leaves: s.trip.Leaves, Returns: s.trip.Returns, From: s.from.Format(time.RFC3339), Until: s.until.Format(time.RFC3339),
		Call: s.trip.Call, Visits: []Visit{}, Bins: []Bin{}, Shut: []Shut{}, Foods: map[string]string{},
	}
	state := map[string]engine.Glance{}
	for _, glance := range glances {
		state[glance.Bin] = glance
	}
	opened := view.visits(plan.Visits, reach, state)
	if err := r.addOwn(opened, pass, reach); err != nil {
		return nil, err
	}
	view.Changed = view.change(&plan, pass.Person, reach, opened)
	bins, err := r.Store.Bins()
	if err != nil {
		return nil, err
	}
	for _, bin := range bins {
		switch {
		case opened[bin.ID]:
			shown := shownBin(bin, state[bin.ID])
			if pass.Photos {
				if shown.Photo, err = r.Store.PictureOf(bin.ID); err != nil {
					return nil, err
				}
			}
			view.Bins = append(view.Bins, shown)
		case reach.Bins[bin.ID] && slices.Contains(s.trip.Closed, bin.ID):
			view.Shut = append(view.Shut, Shut{bin.Place(), bin.Name})
		}
	}
	foods, err := r.Store.Foods()
	if err != nil {
		return nil, err
	}
	view.nameFoods(foods)
	return view, nil
}

// visits fills in what is to be done, and returns the bins that are opened.
// What lies in a bin is looked at when it is opened first.
func (v *View) visits(planned []engine.AwayVisit, reach store.Reach, state map[string]engine.Glance) (opened map[string]bool) {
	opened = map[string]bool{}
	for _, visit := range planned {
		shown := Visit{Date: visit.Date, From: visit.From.Format(time.RFC3339), To: visit.To.Format(time.RFC3339), Stops: []Stop{}}
		for _, stop := range visit.Stops {
			if !reach.Bins[stop.Bin] {
				continue
			}
			steps := []Step{{Do: doFeel, End: stop.End, DoseIfML: stop.DoseIfML}}
			if !opened[stop.Bin] {
				for _, lying := range state[stop.Bin].Food {
					steps = append(steps, Step{Do: doLeftovers, Of: lying.Of, Food: lying.Food, Since: &lying.Since})
				}
			}
			if stop.Food != "" {
				steps = append(steps, Step{Do: doFeed, Food: stop.Food, Pieces: 1, Side: "dry"})
			}
			if stop.Handfuls > 0 {
				steps = append(steps, Step{Do: doLeaves, Handfuls: stop.Handfuls})
			}
			opened[stop.Bin] = true
			shown.Stops = append(shown.Stops, Stop{stop.Bin, stop.Closed, steps})
		}
		if len(shown.Stops) > 0 {
			v.Visits = append(v.Visits, shown)
		}
	}
	return opened
}

// addOwn adds the bins that the sitter was at: a visit that has begun goes on
// with them.
func (r *Routes) addOwn(opened map[string]bool, pass *store.Pass, reach store.Reach) error {
	at, err := r.Store.BinsOf(pass.Person, reach)
	for _, bin := range at {
		opened[bin] = true
	}
	return err
}

func shownBin(bin husbandry.Bin, glance engine.Glance) Bin {
	shown := Bin{
		ID: bin.ID, Name: bin.Name, Place: bin.Place(), Rack: bin.Rack, Shelf: bin.Shelf, Position: bin.Position,
		Shape: bin.Shape, LengthMM: bin.LengthMM, WidthMM: bin.WidthMM, HeightMM: bin.HeightMM, SubstrateDepthMM: bin.SubstrateDepthMM,
		DampEnd: bin.DampEnd, DampShare: bin.DampShare, Openings: bin.Openings, LidGapMM: bin.LidGapMM, Springtails: bin.Springtails,
		Glance: Glance{glance.Damp, glance.Leaves, glance.Fresh, glance.Dry, glance.Food},
	}
	if shown.Openings == nil {
		shown.Openings = []husbandry.Opening{}
	}
	if shown.Glance.Food == nil {
		shown.Glance.Food = []Lying{}
	}
	return shown
}

// nameFoods names the foods that the view speaks of, and no others.
func (v *View) nameFoods(foods []husbandry.Food) {
	wanted := map[string]bool{}
	for _, bin := range v.Bins {
		for _, lying := range bin.Glance.Food {
			wanted[lying.Food] = true
		}
	}
	for _, visit := range v.Visits {
		for _, stop := range visit.Stops {
			for _, step := range stop.Steps {
				wanted[step.Food] = true
			}
		}
	}
	for _, food := range foods {
		if wanted[food.Slug] {
			v.Foods[food.Slug] = food.Name
		}
	}
}
