package husbandry_test

import (
	"testing"
	"time"

	"underlog/internal/husbandry"
)

func TestAChangeOfAlertSettingsNamesOnlyWhatItChanges(t *testing.T) {
	usual := husbandry.UsualAlerts()
	cases := []struct{ change, wrong string }{
		{`{}`, ""},
		{`{"leftovers":"digest","weekly_cap":3}`, ""},
		{`{"quiet_from":"23:30","quiet_to":"07:00","digest_at":"","digest_days":"tue thu sun"}`, ""},
		{`{"leftovers":"loud"}`, `leftovers is loud: give one of alone, digest, off.`},
		{`{"digest":"alone"}`, `digest is alone: give one of on, off.`},
		{`{"quiet_from":"25:00"}`, `quiet_from is 25:00: give a time of day such as 22:00.`},
		{`{"quiet_to":""}`, `quiet_to is "": give a time of day such as 22:00.`},
		{`{"digest_at":"7:5"}`, `digest_at is 7:5: give a time of day such as 22:00.`},
		{`{"digest_days":"tue someday"}`, `digest_days is tue someday: give days of the week such as tue thu sun.`},
		{`{"weekly_cap":0}`, `weekly_cap is 0: give a whole number from 1 to 70 alerts.`},
		{`{"weekly_cap":2.5}`, `weekly_cap is 2.5: give a whole number from 1 to 70 alerts.`},
		{`{"volume":11}`, `volume is 11: leave it out: alerts have no such setting.`},
		{`[]`, `record is []: give one whole JSON object.`},
	}
	for _, c := range cases {
		got, problems := husbandry.CheckAlertSettings(usual, []byte(c.change), time.Now())
		if problems.Error() != c.wrong {
			t.Errorf("%s: %q, want %q", c.change, problems.Error(), c.wrong)
		}
		if c.wrong != "" && got != usual {
			t.Errorf("%s was refused and changed %+v", c.change, got)
		}
	}
	got, _ := husbandry.CheckAlertSettings(usual, []byte(cases[1].change), time.Now())
	want := usual
	want.Leftovers, want.WeeklyCap = husbandry.AlertInDigest, 3
	if got != want {
		t.Errorf("the settings are %+v, want %+v", got, want)
	}
}
