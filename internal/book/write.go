package book

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"sort"
	"time"

	"underlog/internal/husbandry"
)

// typeOfSheet is sheetOfType the other way round.
var typeOfSheet = map[string]string{"rooms": "room", "bins": "bin", "kinds": "kind", "foods": "food", "trips": "trip",
	"batches": "batch", "mixes": "mix", "stock": "stock", "supplies": "supply"}

// Write writes a book: the header, the sheets in a fixed order, the entries
// by time. Kinds and foods that ship with the tool and were never edited are
// left out. The same book always gives the same bytes.
func Write(w io.Writer, b *Book) error {
	out := bufio.NewWriter(w)
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	header := map[string]any{"type": "book", "version": Version, "time_zone": b.TimeZone}
	if !b.At.IsZero() {
		header["at"] = b.At.Format(time.RFC3339)
	}
	if photos := countPhotos(b.Entries); photos > 0 {
		header["photos"] = fmt.Sprintf("%d entries name photos by the SHA-256 of their JPEG files, which are not in this book", photos)
	}
	if err := encoder.Encode(header); err != nil {
		return err
	}
	sheets := append([]husbandry.Sheet{}, b.Sheets...)
	order := map[string]int{"rooms": 0, "kinds": 1, "foods": 2, "bins": 3, "trips": 4, "batches": 5, "mixes": 6, "stock": 7, "supplies": 8}
	sort.SliceStable(sheets, func(i, j int) bool {
		if sheets[i].Sheet != sheets[j].Sheet {
			return order[sheets[i].Sheet] < order[sheets[j].Sheet]
		}
		return sheets[i].ID < sheets[j].ID
	})
	for _, sheet := range sheets {
		if untouchedSeed(sheet) {
			continue
		}
		line := sheet.Flat()
		line["type"], _ = json.Marshal(typeOfSheet[sheet.Sheet])
		if err := encoder.Encode(line); err != nil {
			return err
		}
	}
	entries := append([]husbandry.Entry{}, b.Entries...)
	sort.SliceStable(entries, func(i, j int) bool {
		if !entries[i].At.Equal(entries[j].At) {
			return entries[i].At.Before(entries[j].At)
		}
		return entries[i].ID < entries[j].ID
	})
	for _, entry := range entries {
		line := struct {
			Type string `json:"type"`
			husbandry.Entry
		}{"entry", entry}
		if err := encoder.Encode(line); err != nil {
			return err
		}
	}
	return out.Flush()
}

func countPhotos(entries []husbandry.Entry) int {
	count := 0
	for _, entry := range entries {
		if entry.What == husbandry.Photo {
			count++
		}
	}
	return count
}

func untouchedSeed(sheet husbandry.Sheet) bool {
	if sheet.Sheet != "kinds" && sheet.Sheet != "foods" {
		return false
	}
	if slug := sheet.Fields["slug"]; len(slug.Value) > 2 {
		if sheet.ID != husbandry.RecordID(sheet.Sheet, string(slug.Value[1:len(slug.Value)-1])) {
			return false // the keeper's own
		}
	}
	for _, field := range sheet.Fields {
		if !field.Stamp.Seeded() {
			return false
		}
	}
	return true
}
