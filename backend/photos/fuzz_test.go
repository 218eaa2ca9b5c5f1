package photos

import (
	"bytes"
	"image"
	"image/jpeg"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"underlog/internal/husbandry"
)

// A picture that is taken can be shown, is within its bounds and carries
// nothing else; nothing makes the look at it fail.
func FuzzLook(f *testing.F) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		f.Fatal(err)
	}
	sound := out.Bytes()
	f.Add(sound)
	f.Add(sound[:len(sound)-2])
	f.Add(append(bytes.Clone(sound), "more"...))
	f.Add(append([]byte("\xff\xd8\xff\xe1\x00\x08Exif\x00\x00"), sound[2:]...))
	f.Add(append([]byte("\xff\xd8\xff\xff\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"), sound[2:]...))
	f.Add([]byte("\xff\xd8\xff\xe0\x00\x00"))
	f.Add([]byte("\xff\xd8\xff\xd9"))
	head, rest, _ := bytes.Cut(sound, []byte("\xff\xda"))
	jfif := []byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00")
	f.Add(slices.Concat(jfif, head[2:], []byte("\xff\xfe\x00\x00\xff\xda"), rest)) // a note of no length
	f.Fuzz(func(t *testing.T, picture []byte) {
		width, height, problem := look(picture)
		if problem != "" {
			if !strings.HasSuffix(problem, ".") || width != 0 || height != 0 {
				t.Errorf("refused with %q, %d by %d", problem, width, height)
			}
			return
		}
		if edge := husbandry.Photos().LongEdgePx; width < 1 || height < 1 || max(width, height) > edge {
			t.Errorf("taken with %d by %d", width, height)
		}
		for _, mark := range []string{"Exif\x00", "http://ns.adobe.com/xap/"} {
			if at := bytes.Index(picture, []byte(mark)); at >= 4 && picture[at-4] == 0xff && picture[at-3] == 0xe1 {
				if before, _, _ := bytes.Cut(picture, []byte("\xff\xda")); at < len(before) && !bytes.Contains(before[:at], []byte("ICC_PROFILE")) {
					t.Errorf("taken with %q at %d", mark, at)
				}
			}
		}
	})
}

// Where a piece belongs comes in headers: whatever they say, it is a number
// within the bounds or a sentence.
func FuzzHeader(f *testing.F) {
	for _, seed := range []string{"0", "1", "-1", "+5", "007", "9223372036854775808", " 3", "1e3", "", "0x10"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		request := httptest.NewRequest("PATCH", Path+"/x", nil)
		request.Header[lengthHeader] = []string{text}
		value, problem := header(request, lengthHeader, 1, 5000)
		if problem == "" && (value < 1 || value > 5000) || problem != "" && (value != 0 || !strings.HasSuffix(problem, ".")) {
			t.Errorf("%q is read as %d, %q", text, value, problem)
		}
	})
}
