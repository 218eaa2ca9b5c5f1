package roomsim

import "time"

// Oracle sees the true water of every bin, the weather and the household's
// evenings to come. It opens a bin only if it would otherwise feel dry before
// the next possible round is over. Its dose is meant to bring the damp side's
// mean content to Target (0 is 0.36), is at most 5 mm of water, and is cut until
// even half as much again would swamp nothing within ten days. No Keeper can do
// much better; doses that miss and overlooked stops still cost it some.
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
	var visits []Visit
	until := k.room.nextRound(k.room.day(now))
	for _, b := range k.room.bins {
		if k.room.comesTo(b, until, func(t Truth) bool { return t.Dry }) {
			dose := k.dose(b)
			visits = append(visits, Visit{b.ID, func(string) float64 { return dose }})
		}
	}
	return visits
}

func (k *Oracle) dose(b *bin) float64 {
	target := k.Target
	if target == 0 {
		target = 0.36
	}
	dose := clamp((target-b.damp.mean())*b.damp.depth(), 0.0005, 0.005) * b.damp.area * 1e6
	for ; dose > 1; dose *= 0.85 {
		ahead := *b
		ahead.water(dose * 1.5)
		if !k.room.comesTo(&ahead, k.room.now+10*24, func(t Truth) bool { return t.Swamped }) {
			break
		}
	}
	return dose
}

// comesTo tells whether a bin would be so in some hour before the given one if
// nobody came.
func (r *Room) comesTo(b *bin, until int, so func(Truth) bool) bool {
	ahead := *b
	if so(ahead.truth()) {
		return true
	}
	for h := r.now; h < min(until, len(r.weather)); h++ {
		ahead.settle(r.weather[h], r.drafts[h/24])
		if so(ahead.truth()) {
			return true
		}
	}
	return false
}
