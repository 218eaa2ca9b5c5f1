package photos_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/pocketbase/dbx"

	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// picture is an abstract picture: noise, so that it is large enough to come
// in pieces.
func picture(tb testing.TB, seed uint64, width, height int) []byte {
	tb.Helper()
	random := rand.New(rand.NewPCG(seed, 1))
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	for i := range width * height {
		img.Set(i%width, i/width, color.RGBA{uint8(random.UintN(256)), uint8(random.UintN(256)), uint8(i * 255 / (width * height)), 255})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: 75}); err != nil {
		tb.Fatal(err)
	}
	return out.Bytes()
}

func nameOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// marked puts a segment behind the start of a picture.
func marked(picture []byte, marker byte, content string) []byte {
	head := []byte{0xff, 0xd8, 0xff, marker, 0, 0}
	binary.BigEndian.PutUint16(head[4:], uint16(2+len(content)))
	return append(append(head, content...), picture[2:]...)
}

// mustBegin is a household with a bin.
func mustBegin(t *testing.T) (*trial.Phone, husbandry.Sheet) {
	t.Helper()
	phone := trial.MustStart(t, trial.Noon).MustSetUp("Europe/Berlin")
	bin := phone.Bin("Pied pillbugs")
	phone.MustStore([]husbandry.Sheet{bin})
	return phone, bin
}

// mustName stores an entry that names a photo.
func mustName(phone *trial.Phone, bin, name string) husbandry.Entry {
	phone.Helper()
	entry := phone.Log(bin, husbandry.Photo, func(e *husbandry.Entry) { e.Photo = name })
	phone.MustStore(nil, entry)
	return entry
}

type answer struct {
	status           int
	offset, complete string
	body             string
}

func ask(t *testing.T, phone *trial.Phone, method, name string, offset, length int, piece []byte) answer {
	t.Helper()
	request, err := http.NewRequest(method, "http://"+phone.Addr()+"/api/underlog/photos/"+name, bytes.NewReader(piece))
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Authorization", phone.Token)
	request.Header.Set("Upload-Offset", fmt.Sprint(offset))
	request.Header.Set("Upload-Length", fmt.Sprint(length))
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer{response.StatusCode, response.Header.Get("Upload-Offset"), response.Header.Get("Upload-Complete"), string(body)}
}

// send brings a photo in pieces and returns the last answer, or the first
// that is not good.
func send(t *testing.T, phone *trial.Phone, name string, photo []byte) answer {
	t.Helper()
	chunk := husbandry.Photos().ChunkBytes
	var got answer
	for at := 0; at < len(photo); at += chunk {
		got = ask(t, phone, "PATCH", name, at, len(photo), photo[at:min(at+chunk, len(photo))])
		if got.status != 204 {
			return got
		}
	}
	return got
}

func get(t *testing.T, phone *trial.Phone, name, query string) (int, []byte, http.Header) {
	t.Helper()
	return phone.Call("GET", "/api/underlog/photos/"+name+query, phone.Token, nil)
}

// The server is stopped after every piece; the photo arrives all the same,
// byte for byte, and once for two entries.
func TestAPhotoComesInPiecesOverStopsOfTheServer(t *testing.T) {
	phone, bin := mustBegin(t)
	photo := picture(t, 1, 800, 600) // some 300 kB
	name, chunk := nameOf(photo), husbandry.Photos().ChunkBytes
	mustName(phone, bin.ID, name)
	if len(photo) < 3*chunk {
		t.Fatalf("the picture has only %d bytes", len(photo))
	}
	for at := 0; at < len(photo); at += chunk {
		if got := ask(t, phone, "HEAD", name, 0, 0, nil); got.status != 200 || got.offset != fmt.Sprint(at) || got.complete != "?0" {
			t.Fatalf("after %d bytes HEAD answers %+v", at, got)
		}
		if status, _, _ := get(t, phone, name, ""); status != 404 {
			t.Fatalf("half a photo is handed out with status %d", status)
		}
		got := ask(t, phone, "PATCH", name, at, len(photo), photo[at:min(at+chunk, len(photo))])
		if got.status != 204 || got.offset != fmt.Sprint(min(at+chunk, len(photo))) {
			t.Fatalf("PATCH at %d answers %+v", at, got)
		}
		phone.MustRestart()
	}
	if got := ask(t, phone, "HEAD", name, 0, 0, nil); got.complete != "?1" || got.offset != fmt.Sprint(len(photo)) {
		t.Errorf("HEAD answers %+v", got)
	}
	status, arrived, header := get(t, phone, name, "")
	if status != 200 || !bytes.Equal(arrived, photo) || header.Get("Content-Type") != "image/jpeg" {
		t.Errorf("GET answers %d with %d bytes of %s", status, len(arrived), header.Get("Content-Type"))
	}
	status, small, _ := get(t, phone, name, "?size=small")
	config, err := jpeg.DecodeConfig(bytes.NewReader(small))
	if status != 200 || err != nil || config.Width != husbandry.Photos().SmallEdgePx || config.Height != 240 {
		t.Errorf("the small one is %d by %d (%v), status %d", config.Width, config.Height, err, status)
	}
	mustName(phone, bin.ID, name) // another entry, the same photo
	if got := ask(t, phone, "PATCH", name, 0, len(photo), photo[:chunk]); got.status != 204 || got.complete != "?1" {
		t.Errorf("the same photo again is answered %+v", got)
	}
	var holding struct{ Count, Bytes int }
	phone.MustCall("GET", "/api/underlog/photos", phone.Token, nil, 200, &holding)
	if holding.Count != 1 || holding.Bytes != len(photo) {
		t.Errorf("two entries with one photo hold %+v", holding)
	}
	if left, _ := os.ReadDir(filepath.Join(phone.Dir, "photos-arriving")); len(left) > 0 {
		t.Errorf("pieces are left: %v", left)
	}
}

