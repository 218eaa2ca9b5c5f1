package roomsim

import "time"

// A Keeper decides on each evening on which a round is possible which bins to
// open. It sees the View and nothing else.
type Keeper interface {
	Plan(now time.Time, room View) []Visit
}

// A Visit is one bin to open on this round. The damp side is felt; Water is
// then asked how many mL to give for the word found. A nil Water gives none.
// A Visit to a bin that does not exist, or a second one to the same bin on the
// same round, is ignored.
type Visit struct {
	Bin   string
	Water func(feel string) float64
}

// A LookPlanner is a Keeper that also says when to look at leftovers; others
// look after 24 h. NextLook is asked after a feeding and after each look that
// leaves clean food lying. The household comes at the first moment from that
// time on when somebody is up and at home, some minutes late.
type LookPlanner interface {
	NextLook(feeding Entry, looks []Entry, room View) time.Time
}

// A Feeder is a Keeper that also says what goes into which bin, on every evening
// on which a round is possible; into other Keepers' bins food goes by itself. A
// bin in which a meal still lies gets no other: that is counted, and nothing
// comes of it. A Feeder finds that some lines eat protein faster than others, and
// that calcium sources do not last for ever.
type Feeder interface {
	Feed(now time.Time, room View) []Serving
}

// A Serving is one food for one bin.
type Serving struct {
	Bin, Food string
	Pieces    int
}

// Spoon is a US tablespoon, mL.
const Spoon = 14.79

// CommonDose is the common-practice rule (no source): nothing unless the damp
// side feels dry or barely damp; then 3 or 2 tablespoons for the 340 cm2 of
// damp side of a 6-quart bin, and in proportion for others.
func CommonDose(bin Bin) func(feel string) float64 {
	return func(feel string) float64 {
		size := bin.DampAreaM2() / 0.034
		switch feel {
		case "dry":
			return 3 * Spoon * size
		case "barely":
			return 2 * Spoon * size
		}
		return 0
	}
}

// habit is CommonDose for a bin that was last found well, and half a dose more
// for each look in a row that found it dry before, up to two and a half: nobody
// goes on giving too little for months.
func habit(bin Bin, entries []Entry) func(feel string) float64 {
	more := 0.0
	for i := len(entries) - 1; i >= 0 && more < 1.5; i-- {
		if entries[i].Bin == bin.ID && entries[i].What == "feel" {
			if entries[i].Feel != "dry" {
				break
			}
			more += 0.5
		}
	}
	dose := CommonDose(bin)
	return func(feel string) float64 {
		if feel == "dry" {
			return (1 + more) * dose(feel)
		}
		return dose(feel)
	}
}

// A Routine opens every bin on each of its weekdays, or on the next evening
// when a round is possible. It waters by CommonDose, and more where it keeps
// finding dry, unless Plain. Take a new Routine for each season.
type Routine struct {
	Days  []time.Weekday
	Plain bool // CommonDose to the letter
	last  time.Time
}

// TwiceAWeek is the Routine of Wednesdays and Sundays.
func TwiceAWeek() *Routine { return &Routine{Days: []time.Weekday{time.Wednesday, time.Sunday}} }

// Weekly is the Routine of Sundays.
func Weekly() *Routine { return &Routine{Days: []time.Weekday{time.Sunday}} }

// Plan implements Keeper.
func (k *Routine) Plan(now time.Time, room View) []Visit {
	if !k.owed(now) {
		return nil
	}
	k.last = now
	visits := make([]Visit, len(room.Bins))
	for i, bin := range room.Bins {
		visits[i] = Visit{bin.ID, CommonDose(bin)}
		if !k.Plain {
			visits[i].Water = habit(bin, room.Entries)
		}
	}
	return visits
}

// owed tells whether one of the routine's days has come since the last round.
func (k *Routine) owed(now time.Time) bool {
	for back := range 7 {
		day := now.AddDate(0, 0, -back)
		for _, w := range k.Days {
			if day.Weekday() == w {
				return k.last.IsZero() || dayNumber(k.last) < dayNumber(day)
			}
		}
	}
	return false
}

func dayNumber(t time.Time) int {
	_, offset := t.Zone()
	return int((t.Unix() + int64(offset)) / 86400)
}

// Looks adds a time for each look at leftovers to a Keeper.
type Looks struct {
	Keeper
	Next func(feeding Entry, looks []Entry, room View) time.Time
}

// NextLook implements LookPlanner.
func (l Looks) NextLook(feeding Entry, looks []Entry, room View) time.Time {
	return l.Next(feeding, looks, room)
}

func (l Looks) enter(r *Room) { enter(l.Keeper, r) }

// LookAfter returns the rule of common practice (no source) with after = 24 h:
// look that long after the feeding, and again that long after each look that
// leaves food lying.
func LookAfter(after time.Duration) func(feeding Entry, looks []Entry, room View) time.Time {
	return func(feeding Entry, looks []Entry, _ View) time.Time {
		if len(looks) > 0 {
			return looks[len(looks)-1].At.Add(after)
		}
		return feeding.At.Add(after)
	}
}
