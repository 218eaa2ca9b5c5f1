package trial

import (
	"testing"

	"underlog/internal/roomsim"
)

// One season of the reporting room. The limits leave room for its luck; the
// bar itself is judged over many seasons by BenchmarkPolicy.
func TestTheToolOpensFewerLidsForFewerDryHours(t *testing.T) {
	configs := mustConfigs(t, roomsim.ReportingRoom, roomsim.FirstReportingSeed, 1)
	configs[0].Bins = 30
	rows := seasons(configs, twiceAWeek, tool)
	routine, own := rows[0].Report.Total, rows[1].Report.Total
	t.Logf("openings x %.2f, dry hours x %.3f, swamped %.0f and %.0f h/year", own.Openings/routine.Openings,
		own.DryHours/routine.DryHours, routine.PerYear(routine.SwampedHours), own.PerYear(own.SwampedHours))
	if own.Openings > 0.68*routine.Openings {
		t.Errorf("openings %.2f of the routine's", own.Openings/routine.Openings)
	}
	if own.DryHours > 0.10*routine.DryHours {
		t.Errorf("dry hours %.2f of the routine's", own.DryHours/routine.DryHours)
	}
	if more := own.PerYear(own.SwampedHours) - routine.PerYear(routine.SwampedHours); more > 5 {
		t.Errorf("swamped %.0f h/year more than under the routine", more)
	}
}

// A keeper who pours the one dose that a chore names, and only on dry or
// barely, does nearly as well.
func TestOneDoseIsEnough(t *testing.T) {
	configs := mustConfigs(t, roomsim.ReportingRoom, roomsim.FirstReportingSeed+1, 1)
	configs[0].Bins, configs[0].Days = 30, 90
	rows := seasons(configs, twiceAWeek, policy{"one dose", plainTool})
	routine, own := rows[0].Report.Total, rows[1].Report.Total
	t.Logf("openings x %.2f, dry hours x %.3f", own.Openings/routine.Openings, own.DryHours/routine.DryHours)
	if own.Openings > 0.72*routine.Openings || own.DryHours > 0.20*routine.DryHours {
		t.Errorf("openings %.2f and dry hours %.2f of the routine's", own.Openings/routine.Openings, own.DryHours/routine.DryHours)
	}
}

// The day after, then when it pays: less time with mould in the bin for
// hardly more looks.
func TestTheToolLooksBeforeTheMould(t *testing.T) {
	configs := mustConfigs(t, roomsim.ReportingRoom, roomsim.FirstReportingSeed, 3) // one alone is luck
	for i := range configs {
		configs[i].Feeding, configs[i].Bins, configs[i].Days = true, 12, 60
	}
	rows := seasons(configs, lookAfterADay, toolLooks)
	rule, own := rows[0].Report.Food, rows[1].Report.Food
	t.Logf("looks x %.2f, mouldy hours x %.2f, furry %.0f and %.0f", own.Looks/rule.Looks, own.MouldyHours/rule.MouldyHours, rule.Furry, own.Furry)
	if own.Looks > 1.05*rule.Looks || own.MouldyHours > rule.MouldyHours {
		t.Errorf("looks %.2f and mouldy hours %.2f of the rule's", own.Looks/rule.Looks, own.MouldyHours/rule.MouldyHours)
	}
}
