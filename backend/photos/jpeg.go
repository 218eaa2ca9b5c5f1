package photos

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/jpeg"
	"net/http"

	"underlog/internal/husbandry"
)

// Markers of JPEG (ITU-T T.81, table B.1).
const (
	startOfImage = 0xd8
	endOfImage   = 0xd9
	startOfScan  = 0xda
	firstApp     = 0xe0
	lastApp      = 0xef
	comment      = 0xfe
)

// look says what is wrong with a picture, in a sentence, or its measures in px.
func look(picture []byte) (width, height int, problem string) {
	if kind := http.DetectContentType(picture); kind != "image/jpeg" {
		return 0, 0, fmt.Sprintf("The photo is %s: give a JPEG picture.", kind)
	}
	config, err := jpeg.DecodeConfig(bytes.NewReader(picture))
	if err != nil {
		return 0, 0, "The photo begins like a JPEG picture and is none: choose it again."
	}
	if config.Width < 1 || config.Height < 1 {
		return 0, 0, "The photo has no height or no width: choose it again."
	}
	if edge := husbandry.Photos().LongEdgePx; max(config.Width, config.Height) > edge {
		return 0, 0, fmt.Sprintf("The photo is %d by %d pixels: give one of at most %d on its longer side.", config.Width, config.Height, edge)
	}
	if problem := tells(picture); problem != "" {
		return 0, 0, problem
	}
	// To the last pixel: what cannot be shown is not kept.
	if _, err := jpeg.Decode(bytes.NewReader(picture)); err != nil {
		return 0, 0, "The photo is broken in the middle: choose it again."
	}
	return config.Width, config.Height, ""
}

// tells says so where a picture carries more than the picture: where and with
// what it was taken, or anything behind its end. Phones take that out before
// they keep a photo; one that did not would tell everybody where the room is.
func tells(picture []byte) (problem string) {
	const broken = "The photo is broken: choose it again."
	at := 2 // after the start of the image
	for {
		if at+4 > len(picture) || picture[at] != 0xff {
			return broken
		}
		marker := picture[at+1]
		if marker == 0xff { // filling
			at++
			continue
		}
		if marker == endOfImage {
			break
		}
		end := at + 2 + int(binary.BigEndian.Uint16(picture[at+2:]))
		if end < at+4 || end > len(picture) { // a length counts its own two bytes
			return broken
		}
		content := picture[at+4 : end]
		if (marker >= firstApp && marker <= lastApp || marker == comment) && !harmless(marker, content) {
			return "The photo carries notes of the camera, which may say where it was taken: they are to be taken out first."
		}
		at = end
		if marker == startOfScan {
			at = endOfScan(picture, at)
		}
		if at+2 <= len(picture) && picture[at] == 0xff && picture[at+1] == endOfImage {
			break
		}
	}
	if at+2 != len(picture) {
		return "The photo carries something behind its end: choose it again."
	}
	return ""
}

// harmless are the notes that say how to show a picture and no more: JFIF,
// a colour profile, and the transform of colours.
func harmless(marker byte, content []byte) bool {
	switch marker {
	case firstApp:
		return bytes.HasPrefix(content, []byte("JFIF\x00"))
	case firstApp + 2:
		return bytes.HasPrefix(content, []byte("ICC_PROFILE\x00"))
	case firstApp + 14:
		return bytes.HasPrefix(content, []byte("Adobe"))
	}
	return false
}

// endOfScan returns where the next marker begins after the coded data at at.
func endOfScan(picture []byte, at int) int {
	for ; at+1 < len(picture); at++ {
		if picture[at] != 0xff {
			continue
		}
		next := picture[at+1]
		if next != 0 && next != 0xff && (next < 0xd0 || next > 0xd7) { // not stuffed, not filling, no restart
			return at
		}
	}
	return len(picture)
}