func TestWhatIsNoPhotoIsRefusedInASentence(t *testing.T) {
	phone, bin := mustBegin(t)
	sound := picture(t, 2, 64, 48)
	var png bytes.Buffer
	png.WriteString("\x89PNG\r\n\x1a\n" + strings.Repeat("x", 100))
	cases := []struct {
		name, sentence string
		photo          []byte
	}{
		{"a text", "text/plain", []byte("this is no picture at all")},
		{"a PNG", "image/png", png.Bytes()},
		{"a beginning only", "is none", sound[:20]},
		{"half of it", "broken", sound[:len(sound)/2]},
		{"too wide", "1601 by 4 pixels", picture(t, 3, 1601, 4)},
		{"EXIF with a position", "where it was taken", marked(sound, 0xe1, "Exif\x00\x00MM\x00*GPS 52.52 N")},
		{"XMP", "where it was taken", marked(sound, 0xe1, "http://ns.adobe.com/xap/1.0/\x00<x/>")},
		{"IPTC", "where it was taken", marked(sound, 0xed, "Photoshop 3.0\x00city")},
		{"a comment", "where it was taken", marked(sound, 0xfe, "Berlin")},
		{"a note that calls itself a colour profile's", "where it was taken", marked(sound, 0xe2, "MPF\x00")},
		{"a film behind it", "behind its end", append(append([]byte{}, sound...), "ftypmp42"...)},
	}
	for _, c := range cases {
		name := nameOf(c.photo)
		mustName(phone, bin.ID, name)
		if got := send(t, phone, name, c.photo); got.status != 422 || !strings.Contains(got.body, c.sentence) || got.offset != "0" {
			t.Errorf("%s: answered %+v, want 422 with %q", c.name, got, c.sentence)
		}
		if got := ask(t, phone, "HEAD", name, 0, 0, nil); got.offset != "0" || got.complete != "?0" {
			t.Errorf("%s: something of it is kept: %+v", c.name, got)
		}
	}
	if count, err := phone.Store.App.CountRecords(store.Photos); err != nil || count != 0 {
		t.Errorf("%d photos are stored (%v)", count, err)
	}
	// A colour profile is part of how it looks.
	coloured := marked(sound, 0xe2, "ICC_PROFILE\x00\x01\x01")
	mustName(phone, bin.ID, nameOf(coloured))
	if got := send(t, phone, nameOf(coloured), coloured); got.status != 204 {
		t.Errorf("a photo with a colour profile is answered %+v", got)
	}
}

func TestAPhotoThatWasChangedOnTheWay(t *testing.T) {
	phone, bin := mustBegin(t)
	photo := picture(t, 4, 640, 480)
	name := nameOf(photo)
	mustName(phone, bin.ID, name)
	changed := bytes.Clone(photo)
	changed[len(changed)/2] ^= 1
	if got := send(t, phone, name, changed); got.status != 422 || !strings.Contains(got.body, "not the photo that the entry names") {
		t.Errorf("answered %+v", got)
	}
	if got := send(t, phone, name, photo); got.status != 204 || got.complete != "?1" { // from the start, whole this time
		t.Errorf("answered %+v", got)
	}
}

