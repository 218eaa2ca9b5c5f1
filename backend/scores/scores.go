// Package scores keeps the household's forecasts honest: it freezes the
// windows of feels and leftovers as they are called, has the looks that follow
// settle them, and answers how well the calls have done.
//
// A window is frozen twice at most: when its forecast is first made, for looks
// that come before it opens, and when it is open. A look is scored by the
// latest that was frozen before the look was made, whenever its entry arrives.
// What is frozen is never changed. Results are derived: they follow from the
// windows and the entries, so that a late entry or a strike moves them as if
// it had been known all along.
package scores

import (
	"log/slog"
	"sync"
	"time"

	"underlog/backend/store"
	"underlog/internal/engine"
	"underlog/internal/honesty"
	"underlog/internal/husbandry"
)

const (
	settling = 60 * 24 * time.Hour  // windows wait so long for late entries and strikes (judgement)
	history  = 200 * 24 * time.Hour // forecasts are made from entries no older
)

// Scores freezes and settles the windows of one household.
type Scores struct {
	store *store.Store
	log   *slog.Logger

	mu      sync.Mutex
	touched map[string]bool // bins with new entries
	struck  []string        // entries
	tidied  time.Time       // zero: nothing has been looked through since the start or a wipe
}

// New makes the scores of a store and begins to follow its changes.
func New(s *store.Store, log *slog.Logger) *Scores {
	scores := &Scores{store: s, log: log, touched: map[string]bool{}}
	s.OnChange(scores.note)
	return scores
}

func (s *Scores) note(change store.Change) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if change.Wiped {
		s.tidied = time.Time{}
	}
	for _, e := range change.Entries {
		if e.What == husbandry.Strike {
			s.struck = append(s.struck, e.Struck)
		} else if e.Bin != "" {
			s.touched[e.Bin] = true
		}
	}
}

// Take settles what has come in since the last survey and freezes what this
// one calls. It is a listener of the forecasts.
func (s *Scores) Take(survey engine.Survey, entries func(bin string) []husbandry.Entry) {
	if err := s.take(survey, entries); err != nil {
		s.log.Error("the forecasts could not be scored", "error", err)
	}
}

func (s *Scores) take(survey engine.Survey, entries func(bin string) []husbandry.Entry) error {
	if err := s.settle(survey); err != nil {
		return err
	}
	var windows []honesty.Window
	known := map[string][]husbandry.Entry{}
	for _, chore := range survey.Chores {
		if !honesty.Scored(chore.Chore) {
			continue
		}
		if _, asked := known[chore.Bin]; !asked {
			known[chore.Bin] = entries(chore.Bin)
		}
		if w, ok := honesty.Freeze(chore, known[chore.Bin], survey.At); ok {
			windows = append(windows, w)
		}
	}
	_, err := s.store.Freeze(windows)
	return err
}

// settle brings the results of the touched bins up to date; after a start,
// those of every bin, since nobody knows what the last run left undone.
func (s *Scores) settle(survey engine.Survey) error {
	s.mu.Lock()
	touched, struck := s.touched, s.struck
	s.touched, s.struck = map[string]bool{}, nil
	isFirst, isOld := s.tidied.IsZero(), survey.At.Sub(s.tidied) >= 24*time.Hour
	s.mu.Unlock()
	if err := s.settleBins(survey, touched, struck, isFirst, isOld); err != nil {
		s.mu.Lock()
		s.tidied = time.Time{} // the next survey looks through everything
		s.mu.Unlock()
		return err
	}
	return nil
}

func (s *Scores) settleBins(survey engine.Survey, touched map[string]bool, struck []string, isFirst, isOld bool) error {
	from := survey.At.Add(-settling)
	if isFirst {
		for _, glance := range survey.Glances {
			touched[glance.Bin] = true
		}
	}
	if isFirst || len(struck) > 0 {
		if err := s.store.UnsettleStruck(); err != nil {
			return err
		}
	}
	for _, entry := range struck {
		bin, err := s.store.BinOf(entry)
		if err != nil {
			return err
		}
		touched[bin] = true
	}
	for bin := range touched {
		if err := s.settleBin(bin, from); err != nil {
			return err
		}
	}
	if !isFirst && !isOld {
		return nil
	}
	if err := s.store.TidyWindows(from); err != nil {
		return err
	}
	s.mu.Lock()
	s.tidied = survey.At
	s.mu.Unlock()
	return nil
}

func (s *Scores) settleBin(bin string, from time.Time) error {
	frozen, err := s.store.WindowsOf(bin, from)
	if err != nil || len(frozen) == 0 {
		return err
	}
	entries, err := s.store.EntriesOf(bin, from.Add(-history))
	if err != nil {
		return err
	}
	windows := make([]honesty.Window, len(frozen))
	for i := range frozen {
		windows[i] = frozen[i].Window
	}
	results := honesty.SettleAll(windows, entries)
	for i, was := range frozen {
		result, settled := results[i]
		switch {
		case settled && (was.Result == nil || was.Result.Entry != result.Entry):
			err = s.store.SetResult(was.ID, &result)
		case !settled && was.Result != nil:
			err = s.store.SetResult(was.ID, nil)
		}
		if err != nil {
			return err
		}
	}
	return nil
}
