package trial

import (
	"encoding/json"
	"time"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// A Sitter is a phone in the hands of somebody who holds a pass.
type Sitter struct {
	*Trial
	Pass   string // its id
	Secret string
	Link   string
	Person string // as entries name the sitter
	Device string
	Epoch  string
}

// Trip makes a trip of the owner's from so many days ahead, for so many, on any
// of which the sitter can come; with no bins it is of all.
func (p *Phone) Trip(ahead, days int, bins ...string) (husbandry.Trip, husbandry.Sheet) {
	p.Helper()
	zone, err := p.Store.Zone()
	if err != nil {
		p.Fatal(err)
	}
	today := p.Clock.Now().In(zone)
	trip := husbandry.UsualTrip()
	trip.ID, trip.Name, trip.Sitter, trip.Call, trip.Bins = NewID(), "To the sea", "Kim", "Robin, 0000", bins
	for day := range days + 1 {
		date := today.AddDate(0, 0, ahead+day).Format(time.DateOnly)
		trip.Days = append(trip.Days, date)
		if day == 0 {
			trip.Leaves = date
		}
		trip.Returns = date
	}
	return trip, p.Sheet(store.Trips, trip)
}

// MustMakePass has the owner make a pass for a trip and returns the phone that
// opens its link. more may name bins and photos.
func (p *Phone) MustMakePass(trip, sitter string, more map[string]any) *Sitter {
	p.Helper()
	wish := map[string]any{"trip": trip, "sitter": sitter, "origin": "https://bins.example.org"}
	for name, value := range more {
		wish[name] = value
	}
	var made struct{ ID, Secret, Link, Person string }
	p.MustCall("POST", "/api/underlog/passes", p.Token, wish, 201, &made)
	return &Sitter{Trial: p.Trial, Pass: made.ID, Secret: made.Secret, Link: made.Link, Person: made.Person, Device: NewID()}
}

// Token is what the phone sends as its Authorization.
func (s *Sitter) Token() string { return "Pass " + s.Secret }

// Log makes an entry as the sitter's phone does, at the clock's time.
func (s *Sitter) Log(bin, what string, more func(*husbandry.Entry)) husbandry.Entry {
	entry := husbandry.Entry{ID: NewID(), Bin: bin, At: s.Clock.Now().UTC(), What: what}
	if more != nil {
		more(&entry)
	}
	return entry
}

// Feel is the damp side felt.
func (s *Sitter) Feel(bin, word string) husbandry.Entry {
	return s.Log(bin, husbandry.Feel, func(e *husbandry.Entry) { e.Feel = word })
}

// Says is a note: something is wrong.
func (s *Sitter) Says(bin, words string) husbandry.Entry {
	return s.Log(bin, husbandry.Note, func(e *husbandry.Entry) { e.Note = words })
}

// A SitterAnswer is what an exchange answered.
type SitterAnswer struct {
	Epoch    string            `json:"epoch"`
	Verdicts []store.Verdict   `json:"verdicts"`
	Entries  []json.RawMessage `json:"entries"`
}

// Request is an exchange's request as the phone would send it.
func (s *Sitter) Request(entries ...husbandry.Entry) map[string]any {
	if entries == nil {
		entries = []husbandry.Entry{}
	}
	return map[string]any{"protocol": 1, "device": s.Device, "epoch": s.Epoch, "entries": entries}
}

// MustExchange offers entries.
func (s *Sitter) MustExchange(entries ...husbandry.Entry) SitterAnswer {
	s.Helper()
	var answer SitterAnswer
	s.MustCall("POST", "/api/underlog/pass/exchange", s.Token(), s.Request(entries...), 200, &answer)
	s.Epoch = answer.Epoch
	return answer
}

// MustStore offers entries that must all be stored.
func (s *Sitter) MustStore(entries ...husbandry.Entry) SitterAnswer {
	s.Helper()
	answer := s.MustExchange(entries...)
	for _, verdict := range answer.Verdicts {
		if verdict.Verdict != store.Stored {
			s.Fatalf("an entry was not stored: %+v", verdict)
		}
	}
	if len(answer.Verdicts) != len(entries) {
		s.Fatalf("%d entries have %d verdicts", len(entries), len(answer.Verdicts))
	}
	return answer
}
