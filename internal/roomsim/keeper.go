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
// finding dry, unless Plain.
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

// Oracle sees the true water of every bin, the weather and the household's
// evenings to come. It opens a bin only if it would otherwise feel dry before
// the next possible round is over, and means to bring the damp side's mean
// content to Target (0 is 0.36) by at most 5 mm of water at once. No Keeper can
// do much better; doses that miss and overlooked stops still cost it some.
type Oracle struct {
	Target float64
	room   *Room
}

func (k *Oracle) enter(r *Room) { k.room = r }

// enter shows the room to a Keeper that sees the truth.
func enter(k Keeper, r *Room) {
	if seer, sees := k.(interface{ enter(*Room) }); sees {
		seer.enter(r)
	}
}

// Plan implements Keeper.
func (k *Oracle) Plan(now time.Time, _ View) []Visit {
	target := k.Target
	if target == 0 {
		target = 0.36
	}
	var visits []Visit
	until := k.room.nextRound(k.room.day(now))
	for i, bin := range k.room.bins {
		if k.room.driesBefore(bin, until) {
			want := clamp((target-bin.damp.mean())*bin.damp.depth(), 0, 0.005) * bin.damp.area * 1e6
			least := CommonDose(k.room.told[i])("barely")
			visits = append(visits, Visit{bin.ID, func(string) float64 { return max(want, least) }})
		}
	}
	return visits
}

// driesBefore tells whether a bin would feel dry in some hour before the given
// one if nobody came.
func (r *Room) driesBefore(b *bin, until int) bool {
	ahead := *b
	if ahead.truth().Dry {
		return true
	}
	for h := r.now; h < until && h < len(r.weather); h++ {
		ahead.settle(r.weather[h], r.drafts[h/24])
		if ahead.truth().Dry {
			return true
		}
	}
	return false
}
