// Package household has the routes by which a household begins, is looked
// around in as an invented example, and adds its people. Before there is an
// owner nobody can do anything but become one.
package household

import (
	"errors"
	"net/http"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	validation "github.com/pocketbase/ozzo-validation/v4"
	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// Routes are the routes of this package.
type Routes struct {
	Store *store.Store

	beginning sync.Mutex // one household begins, however many ask at once
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	group := se.Router.Group("/api/underlog")
	group.Bind(apis.SkipSuccessActivityLog())
	group.GET("/welcome", r.welcome)
	group.POST("/setup", r.setUp).Bind(apis.BodyLimit(64 << 10))
	group.POST("/example", r.makeExample).Bind(apis.BodyLimit(64 << 10))
	group.DELETE("/example", r.removeExample).Bind(RequireOwner())
	group.POST("/people", r.addHelper).Bind(RequireOwner(), apis.BodyLimit(64<<10))
	group.DELETE("/people/{id}", r.removeHelper).Bind(RequireOwner())
	group.POST("/sensors", r.addSensor).Bind(RequireOwner(), apis.BodyLimit(64<<10))
	group.DELETE("/sensors/{id}", r.removeSensor).Bind(RequireOwner())
	group.POST("/climate", r.takeClimate).Bind(apis.BodyLimit(64 << 10))
}

// sentence answers with a status and a sentence for people.
func sentence(e *core.RequestEvent, status int, text string) error {
	return e.JSON(status, map[string]any{"status": status, "message": text})
}

// welcome says whether anybody is here, and nothing else.
func (r *Routes) welcome(e *core.RequestEvent) error {
	empty, err := r.Store.Empty(e.App)
	if err != nil {
		return err
	}
	state := "ready"
	if empty {
		state = "empty"
	}
	return e.JSON(http.StatusOK, map[string]string{"state": state})
}

type beginning struct {
	Room     string `json:"room"`
	Name     string `json:"name"`
	Password string `json:"password"`
	TimeZone string `json:"time_zone"`
	Units    string `json:"units"`
}

const alreadyBegun = "This room is set up already: sign in, or ask its owner to add you."

func (r *Routes) setUp(e *core.RequestEvent) error {
	var wish beginning
	if err := e.BindBody(&wish); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give room, name, password, time_zone and units.")
	}
	wish.Room, wish.Name = strings.TrimSpace(wish.Room), strings.TrimSpace(wish.Name)
	if problem := wish.check(); problem != "" {
		return sentence(e, http.StatusBadRequest, problem)
	}
	room := husbandry.UsualRoom()
	room.Name, room.TimeZone, room.Units, room.Hemisphere = wish.Room, wish.TimeZone, wish.Units, hemisphere(wish.TimeZone)
	begin := func(tx core.App, owner string) (store.Receipt, error) {
		sheet, err := husbandry.NewSheet("rooms", room, husbandry.NextStamp(r.Store.Clock.Now(), "setup", ""))
		if err != nil {
			return store.Receipt{}, err
		}
		return r.put(tx, owner, append(husbandry.Seeds(), sheet), nil)
	}
	return r.begin(e, wish.Name, wish.Password, begin)
}

// begin makes the owner and the first records, all or nothing.
func (r *Routes) begin(e *core.RequestEvent, name, password string, records func(tx core.App, owner string) (store.Receipt, error)) error {
	r.beginning.Lock()
	defer r.beginning.Unlock()
	var owner *core.Record
	var receipt store.Receipt
	err := e.App.RunInTransaction(func(tx core.App) error {
		empty, err := r.Store.Empty(tx)
		if err != nil {
			return err
		}
		if !empty {
			return errBegun
		}
		if owner, err = r.Store.AddPerson(tx, name, password, store.Owner); err != nil {
			return err
		}
		receipt, err = records(tx, owner.Id)
		return err
	})
	switch {
	case errors.Is(err, errBegun):
		return sentence(e, http.StatusConflict, alreadyBegun)
	case err != nil:
		return r.notAdded(e, err)
	}
	r.Store.Tell(receipt)
	return apis.RecordAuthResponse(e, owner, core.MFAMethodPassword, nil)
}

