package household

import (
	"crypto/rand"
	"net/http"
	"time"

	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/example"
	"underlog/internal/husbandry"
)

// visitor is the name of the invented household's owner.
const visitor = "Visitor"

func (r *Routes) makeExample(e *core.RequestEvent) error {
	var wish beginning
	if err := e.BindBody(&wish); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give time_zone and units.")
	}
	if problem := checkPlace(wish.TimeZone, wish.Units); problem != "" {
		return sentence(e, http.StatusBadRequest, problem)
	}
	zone, err := time.LoadLocation(wish.TimeZone)
	if err != nil {
		return err
	}
	fill := func(tx core.App, owner string) (store.Receipt, error) {
		book := example.Book(r.Store.Clock.Now().In(zone), wish.Units)
		if err := r.Store.SetKey(tx, store.KeyExample, "yes"); err != nil {
			return store.Receipt{}, err
		}
		store.InOrder(book.Entries)
		return r.put(tx, owner, append(husbandry.Seeds(), book.Sheets...), book.Entries)
	}
	// Nobody signs in to an example a second time: its password is not kept.
	return r.begin(e, visitor, rand.Text(), fill)
}

// removeExample removes everything of the invented household, its people too.
func (r *Routes) removeExample(e *core.RequestEvent) error {
	made, err := r.Store.Key(store.KeyExample)
	if err != nil {
		return err
	}
	if made == "" {
		return sentence(e, http.StatusConflict, "This is no example room: its records are real and are not removed.")
	}
	if err := r.Store.Wipe(); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}
