package store

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/pocketbase/dbx"

	"underlog/internal/husbandry"
)

// A Page is what the feed holds after a number, as far as the page reaches.
type Page struct {
	Cursor  int64             `json:"cursor"` // the number to go on from
	More    bool              `json:"more"`
	Sheets  []husbandry.Sheet `json:"sheets"`  // whole, as they are now
	Entries []json.RawMessage `json:"entries"` // as they are stored
}

// Skip names what a page leaves out, since who asks has it.
type Skip struct {
	First, Last int64 // numbers of the feed that one transaction gave; none where Last < First
	Entries     map[string]bool
}

type feedItem struct {
	Seq    int64  `db:"seq"`
	Sort   string `db:"sort"`
	Record string `db:"record"`
	Raw    []byte `db:"raw"`
}

// Since returns the page of at most most changes after the number cursor.
func (s *Store) Since(cursor int64, most int, skip Skip) (Page, error) {
	var items []feedItem
	err := s.App.ConcurrentDB().NewQuery(`SELECT feed.seq, feed.sort, feed.record, logs.raw FROM feed
		LEFT JOIN logs ON feed.sort = 'logs' AND logs.id = feed.record
		WHERE feed.seq > {:cursor} AND feed.seq NOT BETWEEN {:first} AND {:last} ORDER BY feed.seq LIMIT {:most}`).
		Bind(dbx.Params{"cursor": cursor, "first": skip.First, "last": skip.Last, "most": most}).All(&items)
	if err != nil {
		return Page{}, fmt.Errorf("store: the feed after %d: %w", cursor, err)
	}
	page := Page{Cursor: cursor, More: len(items) == most, Sheets: []husbandry.Sheet{}, Entries: []json.RawMessage{}}
	seen := map[string]bool{}
	for _, item := range items {
		page.Cursor = item.Seq
		switch {
		case item.Sort == Logs:
			if item.Raw != nil && !skip.Entries[item.Record] {
				page.Entries = append(page.Entries, item.Raw)
			}
		case !seen[item.Sort+item.Record]:
			seen[item.Sort+item.Record] = true
			sheet, err := s.sheet(s.App, item.Sort, item.Record)
			if err != nil {
				return Page{}, err
			}
			if sheet.ID != "" {
				page.Sheets = append(page.Sheets, sheet)
			}
		}
	}
	if !page.More && skip.Last >= skip.First {
		page.Cursor = max(page.Cursor, skip.Last)
	}
	return page, nil
}

// At returns the record that has a number of the feed, empty where none has.
func (s *Store) At(cursor int64) (string, error) {
	return value[string](s.App.ConcurrentDB(), "SELECT record FROM feed WHERE seq = {:seq}", dbx.Params{"seq": cursor})
}

// Have returns those of some ids under which an entry is stored.
func (s *Store) Have(ids []string) ([]string, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	list, err := json.Marshal(ids)
	if err != nil {
		return nil, err
	}
	// One row with all of them: to be handed thousands of rows takes as long as finding them.
	const query = "SELECT json_group_array(value) FROM json_each({:ids}) WHERE EXISTS (SELECT 1 FROM logs WHERE id = value)"
	found, err := value[string](s.App.ConcurrentDB(), query, dbx.Params{"ids": string(list)})
	if err != nil {
		return nil, fmt.Errorf("store: which of %d entries are here: %w", len(ids), err)
	}
	var have []string
	if err := json.Unmarshal([]byte(found), &have); err != nil {
		return nil, fmt.Errorf("store: which of %d entries are here: %w", len(ids), err)
	}
	return have, nil
}

// Last returns the last number of the feed, 0 before the first.
func (s *Store) Last() (int64, error) {
	return value[int64](s.App.ConcurrentDB(), "SELECT COALESCE(MAX(seq), 0) FROM feed", nil)
}

// Sheets returns every sheet.
func (s *Store) Sheets() ([]husbandry.Sheet, error) {
	var sheets []husbandry.Sheet
	for _, sort := range husbandry.SheetSorts() {
		var rows []struct {
			ID      string `db:"id"`
			Stamped []byte `db:"stamped"`
		}
		if err := s.App.ConcurrentDB().Select("id", stampedColumn).From(sort).OrderBy("id").All(&rows); err != nil {
			return nil, err
		}
		for _, row := range rows {
			sheet, err := unpack(sort, row.ID, row.Stamped)
			if err != nil {
				return nil, err
			}
			sheets = append(sheets, sheet)
		}
	}
	return sheets, nil
}

// Entries returns the entries from an instant on, by time, and every strike
// of whatever time, since a strike may come long after what it strikes.
func (s *Store) Entries(from time.Time) ([]husbandry.Entry, error) {
	var raws [][]byte
	err := s.App.ConcurrentDB().NewQuery("SELECT raw FROM logs WHERE at >= {:from} OR what = 'strike' ORDER BY at, id").
		Bind(dbx.Params{"from": dateTime(from)}).Column(&raws)
	if err != nil {
		return nil, err
	}
	entries := make([]husbandry.Entry, len(raws))
	for i, raw := range raws {
		if err := json.Unmarshal(raw, &entries[i]); err != nil {
			return nil, fmt.Errorf("store: a stored entry: %w", err)
		}
	}
	return entries, nil
}
