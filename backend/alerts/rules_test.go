package alerts_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

func TestBinsThatWereFedOnOneRoundMakeOneAlert(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 9, noDigest)
	for _, bin := range bins {
		phone.MustStore(nil, phone.Feed(bin.ID))
		phone.MustAdvance(4 * time.Minute) // a round takes its time
	}
	all := watch(phone, 40*time.Hour, 5*time.Minute)
	if len(all) != 1 {
		t.Fatalf("%d messages came, want one of nine bins", len(all))
	}
	note := all[0].Notification
	if note.Title != "Check leftover food in 9 bins" || !strings.HasPrefix(note.Body, "W2-3 Bin 1: melon\nW2-3 Bin 2: melon\n") || !strings.HasSuffix(note.Body, "and 3 more") {
		t.Errorf("it says %q %q", note.Title, note.Body)
	}
	if len(note.Actions) != 0 || !strings.HasPrefix(note.Navigate, "/#/alert?of=") || note.Data.More != 4 {
		t.Errorf("it leads to %q with the buttons %v", note.Navigate, note.Actions)
	}
	if all[0].WebPush != 8030 || !all[0].Mutable || all[0].Badge != 9 {
		t.Errorf("the message is %+v", all[0].shown)
	}
}

func TestALookThatLeftItInIsAlertedAnewAndSaysSo(t *testing.T) {
	phone, feeding := fed(t, trial.Noon, "Europe/Berlin")
	watch(phone, 25*time.Hour, 10*time.Minute)
	phone.MustStore(nil, phone.Log(feeding.Bin, husbandry.Leftovers, func(e *husbandry.Entry) {
		e.Of, e.Left, e.Mould = feeding.ID, "some left", "specks"
	}))
	all := watch(phone, 48*time.Hour, 10*time.Minute)
	if len(all) != 1 || fmt.Sprint(all[0].Notification.Data.Looks) != "[1]" {
		t.Errorf("%d more messages came: %+v", len(all), all)
	}
}

// A bin that was felt once and then left alone dries out: one alert of its own
// before it does, and the digest every evening.
func TestDampnessAtRiskIsToldOnceByItself(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 2, noDigest)
	bin := bins[0].ID
	felt := phone.Log(bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "damp" })
	phone.MustStore(nil, felt)
	all := watch(phone, 60*24*time.Hour, 5*time.Hour)
	if sorts(all) != "dampness" {
		t.Fatalf("came: %q, want dampness once, and nothing of the bin that nobody has felt", sorts(all))
	}
	one := all[0]
	if one.Notification.Title != "Dampness at risk" || !strings.HasPrefix(one.Notification.Body, "W2-3 Bin 1: may dry out soon") ||
		one.Notification.Navigate != "/#/alert?damp="+bin || one.Notification.Data.Last[0] != felt.At.Unix() || one.Urgency != "high" {
		t.Errorf("it says %+v, urgency %s", one.Notification, one.Urgency)
	}
	// Felt dry and watered: a new drying, a new alert, and not at once.
	phone.MustStore(nil, phone.Log(bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "dry" }))
	if all := watch(phone, 5*time.Hour, 30*time.Minute); len(all) != 0 {
		t.Errorf("%q came to somebody who was just there", sorts(all))
	}
	phone.MustStore(nil, phone.Log(bin, husbandry.Water, func(e *husbandry.Entry) { e.WaterML = 45 }))
	if all := watch(phone, 60*24*time.Hour, 5*time.Hour); sorts(all) != "dampness" {
		t.Errorf("after the water came %q, want dampness once", sorts(all))
	}
}

// After hours of standing still what matters yet is told in one message.
func TestAfterDowntimeThereIsOneMessage(t *testing.T) {
	phone, bins := room(t, trial.Noon, "Europe/Berlin", 4, nil)
	for _, bin := range bins {
		phone.MustStore(nil, phone.Feed(bin.ID))
	}
	before := len(phone.Push.Messages())
	phone.MustClose()
	phone.Clock.Advance(30 * time.Hour) // the food is six hours overdue, and the round is about to begin
	phone.MustOpen()
	phone.MustAdvance(time.Minute)
	all := phone.Push.Messages()[before:]
	if len(all) != 1 {
		t.Fatalf("%d messages came after the downtime, want one", len(all))
	}
	note := mustRead(t, all[0]).Notification
	if note.Data.Sort != "several" || note.Title != "4 bins want a look" || !strings.Contains(note.Navigate, "of=") ||
		!strings.HasPrefix(note.Body, "W2-3 Bin 1: leftover melon\nW2-3 Bin 2: leftover melon\n") || !strings.HasSuffix(note.Body, "The round: feel 4.") {
		t.Errorf("it says %+v", note)
	}
	if len(all[0].Payload) >= 1024 {
		t.Errorf("it has %d bytes", len(all[0].Payload))
	}
	if more := watch(phone, 3*time.Hour, 10*time.Minute); len(more) != 0 {
		t.Errorf("then came %q", sorts(more))
	}
}

// Whatever names people give: under 1 KiB, and valid.
func TestTheLongestNamesFit(t *testing.T) {
	phone, _ := room(t, trial.Noon, "Europe/Berlin", 0, nil)
	for i := range 12 {
		bin := phone.Bin(strings.Repeat("🪲", 70))
		phone.MustStore([]husbandry.Sheet{bin, phone.Sheet("foods", husbandry.Food{ID: trial.NewID(), Slug: fmt.Sprintf("food-%d-%s", i, strings.Repeat("x", 40)), Name: strings.Repeat("ß", 60), Class: "fruit"})})
		phone.MustStore(nil, phone.Log(bin.ID, husbandry.Feed, func(e *husbandry.Entry) { e.Food, e.Pieces = strings.Repeat("Ω", 80), 3 }),
			phone.Log(bin.ID, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = "dry" }))
	}
	phone.MustClose()
	phone.Clock.Advance(24 * time.Hour)
	phone.MustOpen()
	all := watch(phone, 24*time.Hour, time.Hour)
	if len(all) == 0 {
		t.Fatalf("nothing came: %v", phone.Push.Problems())
	}
	for _, one := range all {
		listed := one.Notification.Data.Sort == "digest" || strings.Contains(one.Notification.Body, "more")
		if len(one.Payload) >= 1024 || one.Notification.Title == "" || !listed {
			t.Errorf("%d bytes: %s", len(one.Payload), one.Payload)
		}
	}
	if problems := phone.Push.Problems(); len(problems) > 0 {
		t.Error(problems)
	}
}
