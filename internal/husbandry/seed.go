package husbandry

import "encoding/json"

// NewSheet makes a whole sheet from a typed record: every JSON field of it
// under one stamp. The record's id becomes the sheet's.
func NewSheet(sort string, record any, stamp Stamp) (Sheet, error) {
	raw, err := json.Marshal(record)
	if err != nil {
		return Sheet{}, err
	}
	var flat map[string]json.RawMessage
	if err := json.Unmarshal(raw, &flat); err != nil {
		return Sheet{}, err
	}
	sheet := Sheet{Sheet: sort, Fields: make(map[string]Stamped, len(flat))}
	if err := json.Unmarshal(flat["id"], &sheet.ID); err != nil {
		return Sheet{}, err
	}
	delete(flat, "id")
	for name, value := range flat {
		sheet.Fields[name] = Stamped{Value: value, Stamp: stamp}
	}
	return sheet, nil
}

// Seeds returns the kinds and foods that every household starts with, under
// SeedStamp, so that server and phone hold the same without asking each other.
func Seeds() []Sheet {
	var seeds []Sheet
	for _, kind := range Kinds() {
		seeds = append(seeds, mustSheet("kinds", kind))
	}
	for _, food := range Foods() {
		seeds = append(seeds, mustSheet("foods", food))
	}
	return seeds
}

func mustSheet(sort string, record any) Sheet {
	sheet, err := NewSheet(sort, record, SeedStamp)
	if err != nil {
		panic(err) // a record of ours that cannot be marshalled is a mistake in this file
	}
	return sheet
}
