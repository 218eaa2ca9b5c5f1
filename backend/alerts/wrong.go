package alerts

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// What a sitter says to be wrong reaches the owner at once: when it comes in,
// not with the next tick, and through quiet hours, snoozes and the share of the
// week. The sitter stands at the bin now, and may be told now what to do; and
// the quiet hours are of the room's zone, while the owner may be in any. A
// device that is not to ring for it has a switch of its own.

// Judgement.
const (
	reportNews   = 7 * 24 * time.Hour // an older one that comes in late is for the notebook
	reportTried  = 24 * time.Hour     // that long it is tried to reach a phone
	reportBefore = 24 * time.Hour     // a report from so long before a phone took alerts is still news to it
)

// hear has what a sitter finds wrong told at once.
func (a *Alerts) hear(change store.Change) {
	if a.context.Err() != nil || !slices.ContainsFunc(change.Entries, func(e husbandry.Entry) bool { return e.What == husbandry.Note }) {
		return
	}
	a.rousing.Go(func() {
		sitters, err := a.store.Sitters()
		if err != nil {
			a.log.Error("alerts: the sitters cannot be read", "error", err)
			return
		}
		for _, entry := range change.Entries {
			if entry.What == husbandry.Note && slices.ContainsFunc(sitters, func(one store.Person) bool { return one.ID == entry.By }) {
				a.tickAndLog()
				return
			}
		}
	})
}

// reports returns what sitters found wrong lately.
func (a *Alerts) reports(now time.Time) ([]matter, error) {
	notes, err := a.store.SittersNotes(now.Add(-reportNews))
	if err != nil {
		return nil, err
	}
	reports := make([]matter, len(notes))
	for i, note := range notes {
		reports[i] = matter{sort: husbandry.AlertWrong, instance: husbandry.AlertWrong + " " + note.ID, bin: note.Bin, of: note.ID, at: note.At}
	}
	return reports, nil
}

// planReport decides whether a report is told to a phone. It is told as soon as
// it is known, however late it came in.
func planReport(p phone, m matter, now time.Time) (store.Delivery, bool) {
	if !p.owner || p.level(m.sort) != husbandry.AlertOn || m.at.Before(p.SubscribedAt.Time().Add(-reportBefore)) {
		return store.Delivery{}, false
	}
	return store.Delivery{
		Chore: m.instance, Instance: m.instance, Sort: m.sort, Device: p.ID, Bin: m.bin, Of: m.of,
		Due: store.Date(now), Until: store.Date(now.Add(reportTried)), NextAt: store.Date(now),
	}, true
}

// wordWrong words what sitters found wrong, each in their own words.
func (a *Alerts) wordWrong(deliveries []store.Delivery) (title string, lines []line, err error) {
	sitters, err := a.store.Sitters()
	if err != nil {
		return "", nil, err
	}
	title = "Something is wrong"
	for i, d := range deliveries {
		entry, err := a.store.Entry(d.Of)
		if err != nil {
			return "", nil, err
		}
		if by := slices.IndexFunc(sitters, func(one store.Person) bool { return one.ID == entry.By }); i == 0 && by >= 0 {
			title = "Something is wrong, says " + short(sitters[by].Name, 40)
		}
		place := "The room"
		if entry.Bin != "" {
			bin, err := a.store.Bin(entry.Bin)
			if err != nil && !errors.Is(err, store.ErrUnknown) {
				return "", nil, err
			}
			place = strings.TrimSpace(bin.Place() + " " + bin.Name)
		}
		lines = append(lines, line{place, strings.Join(strings.Fields(entry.Note), " ")})
	}
	if len(deliveries) > 1 {
		title += fmt.Sprintf(" (%d)", len(deliveries))
	}
	return title, lines, nil
}

// leadsToReports says where a tap on reports leads: to the entries.
func leadsToReports(deliveries []store.Delivery) string {
	return "/#/alert?wrong=" + strings.Join(ids(deliveries, func(d store.Delivery) string { return d.Of }), ",")
}
