package exchange

import (
	"encoding/json"
	"net/http"
	"time"

	"underlog/backend/body"
	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// A new device does not read the feed from its beginning. It loads every
// sheet, what names photos, and the entries of the last 200 days, the newest first, and is in use
// then; what is older it loads when somebody wants it. The first page says
// with which number of the feed the device goes on: what was written since is
// in the feed, and what was there already is in the pages, whatever is written
// meanwhile, since entries never change.

// Stages of a load.
const (
	recent = "recent"
	older  = "older"
)

// A Load is what a device asks for besides: the page of a stage after a place.
type Load struct {
	Stage  string `json:"stage"`
	Before string `json:"before"` // the last answer's next; empty at the beginning
}

// Loaded is how far a load has come.
type Loaded struct {
	Stage string `json:"stage"`
	Next  string `json:"next"`
	Left  int    `json:"left"` // entries of this stage after this page
	Older int    `json:"older"`
	Done  bool   `json:"done"` // with this stage; next is then where the older entries begin
}

func (l *Load) check() *Refusal {
	if l == nil {
		return nil
	}
	if l.Stage != recent && l.Stage != older {
		return body.Refuse(http.StatusBadRequest, "stage is %s: give recent or older.", body.Shown(l.Stage))
	}
	if _, err := store.ParsePlace(l.Before); err != nil {
		return body.Refuse(http.StatusBadRequest, "%v.", err)
	}
	return nil
}

// load fills the page of a load instead of one of the feed.
func (r *Route) load(answer *Answer, request *Request) error {
	place, err := store.ParsePlace(request.Load.Before)
	if err != nil {
		return err
	}
	answer.Page = store.Page{Cursor: request.Cursor, More: true, Sheets: []husbandry.Sheet{}, Entries: []json.RawMessage{}}
	from := r.Store.Clock.Now().Add(-store.Recent)
	back := from
	if request.Load.Stage == older {
		back = time.Time{}
	}
	if request.Load.Stage == recent && place.At.IsZero() {
		// The number first, the records after it: what is written in between
		// comes twice rather than never.
		answer.Page.Cursor = answer.Durable
		if answer.Page.Sheets, err = r.Store.Sheets(); err != nil {
			return err
		}
		if answer.Page.Entries, err = r.Store.OldStrikes(from); err != nil {
			return err
		}
		photos, err := r.Store.OldPhotos(from)
		if err != nil {
			return err
		}
		answer.Page.Entries = append(answer.Page.Entries, photos...)
	}
	found, err := r.Store.Before(place, back, mostChanges)
	if err != nil {
		return err
	}
	answer.Page.Entries = append(answer.Page.Entries, found.Entries...)
	loaded := &Loaded{Stage: request.Load.Stage, Next: found.Next.String(), Left: found.Left, Done: found.Left == 0}
	if loaded.Stage == recent {
		if loaded.Done {
			loaded.Next = store.Place{At: from}.String()
		}
		if loaded.Older, err = r.Store.Counted(from); err != nil {
			return err
		}
	}
	answer.Load = loaded
	answer.Mark, err = r.Store.At(answer.Page.Cursor)
	return err
}
