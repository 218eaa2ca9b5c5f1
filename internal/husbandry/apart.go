package husbandry

import (
	"bytes"
	"encoding/json"
)

// takeApart splits a JSON object into its fields, whose values are parts of
// raw. It reads the objects that devices write: names and texts without
// escapes, nothing nested. ok is false for any other text, whether it is JSON
// or not; those are for object, by which encoding/json goes over the whole
// text twice before a single field is looked at.
func takeApart(raw []byte) (given map[string]json.RawMessage, ok bool) {
	rest, ok := after('{', raw)
	given = make(map[string]json.RawMessage, 16)
	for ok {
		// In a name encoding/json mends what is no UTF-8: those with other letters are left to it.
		name := leadingText(rest)
		if len(name) == 0 || bytes.ContainsFunc(name, func(r rune) bool { return r >= 0x80 }) {
			return nil, false
		}
		if rest, ok = after(':', rest[len(name):]); !ok {
			return nil, false
		}
		value := leadingText(rest)
		if value == nil {
			value = rest[:max(0, bytes.IndexAny(rest, ",} \t\r\n"))]
			if !json.Valid(value) {
				return nil, false
			}
		}
		given[string(name[1:len(name)-1])] = json.RawMessage(value)
		rest = rest[len(value):]
		if end, isEnd := after('}', rest); isEnd {
			return given, len(end) == 0
		}
		rest, ok = after(',', rest)
	}
	return nil, false
}

// after returns what follows the sign that raw begins with, and the space
// around it.
func after(sign byte, raw []byte) (rest []byte, ok bool) {
	raw = bytes.TrimLeft(raw, " \t\r\n")
	if len(raw) == 0 || raw[0] != sign {
		return nil, false
	}
	return bytes.TrimLeft(raw[1:], " \t\r\n"), true
}

// leadingText returns the JSON string that raw begins with, with its quotes;
// nil where there is none without escapes.
func leadingText(raw []byte) []byte {
	if len(raw) == 0 || raw[0] != '"' {
		return nil
	}
	for i := 1; i < len(raw); i++ {
		switch c := raw[i]; {
		case c == '"':
			return raw[:i+1]
		case c == '\\' || c < ' ':
			return nil
		}
	}
	return nil
}
