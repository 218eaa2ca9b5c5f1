package husbandry

import (
	"crypto/sha256"
	"encoding/hex"
)

// IsRecordID reports whether id can be stored as it is: 15 to 32 lower-case
// letters and digits. Devices make UUIDv7 as 32 hex digits (RFC 9562).
func IsRecordID(id string) bool { return isMadeOf(idLetters, id, 15, 32) }

// RecordID returns id where it can be stored, and otherwise 32 hex digits
// made from it (SHA-256), the same every time: a book read twice adds
// nothing the second time.
func RecordID(sort, id string) string {
	if IsRecordID(id) {
		return id
	}
	sum := sha256.Sum256([]byte("underlog " + sort + " " + id))
	return hex.EncodeToString(sum[:16])
}
