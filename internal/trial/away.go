package trial

import (
	"math/rand/v2"
	"time"

	"underlog/internal/engine"
	"underlog/internal/husbandry"
	"underlog/internal/roomsim"
)

// An Absence is one trip of a simulated household: the evening before leaving
// is the first day that the keeper is asked.
type Absence struct {
	Config roomsim.Config
	Days   int   // from the day of leaving to that of coming back, 3 to 21
	Comes  []int // days, from 0 for the day of leaving, on which the sitter can come
}

// Hours of the sitter and of coming home: a round of the simulated household
// begins between 18:30 and 21:30.
const (
	sitterFrom = 18
	sitterTo   = 22
	homeAgain  = 20
)

// NewAbsence makes of a season a trip of some length, with a sitter who can
// come on some three days of five, as the season's seed has it.
func NewAbsence(config roomsim.Config) Absence {
	chance := rand.New(rand.NewPCG(config.Seed, 'a'))
	a := Absence{Days: 3 + chance.IntN(19)}
	for day := range a.Days {
		if chance.Float64() < 0.6 {
			a.Comes = append(a.Comes, day)
		}
	}
	config.Bins, config.HistoryDays, config.BlankBook = 40, 21, false
	config.Days, config.AlwaysHome, config.KeepTruth = a.Days+2, true, true
	a.Config = config
	return a
}

// day is the midnight of one of the trip's days.
func (a Absence) day(n int) time.Time { return a.Config.Start.AddDate(0, 0, n+1) }

func (a Absence) home() time.Time { return a.day(a.Days).Add(homeAgain * time.Hour) }

func (a Absence) comes(day int) bool {
	for _, d := range a.Comes {
		if d == day {
			return true
		}
	}
	return false
}

// Trip is the trip as the household writes it down.
func (a Absence) Trip() husbandry.Trip {
	trip := husbandry.Trip{ID: "trip", Name: "Away", FromHour: sitterFrom, ToHour: sitterTo,
		Leaves: a.day(0).Format(time.DateOnly), Returns: a.day(a.Days).Format(time.DateOnly)}
	for _, day := range a.Comes {
		trip.Days = append(trip.Days, a.day(day).Format(time.DateOnly))
	}
	return trip
}

// A Minding is who sees to the bins of an absence, and how. Take a new one for
// each.
type Minding struct {
	absence Absence
	SetUp   bool // the owner gets the bins ready by the trip's list, not by habit
	Every   int  // the sitter opens every bin each so many days; 0: does what the plan says
	Nobody  bool // no sitter comes
	Alone   bool // and nobody gets the bins ready

	tool    Tool
	visited int
	Told    []engine.AwayBin // as told on the evening before leaving, after the set-up

	SetUpLids, Lids, Visits int
}

// NewMinding returns a Minding of an absence.
func NewMinding(a Absence) *Minding { return &Minding{absence: a, visited: -1} }

// Plan implements roomsim.Keeper.
func (m *Minding) Plan(now time.Time, view roomsim.View) []roomsim.Visit {
	day := int(now.Sub(m.absence.day(0)).Hours() / 24)
	switch {
	case now.Before(m.absence.day(0)):
		return m.getReady(now, view)
	case m.Nobody || day >= m.absence.Days || !m.absence.comes(day):
		return nil
	}
	visits := m.visit(now, day, view)
	if len(visits) > 0 {
		m.visited = day
		m.Visits++
		m.Lids += len(visits)
	}
	return visits
}

func (m *Minding) getReady(now time.Time, view roomsim.View) []roomsim.Visit {
	var visits []roomsim.Visit
	if m.SetUp || m.Alone {
		m.tool.read(view)
		told := m.ask(now)
		for _, bin := range told.Bins {
			if m.SetUp && bin.SetUp != nil && bin.SetUp.DoseIfML != nil {
				visits = append(visits, roomsim.Visit{Bin: bin.Bin, Water: doseFor(bin.SetUp.DoseIfML)})
			}
		}
		m.Told = told.Bins
	} else {
		for _, bin := range view.Bins {
			visits = append(visits, roomsim.Visit{Bin: bin.ID, Water: roomsim.CommonDose(bin)})
		}
	}
	m.SetUpLids = len(visits)
	return visits
}

func (m *Minding) visit(now time.Time, day int, view roomsim.View) []roomsim.Visit {
	var visits []roomsim.Visit
	if m.Every > 0 {
		if day-m.visited < m.Every {
			return nil
		}
		for _, bin := range view.Bins {
			visits = append(visits, roomsim.Visit{Bin: bin.ID, Water: roomsim.CommonDose(bin)})
		}
		return visits
	}
	m.tool.read(view)
	for _, visit := range m.ask(now).Visits {
		if visit.Day != day {
			continue
		}
		for _, stop := range visit.Stops {
			visits = append(visits, roomsim.Visit{Bin: stop.Bin, Water: doseFor(stop.DoseIfML)})
		}
	}
	return visits
}

func (m *Minding) ask(now time.Time) engine.Away {
	told, err := m.tool.engine.Trip(m.absence.Trip(), now)
	if err != nil {
		panic("trial: " + err.Error())
	}
	return told
}

func doseFor(doses map[string]float64) func(string) float64 {
	return func(feel string) float64 { return doses[feel] }
}

// A Fate is what an absence came to.
type Fate struct {
	roomsim.Score     // from leaving to coming back, of all bins together
	Bins, Harmed  int // Harmed were at risk in some hour
	Visits, Lids  int
	SetUpLids     int
	ByBin         []bool // harmed, in walking order
}

// Live lives through an absence.
func (a Absence) Live(m *Minding) Fate {
	room, err := roomsim.NewRoom(a.Config)
	if err != nil {
		panic("trial: " + err.Error())
	}
	room.Run(m)
	return a.fateOf(room, m)
}

// fateOf is what became of the bins of a room that has had its season.
func (a Absence) fateOf(room *roomsim.Room, m *Minding) Fate {
	fate := Fate{Bins: a.Config.Bins, Visits: m.Visits, Lids: m.Lids, SetUpLids: m.SetUpLids}
	for _, bin := range room.View(a.home()).Bins {
		borne := room.Borne(bin.ID, a.day(0), a.home())
		fate.Score.Add(borne)
		harmed := borne.RiskHours > 0
		fate.ByBin = append(fate.ByBin, harmed)
		if harmed {
			fate.Harmed++
		}
	}
	return fate
}

// Add sums fates up; ByBin is of one absence alone.
func (f *Fate) Add(o Fate) {
	f.Score.Add(o.Score)
	f.Bins += o.Bins
	f.Harmed += o.Harmed
	f.Visits += o.Visits
	f.Lids += o.Lids
	f.SetUpLids += o.SetUpLids
}