var errBegun = errors.New("the household has begun")

// notAdded answers for a person that could not be saved.
func (r *Routes) notAdded(e *core.RequestEvent, err error) error {
	var invalid validation.Errors
	switch {
	case errors.Is(err, store.ErrNameTaken):
		return sentence(e, http.StatusBadRequest, "The name is taken: somebody of this household has it already. Choose another.")
	case errors.As(err, &invalid) && invalid["password"] != nil:
		return sentence(e, http.StatusBadRequest, passwordRule)
	case errors.As(err, &invalid):
		return sentence(e, http.StatusBadRequest, "This person cannot be added: "+invalid.Error())
	}
	e.App.Logger().Error("a household could not begin, or a person not be added", "error", err)
	return sentence(e, http.StatusInternalServerError, "The server could not store this. Try again.")
}

// put writes records and fails if one of them, all ours, is refused.
func (r *Routes) put(tx core.App, person string, sheets []husbandry.Sheet, entries []husbandry.Entry) (store.Receipt, error) {
	rawSheets, err := store.Raws(sheets)
	if err != nil {
		return store.Receipt{}, err
	}
	rawEntries, err := store.Raws(entries)
	if err != nil {
		return store.Receipt{}, err
	}
	receipt, err := r.Store.PutIn(tx, store.Author{Person: person}, rawSheets, rawEntries)
	if err != nil {
		return receipt, err
	}
	for _, verdict := range receipt.Verdicts {
		if verdict.Verdict == store.Refused {
			return receipt, errors.New("household: a first record is wrong: " + verdict.ID + ": " + verdict.Sentence)
		}
	}
	return receipt, nil
}

const (
	leastPassword = 8
	mostPassword  = 71 // bcrypt reads no further
)

const passwordRule = "The password does not fit: give 8 to 71 characters."

// check returns what is wrong in a sentence, or nothing.
func (b beginning) check() string {
	rules := husbandry.SheetFields("rooms")
	for _, rule := range rules {
		if rule.Name == "name" && (b.Room == "" || utf8.RuneCountInString(b.Room) > int(rule.Max)) {
			return "The room's name is missing or too long: give 1 to 80 characters."
		}
	}
	if problem := checkPerson(b.Name, b.Password); problem != "" {
		return problem
	}
	return checkPlace(b.TimeZone, b.Units)
}

func checkPerson(name, password string) string {
	if count := utf8.RuneCountInString(strings.TrimSpace(name)); count < 1 || count > 80 {
		return "The name is missing or too long: give 1 to 80 characters."
	}
	if utf8.RuneCountInString(password) < leastPassword || len(password) > mostPassword {
		return passwordRule
	}
	return ""
}

func checkPlace(zone, units string) string {
	if _, err := time.LoadLocation(zone); err != nil || zone == "" || zone == "Local" {
		return "time_zone is " + orMissing(zone) + ": give the name of a time zone such as Europe/Berlin."
	}
	for _, word := range husbandry.UnitWords {
		if units == word {
			return ""
		}
	}
	return "units is " + orMissing(units) + ": give one of " + strings.Join(husbandry.UnitWords, ", ") + "."
}

func orMissing(text string) string {
	if text == "" {
		return "missing"
	}
	return text
}

// hemisphere tells where winter is from the zone's rule alone: summer time in
// January is the southern one. A zone without summer time counts as northern
// until the owner says otherwise in Room.
func hemisphere(zone string) string {
	location, err := time.LoadLocation(zone)
	if err != nil {
		return "north"
	}
	if time.Date(2026, 1, 15, 12, 0, 0, 0, location).IsDST() {
		return "south"
	}
	return "north"
}
