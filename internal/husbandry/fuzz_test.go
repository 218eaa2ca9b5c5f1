package husbandry

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"
)

// A sheet that is taken can be merged, written and read again, and edited
// after: its stamps leave room for later ones.
func FuzzCheckSheet(f *testing.F) {
	for _, seed := range []string{
		`{"sheet":"bins","id":"b1","fields":{"name":{"v":"Pied","s":"019e6f0d1a2b-0000-phone"},"shelf":{"v":2,"s":"019e6f0d1a2b-0001-phone"}}}`,
		`{"sheet":"bins","id":"b1","fields":{"openings":{"v":[{"shape":"round","width_mm":20,"count":4}],"s":"019e6f0d1a2b-0000-phone"}}}`,
		`{"sheet":"rooms","id":"room","fields":{"time_zone":{"v":"UTC","s":"ffffffffffff-ffff-phone"}}}`,
		`{"sheet":"foods","id":"f","fields":{"deleted":{"v":true,"s":"000000000000-0000-seed"},"deleted":{"v":null,"s":""}}}`,
		`{"sheet":"kinds","id":"k","fields":null}`, `{"sheet":"bins"}`, `[]`, `null`, ``,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		sheet, problems := CheckSheet(raw, now)
		if problems != nil {
			if !strings.HasSuffix(problems.Error(), ".") {
				t.Errorf("refused without a sentence: %q", problems.Error())
			}
			return
		}
		written, err := json.Marshal(sheet)
		if err != nil {
			t.Fatalf("it is taken and cannot be written: %v", err)
		}
		again, problems := CheckSheet(written, now)
		if problems != nil || len(again.Fields) != len(sheet.Fields) {
			t.Fatalf("%s is taken, and what was written of it is not: %v", raw, problems)
		}
		if changed := sheet.Merge(again); len(changed) > 0 && !reflect.DeepEqual(again.Flat(), sheet.Flat()) {
			t.Errorf("merged with itself it changed %v", changed)
		}
		for name, field := range again.Fields {
			if next := NextStamp(now, "d", field.Stamp); !next.Readable() || next <= field.Stamp {
				t.Errorf("%s with the stamp %s can be edited no more: the next is %s", name, field.Stamp, next)
			}
		}
	})
}

// Whatever stamp came before, the next is later; from any that a sheet may
// carry it can be read, too.
func FuzzNextStamp(f *testing.F) {
	f.Add(int64(1779962700000), "019e6f0d1a2b-0000-phone")
	f.Add(int64(0), "000000000000-ffff-a")
	f.Add(int64(-5), "")
	f.Add(int64(1<<44-1), "0fffffffffff-ffff-a")
	f.Fuzz(func(t *testing.T, millis int64, seen string) {
		if millis < 0 || millis >= 1<<44 {
			return // no clock shows that
		}
		next := NextStamp(time.UnixMilli(millis), "a", Stamp(seen))
		if !Stamp(seen).lasting() && Stamp(seen).Readable() {
			return // no sheet carries it
		}
		if !next.Readable() || Stamp(seen).Readable() && next <= Stamp(seen) {
			t.Errorf("after %q comes %q", seen, next)
		}
	})
}

// Settings that are taken are settings that would be taken again as a whole.
func FuzzCheckAlertSettings(f *testing.F) {
	for _, seed := range []string{`{}`, `{"quiet_from":"21:30","digest_days":"tue thu"}`, `{"weekly_cap":70}`, `{"weekly_cap":7e1}`,
		`{"leftovers":null}`, `{"digest_at":""}`, `{"digest_at":"7:00"}`, `{"QUIET_FROM":"x"}`, `{"quiet_to":null}`, `[]`, `null`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		after, problems := CheckAlertSettings(UsualAlerts(), raw, now)
		if problems != nil {
			if after != UsualAlerts() || !strings.HasSuffix(problems.Error(), ".") {
				t.Errorf("refused with %q and %+v", problems.Error(), after)
			}
			return
		}
		whole, err := json.Marshal(after)
		if err != nil {
			t.Fatal(err)
		}
		if again, problems := CheckAlertSettings(UsualAlerts(), whole, now); problems != nil || again != after {
			t.Errorf("%s gives %s, and that %+v (%v)", raw, whole, again, problems)
		}
	})
}