func TestBoundsOfTheSending(t *testing.T) {
	phone, bin := mustBegin(t)
	photo := picture(t, 5, 64, 48)
	name, bounds := nameOf(photo), husbandry.Photos()
	if got := send(t, phone, name, photo); got.status != 404 || !strings.Contains(got.body, "entry comes first") {
		t.Errorf("a photo before its entry is answered %+v", got)
	}
	mustName(phone, bin.ID, name)
	cases := []struct {
		what           string
		offset, length int
		piece          []byte
		status         int
		sentence       string
	}{
		{"a length over the bound", 0, bounds.MostBytes + 1, photo, 413, "Upload-Length is 600001: give a whole number of bytes from 1 to 600000."},
		{"no length", 0, 0, photo, 413, "Upload-Length is 0"},
		{"an offset behind the end", 9999, len(photo), photo, 400, "Upload-Offset is 9999"},
		{"a gap", 10, len(photo), photo[10:], 409, "0 bytes of this photo are here"},
		{"more than the length", 0, len(photo) - 1, photo, 400, "reaches to"},
		{"a piece over the bound", 0, bounds.MostBytes, make([]byte, bounds.ChunkBytes+1), 413, "smaller"},
	}
	for _, c := range cases {
		if got := ask(t, phone, "PATCH", name, c.offset, c.length, c.piece); got.status != c.status || !strings.Contains(got.body, c.sentence) {
			t.Errorf("%s is answered %+v, want %d with %q", c.what, got, c.status, c.sentence)
		}
	}
	if got := ask(t, phone, "HEAD", name, 0, 0, nil); got.offset != "0" {
		t.Errorf("something is kept: %+v", got)
	}
	for _, bad := range []string{"passwd", strings.ToUpper(name), "..%2f..%2fdata.db"} {
		if status, body, _ := get(t, phone, bad, ""); status != 400 && status != 404 {
			t.Errorf("%s is answered %d %s", bad, status, body)
		}
	}
}

// The line is cut after so many bytes of a piece: what came is kept, and the
// phone goes on behind it.
func TestALineThatIsCutInAPiece(t *testing.T) {
	phone, bin := mustBegin(t)
	photo := picture(t, 6, 200, 150)
	name := nameOf(photo)
	mustName(phone, bin.ID, name)
	step := len(photo)/7 + 1
	for at := 0; at < len(photo); {
		line, err := net.Dial("tcp", phone.Addr())
		if err != nil {
			t.Fatal(err)
		}
		piece := photo[at:min(at+step, len(photo))]
		fmt.Fprintf(line, "PATCH /api/underlog/photos/%s HTTP/1.1\r\nHost: x\r\nAuthorization: %s\r\nUpload-Offset: %d\r\nUpload-Length: %d\r\nContent-Length: %d\r\n\r\n",
			name, phone.Token, at, len(photo), len(photo)-at+1000)
		if _, err := line.Write(piece); err != nil {
			t.Fatal(err)
		}
		line.Close()
		before := at
		for range 200 { // the server notices by itself
			if got := ask(t, phone, "HEAD", name, 0, 0, nil); got.offset != fmt.Sprint(before) || got.complete == "?1" {
				fmt.Sscan(got.offset, &at)
				break
			}
		}
		if at == before {
			t.Fatalf("nothing of the piece at %d was kept", at)
		}
	}
	if got := ask(t, phone, "PATCH", name, len(photo), len(photo), nil); got.status != 204 || got.complete != "?1" {
		t.Errorf("answered %+v", got)
	}
	if _, arrived, _ := get(t, phone, name, ""); !bytes.Equal(arrived, photo) {
		t.Error("other bytes came")
	}
}

// A server that was stopped between storing a photo and being sure of it
// looks at the bytes again.
func TestAPhotoWhoseFileIsLostInAPowerCut(t *testing.T) {
	phone, bin := mustBegin(t)
	photo := picture(t, 7, 200, 150)
	name := nameOf(photo)
	mustName(phone, bin.ID, name)
	if got := send(t, phone, name, photo); got.complete != "?1" {
		t.Fatalf("answered %+v", got)
	}
	record, err := phone.Store.FindPicture(name)
	if err != nil || record == nil {
		t.Fatal(err)
	}
	file := filepath.Join(phone.Dir, "storage", filepath.FromSlash(store.PicturePath(record)))
	if err := os.WriteFile(file, make([]byte, len(photo)), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(phone.Dir, "photos-arriving", name), photo, 0o644); err != nil {
		t.Fatal(err)
	}
	if got := ask(t, phone, "HEAD", name, 0, 0, nil); got.complete != "?0" || got.offset != fmt.Sprint(len(photo)) {
		t.Fatalf("HEAD answers %+v", got)
	}
	if got := ask(t, phone, "PATCH", name, len(photo), len(photo), nil); got.complete != "?1" {
		t.Fatalf("PATCH answers %+v", got)
	}
	if _, arrived, _ := get(t, phone, name, ""); !bytes.Equal(arrived, photo) {
		t.Error("other bytes are there")
	}
}

