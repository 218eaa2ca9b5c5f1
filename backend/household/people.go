package household

import (
	"net/http"

	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"

	"underlog/backend/store"
)

// RequireOwner lets the owner of the household pass and nobody else.
func RequireOwner() *hook.Handler[*core.RequestEvent] {
	return &hook.Handler[*core.RequestEvent]{Id: "underlogRequireOwner", Func: func(e *core.RequestEvent) error {
		switch {
		case e.Auth == nil || e.Auth.Collection().Name != store.People:
			return sentence(e, http.StatusUnauthorized, "Sign in first.")
		case e.Auth.GetString("role") != store.Owner:
			return sentence(e, http.StatusForbidden, "Only the owner may do this.")
		}
		return e.Next()
	}}
}

func (r *Routes) addHelper(e *core.RequestEvent) error {
	var wish struct{ Name, Password string }
	if err := e.BindBody(&wish); err != nil {
		return sentence(e, http.StatusBadRequest, "The request is not one whole JSON object: give name and password.")
	}
	if problem := checkPerson(wish.Name, wish.Password); problem != "" {
		return sentence(e, http.StatusBadRequest, problem)
	}
	person, err := r.Store.AddPerson(e.App, wish.Name, wish.Password, store.Helper)
	if err != nil {
		return r.notAdded(e, err)
	}
	return e.JSON(http.StatusCreated, store.Person{ID: person.Id, Name: person.GetString("name"), Role: store.Helper})
}

// removeHelper takes an account away, and with it the person's devices and
// sessions. What the person logged stays.
func (r *Routes) removeHelper(e *core.RequestEvent) error {
	person, err := e.App.FindRecordById(store.People, e.Request.PathValue("id"))
	if err != nil {
		return sentence(e, http.StatusNotFound, "There is no such person in this household.")
	}
	if person.GetString("role") == store.Owner {
		return sentence(e, http.StatusBadRequest, "The owner cannot be removed.")
	}
	if err := e.App.Delete(person); err != nil {
		return err
	}
	return e.NoContent(http.StatusNoContent)
}
