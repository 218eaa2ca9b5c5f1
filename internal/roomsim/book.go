package roomsim

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"
)

// A Bin is what the household knows of a bin. Lengths are inside measures.
type Bin struct {
	Type             string    `json:"type"` // bin
	ID               string    `json:"id"`
	Name             string    `json:"name"`
	Rack             string    `json:"rack"`
	Shelf            int       `json:"shelf"`
	Position         int       `json:"position"`
	Kind             string    `json:"kind"`
	LengthMM         float64   `json:"length_mm"`
	WidthMM          float64   `json:"width_mm"`
	HeightMM         float64   `json:"height_mm"`
	SubstrateDepthMM float64   `json:"substrate_depth_mm"`
	DampEnd          string    `json:"damp_end"`
	DampShare        float64   `json:"damp_share"`
	Openings         []Opening `json:"openings"`
	LidGapMM         float64   `json:"lid_gap_mm"`
	WallMM           float64   `json:"wall_mm"`
	Springtails      bool      `json:"springtails"`
	SubstrateRenewed string    `json:"substrate_renewed"`
}

// An Opening is one sort of vent, Count times.
type Opening struct {
	Where         string  `json:"where"` // lid or side
	Shape         string  `json:"shape"` // rectangle or round
	LengthMM      float64 `json:"length_mm,omitempty"`
	WidthMM       float64 `json:"width_mm,omitempty"`
	DiameterMM    float64 `json:"diameter_mm,omitempty"`
	Count         int     `json:"count,omitempty"`
	MeshOpenShare float64 `json:"mesh_open_share"`
}

func (o Opening) areaMM2() float64 {
	if o.Shape == "round" {
		return math.Pi / 4 * o.DiameterMM * o.DiameterMM
	}
	return o.LengthMM * o.WidthMM
}

// scaled returns the opening with factor times its area.
func (o Opening) scaled(factor float64) Opening {
	side := math.Sqrt(factor)
	o.LengthMM = math.Round(o.LengthMM * side)
	o.WidthMM = math.Round(o.WidthMM * side)
	o.DiameterMM = math.Round(o.DiameterMM*side*10) / 10
	return o
}

// DampAreaM2 is the plan area of the damp side.
func (b Bin) DampAreaM2() float64 { return b.LengthMM * b.WidthMM * b.DampShare * 1e-6 }

// An Entry is one thing that happened. What decides which fields count.
type Entry struct {
	Type         string    `json:"type"` // entry
	ID           string    `json:"id"`
	Bin          string    `json:"bin,omitempty"`
	At           time.Time `json:"at"`
	What         string    `json:"what"` // feel, water, feed, leftovers or climate
	By           string    `json:"by,omitempty"`
	Feel         string    `json:"feel,omitempty"`
	WaterML      float64   `json:"water_ml,omitempty"` // as poured in good faith
	Food         string    `json:"food,omitempty"`
	Pieces       int       `json:"pieces,omitempty"`
	Of           string    `json:"of,omitempty"`
	Left         string    `json:"left,omitempty"`
	Mould        string    `json:"mould,omitempty"`
	Removed      bool      `json:"removed,omitempty"`
	TemperatureC *float64  `json:"temperature_c,omitempty"`
	HumidityPct  *float64  `json:"humidity_pct,omitempty"`
}

// A View is all that a Keeper knows. It belongs to the room: read, do not
// write.
type View struct {
	Now     time.Time
	Bins    []Bin
	Entries []Entry // in the order in which they happened
}

// View returns what the household knows at the time given: the bins as they
// are described, and what was logged until then.
func (r *Room) View(at time.Time) View {
	from, to := r.bookFrom, len(r.entries)
	for to > from && r.entries[to-1].At.After(at) {
		to--
	}
	return View{Now: at, Bins: r.told, Entries: r.entries[from:to:to]}
}

// WriteBook writes the View of that time as a book: one JSON object a line.
func (r *Room) WriteBook(w io.Writer, at time.Time) error {
	view := r.View(at)
	zone := r.cfg.Start.Location().String()
	if zone == "" || zone == "Local" {
		// A fixed zone without a name; Etc/GMT-1 is one hour east of Greenwich.
		_, seconds := r.cfg.Start.Zone()
		zone = fmt.Sprintf("Etc/GMT%+d", -seconds/3600)
	}
	to := json.NewEncoder(w)
	if err := to.Encode(map[string]any{"type": "book", "version": 1, "time_zone": zone, "at": at}); err != nil {
		return err
	}
	for _, bin := range view.Bins {
		if err := to.Encode(bin); err != nil {
			return err
		}
	}
	for _, entry := range view.Entries {
		if err := to.Encode(entry); err != nil {
			return err
		}
	}
	return nil
}

// log writes an entry at its place in time and returns it as written; in the
// silent fortnight it is not written.
func (r *Room) log(e Entry) Entry {
	r.logged++
	e.Type, e.ID, e.At = "entry", fmt.Sprintf("e%d", r.logged), e.At.Round(time.Second)
	if r.silent(e.At) {
		return e
	}
	r.entries = append(r.entries, e)
	for i := len(r.entries) - 1; i > r.bookFrom && r.entries[i-1].At.After(e.At); i-- {
		r.entries[i], r.entries[i-1] = r.entries[i-1], r.entries[i]
	}
	return e
}
