package passes_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"net/http"
	"testing"

	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

const (
	doorPhotos = "/api/underlog/pass/photos/"
	roomPhotos = "/api/underlog/photos/"
)

// picture is an abstract picture, another one for each seed.
func picture(tb testing.TB, seed int) []byte {
	tb.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 64, 48))
	for i := range 64 * 48 {
		img.Set(i%64, i/64, color.RGBA{uint8(i * seed), uint8(i), uint8(seed), 255})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, nil); err != nil {
		tb.Fatal(err)
	}
	return out.Bytes()
}

func nameOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// send brings a piece from the beginning of a photo and returns the status.
func send(tb testing.TB, server *trial.Trial, token, path string, piece []byte, length int, name string) int {
	tb.Helper()
	request, err := http.NewRequest("PATCH", "http://"+server.Addr()+path+name, bytes.NewReader(piece))
	if err != nil {
		tb.Fatal(err)
	}
	request.Header.Set("Authorization", token)
	request.Header.Set("Upload-Offset", "0")
	request.Header.Set("Upload-Length", fmt.Sprint(length))
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		tb.Fatal(err)
	}
	response.Body.Close()
	return response.StatusCode
}

// mustPhoto has the owner show a bin.
func (h *house) mustPhoto(bin string, seed int) string {
	h.Helper()
	photo := picture(h.TB, seed)
	h.MustStore(nil, h.Log(bin, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = nameOf(photo) }))
	if got := send(h.TB, h.Trial, h.Token, roomPhotos, photo, len(photo), nameOf(photo)); got != 204 {
		h.Fatalf("the owner's photo is answered %d", got)
	}
	return nameOf(photo)
}

func (h *house) status(method, path, token string) int {
	h.Helper()
	status, _, _ := h.Call(method, path, token, nil)
	return status
}

// A pass is shown the newest photo of each bin of its visits, if the owner has
// allowed it, and brings its own; every other picture is not there for it.
func TestThePhotosOfAPass(t *testing.T) {
	h := mustBegin(t, map[string]any{"photos": true})
	s := h.sitter
	old := h.mustPhoto(h.first.ID, 2)
	h.Clock.Advance(3 * days)
	shown, hidden := h.mustPhoto(h.first.ID, 3), h.mustPhoto(h.other.ID, 4)
	own := picture(t, 5)
	s.MustStore(s.Log(h.first.ID, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = nameOf(own) }))

	unnamed := picture(t, 6)
	if got := send(t, h.Trial, s.Token(), doorPhotos, unnamed, len(unnamed), nameOf(unnamed)); got != 404 {
		t.Errorf("a photo that no entry names is answered %d", got)
	}
	if got := send(t, h.Trial, s.Token(), doorPhotos, own, len(own), nameOf(own)); got != 204 {
		t.Errorf("the sitter's photo is answered %d", got)
	}
	view := h.mustView()
	for _, bin := range view.Bins {
		want := ""
		if bin.ID == h.first.ID {
			want = shown
		}
		if bin.Photo != want {
			t.Errorf("%s is shown with %q, want %q", bin.Name, bin.Photo, want)
		}
	}
	cases := []struct {
		what, name string
		head, get  int
	}{
		{"the one that is shown", shown, 404, 200},
		{"its own", nameOf(own), 200, 200},
		{"an older one of the bin", old, 404, 404},
		{"another bin's", hidden, 404, 404},
		{"none", nameOf(nil), 404, 404},
		{"no name", "passwd", 400, 400},
	}
	for _, c := range cases {
		if got := h.status("HEAD", doorPhotos+c.name, s.Token()); got != c.head {
			t.Errorf("HEAD of %s is answered %d, want %d", c.what, got, c.head)
		}
		for _, size := range []string{"", "?size=small"} {
			if got := h.status("GET", doorPhotos+c.name+size, s.Token()); got != c.get {
				t.Errorf("GET of %s%s is answered %d, want %d", c.what, size, got, c.get)
			}
		}
		if got := h.status("GET", roomPhotos+c.name, s.Token()); got != 401 {
			t.Errorf("the room's own route answers %d to a pass", got)
		}
	}
	// Naming a picture is not having it: another's is not handed out for it.
	s.MustStore(s.Log(h.first.ID, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = hidden }))
	if got := h.status("GET", doorPhotos+hidden, s.Token()); got != 404 {
		t.Errorf("a picture of another bin is handed out to who names it: %d", got)
	}
	if got := h.status("GET", roomPhotos+nameOf(own), h.Token); got != 200 {
		t.Errorf("the owner is answered %d for the sitter's photo", got)
	}
}

func TestAPassWithoutPhotosIsShownNone(t *testing.T) {
	h := mustBegin(t, nil)
	photo := h.mustPhoto(h.first.ID, 2)
	for _, bin := range h.mustView().Bins {
		if bin.Photo != "" {
			t.Errorf("%s is shown with %s", bin.Name, bin.Photo)
		}
	}
	if got := h.status("GET", doorPhotos+photo, h.sitter.Token()); got != 404 {
		t.Errorf("its photo is answered %d", got)
	}
}

// A visit without signal that comes home after the days of grace brings its
// photos too.
func TestPhotosOfALateVisit(t *testing.T) {
	h := mustBegin(t, map[string]any{"photos": true})
	shown := h.mustPhoto(h.first.ID, 3)
	h.Clock.Advance(3 * days)
	own := picture(t, 5)
	entry := h.sitter.Log(h.first.ID, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = nameOf(own) })
	h.Clock.Advance(30 * days)
	h.sitter.MustStore(entry)
	if got := send(t, h.Trial, h.sitter.Token(), doorPhotos, own, len(own), nameOf(own)); got != 204 {
		t.Errorf("the late photo is answered %d", got)
	}
	for _, name := range []string{shown, nameOf(own)} {
		if got := h.status("GET", doorPhotos+name, h.sitter.Token()); got != 404 {
			t.Errorf("after its days a pass is still shown a picture: %d", got)
		}
	}
}
