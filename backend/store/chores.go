package store

import (
	"fmt"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

// choreRow is a chore as its collection holds it.
type choreRow struct {
	ID       string         `db:"id"`
	Bin      string         `db:"bin"`
	Chore    string         `db:"chore"`
	Of       string         `db:"of"`
	Food     string         `db:"food"`
	Opens    types.DateTime `db:"opens"`
	Due      types.DateTime `db:"due"`
	Closes   types.DateTime `db:"closes"`
	DoseML   float64        `db:"dose_ml"`
	Handfuls float64        `db:"handfuls"`
	Odds     float64        `db:"odds"`
	Reason   string         `db:"reason"`
}

// choreID is the same for the same chore whenever it is computed.
func choreID(c husbandry.Chore) string {
	return husbandry.RecordID(Chores, c.Chore+" "+c.Bin+" "+c.Of)
}

// Chores returns the chores as they were last written, by what is due first.
func (s *Store) Chores() ([]husbandry.Chore, error) { return s.chores(nil) }

// ChoresDue returns those that are due by an instant.
func (s *Store) ChoresDue(by time.Time) ([]husbandry.Chore, error) {
	return s.chores(dbx.NewExp("due <= {:by}", dbx.Params{"by": dateTime(by)}))
}

func (s *Store) chores(where dbx.Expression) ([]husbandry.Chore, error) {
	var rows []choreRow
	if err := s.App.ConcurrentDB().Select().From(Chores).Where(where).OrderBy("due", "bin", "chore", "id").All(&rows); err != nil {
		return nil, fmt.Errorf("store: the chores: %w", err)
	}
	chores := make([]husbandry.Chore, len(rows))
	for i, row := range rows {
		chores[i] = husbandry.Chore{
			Bin: row.Bin, Chore: row.Chore, Of: row.Of, Food: row.Food,
			Opens: row.Opens.Time(), Due: row.Due.Time(), Closes: row.Closes.Time(),
			DoseML: row.DoseML, Handfuls: row.Handfuls, Odds: row.Odds, Reason: row.Reason,
		}
	}
	return chores, nil
}

// WriteChores makes the collection hold exactly chores, touching only the
// rows that differ, and returns how many did.
func (s *Store) WriteChores(chores []husbandry.Chore) (int, error) {
	stored, err := s.Chores()
	if err != nil {
		return 0, err
	}
	old := make(map[string]dbx.Params, len(stored))
	for _, chore := range stored {
		old[choreID(chore)] = choreColumns(chore)
	}
	var changed []dbx.Params
	for _, chore := range chores {
		columns := choreColumns(chore)
		id := columns["id"].(string)
		if before, have := old[id]; !have || fmt.Sprint(before) != fmt.Sprint(columns) {
			changed = append(changed, columns)
		}
		delete(old, id)
	}
	if len(changed)+len(old) == 0 {
		return 0, nil
	}
	return len(changed) + len(old), s.App.RunInTransaction(func(tx core.App) error {
		db := tx.NonconcurrentDB()
		for id := range old {
			if _, err := db.Delete(Chores, dbx.HashExp{"id": id}).Execute(); err != nil {
				return err
			}
		}
		for _, columns := range changed {
			if _, err := db.Delete(Chores, dbx.HashExp{"id": columns["id"]}).Execute(); err != nil {
				return err
			}
			if _, err := db.Insert(Chores, columns).Execute(); err != nil {
				return err
			}
		}
		return nil
	})
}

func choreColumns(c husbandry.Chore) dbx.Params {
	return dbx.Params{
		"id": choreID(c), "bin": c.Bin, "chore": c.Chore, "of": c.Of, "food": c.Food,
		"opens": dateTime(c.Opens), "due": dateTime(c.Due), "closes": dateTime(c.Closes),
		"dose_ml": c.DoseML, "handfuls": c.Handfuls, "odds": c.Odds, "reason": c.Reason,
	}
}

// Zone returns the household's time zone, UTC where it has none that is known.
func (s *Store) Zone() (*time.Location, error) {
	room, err := s.Room()
	if err != nil {
		return time.UTC, err
	}
	zone, err := time.LoadLocation(room.TimeZone)
	if err != nil {
		return time.UTC, nil
	}
	return zone, nil
}
