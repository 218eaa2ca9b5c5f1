// Package zone makes a time zone from the changes of its clocks. The phone
// knows zones, but its build of the engine brings no list of them, which would
// be larger than the engine needs to be.
package zone

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"time"
)

// A Change is from when on clocks are how far ahead of UTC.
type Change struct {
	At       int64 `json:"at"`       // seconds since 1970, UTC
	Offset   int   `json:"offset"`   // seconds
	Daylight bool  `json:"daylight"` // saving time
}

const most = 200 // changes

// New makes the zone with a name. What was before the first change is as after
// it. It fails where changes are none, too many, or not in order.
func New(name string, changes []Change) (*time.Location, error) {
	if len(changes) < 1 || len(changes) > most {
		return nil, fmt.Errorf("the zone %s has %d changes: give 1 to %d", name, len(changes), most)
	}
	for i, c := range changes {
		if i > 0 && c.At <= changes[i-1].At {
			return nil, fmt.Errorf("the zone %s has a change that is not later than the one before", name)
		}
		if c.Offset < -26*3600 || c.Offset > 26*3600 {
			return nil, fmt.Errorf("the zone %s is %d seconds off: give at most 26 hours", name, c.Offset)
		}
	}
	return time.LoadLocationFromTZData(name, tzif(changes))
}

// tzif writes changes as RFC 8536 has them, version 2: an empty first block, a
// block of 64 bits, an empty footer.
func tzif(changes []Change) []byte {
	var names, types bytes.Buffer
	named := map[int]int{} // where the name of an offset begins
	add := func(offset int, daylight bool) {
		at, known := named[offset]
		if name := abbreviation(offset) + "\x00"; !known && names.Len()+len(name) <= 255 { // an index is a byte; names are for show
			at = names.Len()
			named[offset] = at
			names.WriteString(name)
		}
		_ = binary.Write(&types, binary.BigEndian, int32(offset)) // a buffer takes everything
		types.Write([]byte{truth(daylight), byte(at)})
	}
	add(changes[0].Offset, false) // of before the first change
	for _, c := range changes {
		add(c.Offset, c.Daylight)
	}
	var out bytes.Buffer
	header := func(times, types, chars int) {
		out.WriteString("TZif2")
		out.Write(make([]byte, 15))
		for _, n := range []int{0, 0, 0, times, types, chars} {
			_ = binary.Write(&out, binary.BigEndian, uint32(n))
		}
	}
	header(0, 0, 0)
	header(len(changes), len(changes)+1, names.Len())
	for _, c := range changes {
		_ = binary.Write(&out, binary.BigEndian, c.At)
	}
	for i := range changes {
		out.WriteByte(byte(i + 1))
	}
	out.Write(types.Bytes())
	out.Write(names.Bytes())
	out.WriteString("\n\n")
	return out.Bytes()
}

func truth(b bool) byte {
	if b {
		return 1
	}
	return 0
}

// abbreviation is the offset, as zones without letters of their own are called.
func abbreviation(seconds int) string {
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	if seconds/60%60 == 0 {
		return fmt.Sprintf("%c%02d", sign, seconds/3600)
	}
	return fmt.Sprintf("%c%02d%02d", sign, seconds/3600, seconds/60%60)
}
