// Package sessions lets people see where they are signed in, and end it
// there. PocketBase's tokens know nothing of where they were given out and
// cannot be taken back one by one; ours carry the id of a session, and a token
// whose session has ended is nobody's.
package sessions

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/hook"
	"github.com/pocketbase/pocketbase/tools/security"

	"underlog/backend/store"
)

// claim is the name of the session's id in a token.
const claim = "session"

// Sessions gives out tokens that belong to sessions, and checks them.
type Sessions struct{ store *store.Store }

// New makes the sessions of a store and has every signing in begin one.
func New(s *store.Store) *Sessions {
	sessions := &Sessions{store: s}
	s.App.OnRecordAuthRequest(store.People).BindFunc(sessions.giveToken)
	return sessions
}

// Bind adds the check of every request and the routes.
func (s *Sessions) Bind(se *core.ServeEvent) {
	se.Router.Bind(&hook.Handler[*core.RequestEvent]{
		Id: "underlogSession", Priority: apis.DefaultLoadAuthTokenMiddlewarePriority + 1, Func: s.check,
	})
	group := se.Router.Group("/api/underlog/sessions")
	group.Bind(apis.RequireAuth(store.People))
	group.GET("", s.list)
	group.DELETE("/{id}", s.end)
}

// giveToken puts the session into the token that is about to be answered: the
// one that the request came with, or a new one.
func (s *Sessions) giveToken(e *core.RecordAuthRequestEvent) error {
	session, _ := e.Get(store.SessionKey).(string)
	if session == "" {
		var err error
		if session, err = s.store.AddSession(e.App, e.Record.Id, label(e.Request.UserAgent())); err != nil {
			return err
		}
	}
	secret := e.Collection.AuthToken
	token, err := security.NewJWT(jwt.MapClaims{
		core.TokenClaimType: core.TokenTypeAuth, core.TokenClaimId: e.Record.Id, core.TokenClaimCollectionId: e.Collection.Id,
		core.TokenClaimRefreshable: true, claim: session,
	}, e.Record.TokenKey()+secret.Secret, secret.DurationTime())
	if err != nil {
		return err
	}
	e.Token = token
	return e.Next()
}

// check makes nobody of whoever comes with a token whose session has ended.
// The token itself has been verified before.
func (s *Sessions) check(e *core.RequestEvent) error {
	if e.Auth == nil || e.Auth.Collection().Name != store.People {
		return e.Next()
	}
	token := e.Request.Header.Get("Authorization")
	if len(token) > 7 && strings.EqualFold(token[:7], "Bearer ") {
		token = token[7:]
	}
	claims, _ := security.ParseUnverifiedJWT(token)
	session, _ := claims[claim].(string)
	holds, err := s.store.HasSession(session, e.Auth.Id)
	if err != nil {
		return err
	}
	if holds {
		e.Set(store.SessionKey, session)
	} else {
		e.Auth = nil
	}
	return e.Next()
}

// list answers where somebody is signed in; to the owner, where anybody is.
func (s *Sessions) list(e *core.RequestEvent) error {
	person := e.Auth.Id
	if e.Auth.GetString("role") == store.Owner {
		person = ""
	}
	found, err := s.store.FindSessions(person)
	if err != nil {
		return err
	}
	type line struct {
		ID     string `json:"id"`
		Person string `json:"person"`
		Label  string `json:"label"`
		Device string `json:"device"`
		Since  string `json:"since"`
		SeenAt string `json:"seen_at"`
		Here   bool   `json:"here"` // it is the one that asks
	}
	lines := make([]line, len(found))
	for i, session := range found {
		lines[i] = line{session.ID, session.Person, session.Label, session.Device,
			session.Since.Time().UTC().Format(time.RFC3339), session.SeenAt.Time().UTC().Format(time.RFC3339),
			session.ID == e.Get(store.SessionKey)}
	}
	return e.JSON(http.StatusOK, lines)
}

// end ends a session: "here" is the one that asks.
func (s *Sessions) end(e *core.RequestEvent) error {
	id := e.Request.PathValue("id")
	if id == "here" {
		id, _ = e.Get(store.SessionKey).(string)
	}
	person := e.Auth.Id
	if e.Auth.GetString("role") == store.Owner {
		person = ""
	}
	found, err := s.store.FindSessions(person)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(found, func(session store.Session) bool { return session.ID == id })
	if at < 0 {
		return e.JSON(http.StatusNotFound, map[string]any{"status": http.StatusNotFound, "message": "There is no such session of yours."})
	}
	if err := s.store.EndSession(found[at]); err != nil {
		return err
	}
	s.hangUp(e.App, found[at].Person)
	return e.NoContent(http.StatusNoContent)
}

// hangUp ends a person's realtime lines; those whose sessions hold call again.
func (s *Sessions) hangUp(app core.App, person string) {
	broker := app.SubscriptionsBroker()
	for id, client := range broker.Clients() {
		if auth, _ := client.Get(apis.RealtimeClientAuthKey).(*core.Record); auth != nil && auth.Id == person {
			broker.Unregister(id)
		}
	}
}

// label names a device by the system it says it runs on.
func label(userAgent string) string {
	for _, system := range []string{"iPhone", "iPad", "Android", "Windows", "Macintosh", "Linux"} {
		if strings.Contains(userAgent, system) {
			if system == "Macintosh" {
				return "Mac"
			}
			return system
		}
	}
	return "Device"
}
