package exchange

import (
	"strconv"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/subscriptions"

	"underlog/backend/store"
)

// news is the topic of the hint that an exchange would bring something.
const news = "news"

// Nudge tells every signed-in device that listens that there is something
// new. It is a hint and may be lost: devices exchange on every connection.
func Nudge(app core.App) func(store.Change) {
	return func(change store.Change) {
		message := subscriptions.Message{Name: news, Data: []byte(`{"cursor":` + strconv.FormatInt(change.Cursor, 10) + `}`)}
		for _, client := range app.SubscriptionsBroker().Clients() {
			person, _ := client.Get(apis.RealtimeClientAuthKey).(*core.Record)
			if person == nil || person.Collection().Name != store.People || !client.HasSubscription(news) {
				continue
			}
			go client.Send(message) // waits for a slow line
		}
	}
}
