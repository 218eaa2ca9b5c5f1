package husbandry

// PhotoBounds are the measures of photos. A device makes a photo fit before
// it keeps it; the server takes none that does not.
type PhotoBounds struct {
	MostOriginalBytes int   `json:"most_original_bytes"` // of the file that somebody chooses; a larger one may not fit a phone's memory
	LongEdgePx        int   `json:"long_edge_px"`        // of a kept photo
	MostBytes         int   `json:"most_bytes"`          // of a kept photo
	SmallEdgePx       int   `json:"small_edge_px"`       // long edge of the small one that lists show
	ChunkBytes        int   `json:"chunk_bytes"`         // of a photo, in one request
	QuotaBytes        int64 `json:"quota_bytes"`         // of a household's photos on the server
	CacheBytes        int   `json:"cache_bytes"`         // of photos that a device holds beyond those it has yet to send
}

// Photos returns the bounds. They are judgement: 1600 pixels show a 2 mm
// animal in a 340 mm bin some ten pixels long, and 600 kB of them go over a
// thin line in a minute; 2 GiB hold 3,500 of the largest, one a day for nine
// years.
func Photos() PhotoBounds {
	return PhotoBounds{
		MostOriginalBytes: 40 << 20,
		LongEdgePx:        1600,
		MostBytes:         600_000,
		SmallEdgePx:       320,
		ChunkBytes:        64 << 10,
		QuotaBytes:        2 << 30,
		CacheBytes:        100 << 20,
	}
}

// IsDigest reports whether name is the SHA-256 of a file in the form in which
// photos are named: 64 lower-case hex digits.
func IsDigest(name string) bool { return isMadeOf(digestLetters, name, 64, 64) }