// Struck photos are handed out no more and make room; what is not struck
// never goes for room.
func TestTheQuotaAndStruckPhotos(t *testing.T) {
	phone, bin := mustBegin(t)
	small := func(seed uint64) []byte { return picture(t, seed, 64, 48) }
	first, second, third := small(11), small(12), small(13)
	entry := mustName(phone, bin.ID, nameOf(first))
	mustName(phone, bin.ID, nameOf(second))
	mustName(phone, bin.ID, nameOf(third))
	for _, photo := range [][]byte{first, second} {
		if got := send(t, phone, nameOf(photo), photo); got.status != 204 {
			t.Fatalf("answered %+v", got)
		}
	}
	// As if the two filled it: the records say how much room there is taken.
	fill := dbx.Params{"half": husbandry.Photos().QuotaBytes / 2}
	if _, err := phone.Store.App.NonconcurrentDB().NewQuery("UPDATE photos SET bytes = {:half}").Bind(fill).Execute(); err != nil {
		t.Fatal(err)
	}
	got := send(t, phone, nameOf(third), third)
	if got.status != 507 || !strings.Contains(got.body, "fill the 2147 MB") || !strings.Contains(got.body, "Strike some") {
		t.Fatalf("answered %+v", got)
	}
	phone.MustStore(nil, phone.Log(bin.ID, husbandry.Strike, func(e *husbandry.Entry) { e.Struck = entry.ID }))
	if status, _, _ := get(t, phone, nameOf(first), ""); status != 404 {
		t.Errorf("a struck photo is handed out with status %d", status)
	}
	if got := send(t, phone, nameOf(third), third); got.status != 204 {
		t.Errorf("answered %+v after the strike", got)
	}
	for _, c := range []struct {
		photo []byte
		there bool
	}{{first, false}, {second, true}, {third, true}} {
		record, err := phone.Store.FindPicture(nameOf(c.photo))
		if err != nil || (record != nil) != c.there {
			t.Errorf("the photo %s is there: %v (%v), want %v", nameOf(c.photo)[:8], record != nil, err, c.there)
		}
	}
}

// An invented household takes its photos along.
func TestTheExampleTakesItsPhotosAlong(t *testing.T) {
	server := trial.MustStart(t, trial.Noon)
	var got struct{ Token string }
	server.MustCall("POST", "/api/underlog/example", "", map[string]string{"time_zone": "UTC", "units": "metric"}, 200, &got)
	phone := &trial.Phone{Trial: server, Token: got.Token, Device: trial.NewID()}
	photo := picture(t, 14, 64, 48)
	entry := phone.Log("", husbandry.Photo, func(e *husbandry.Entry) { e.Photo = nameOf(photo) })
	phone.MustStore(nil, entry)
	if got := send(t, phone, nameOf(photo), photo); got.status != 204 {
		t.Fatalf("answered %+v", got)
	}
	server.MustCall("DELETE", "/api/underlog/example", got.Token, nil, 204, nil)
	left := 0
	_ = filepath.WalkDir(filepath.Join(server.Dir, "storage"), func(_ string, entry os.DirEntry, _ error) error {
		if entry != nil && !entry.IsDir() {
			left++
		}
		return nil
	})
	if left > 0 {
		t.Errorf("%d files are left", left)
	}
}

// A new phone has the photos of years ago at once, to compare today's with;
// what else is so old it loads later.
func TestANewPhoneHasOldPhotosAtOnce(t *testing.T) {
	phone, bin := mustBegin(t)
	old := func(what string, more func(*husbandry.Entry)) husbandry.Entry {
		entry := phone.Log(bin.ID, what, more)
		entry.At = entry.At.AddDate(-2, 0, 0)
		return entry
	}
	photo := old(husbandry.Photo, func(e *husbandry.Entry) { e.Photo = strings.Repeat("ab", 32) })
	struck := old(husbandry.Photo, func(e *husbandry.Entry) { e.Photo = strings.Repeat("cd", 32) })
	strike := old(husbandry.Strike, func(e *husbandry.Entry) { e.Struck = struck.ID })
	phone.MustStore(nil, photo, struck, strike, old(husbandry.Look, nil))
	second := phone.MustSignIn("Robin")
	request := second.Request(nil, nil)
	request["load"] = map[string]string{"stage": "recent"}
	var answer trial.Answer
	second.MustCall("POST", "/api/underlog/exchange", second.Token, request, 200, &answer)
	got := map[string]bool{}
	for _, entry := range answer.Entries {
		got[entry.ID] = true
	}
	if len(got) != 3 || !got[photo.ID] || !got[struck.ID] || !got[strike.ID] {
		t.Errorf("it has %d entries, want the two photos and the strike", len(got))
	}
}
