// Package photos takes photos in and hands them out. They travel beside the
// exchange and after it: an entry names a photo by the SHA-256 of its bytes,
// and only what an entry names is taken.
//
// A photo comes in pieces. HEAD answers how many bytes are here, PATCH brings
// the next ones; a server that was stopped in between goes on where it was.
// When all has come, the hash, the type and the measures are checked, and only
// then the photo is there.
//
// The pictures are in PocketBase's file storage, so its backups have them and
// they may be kept in a bucket. The small pictures for lists are made here,
// once, by PocketBase: other phones then fetch some 15 kB and not the photo,
// and the phone that took it, on a thin line, sends one file and not two.
package photos

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/filesystem"
	"github.com/pocketbase/pocketbase/tools/hook"
	"github.com/pocketbase/pocketbase/tools/router"

	"underlog/backend/store"
	"underlog/internal/husbandry"
)

// Path is where the photos are; a photo is at its name below.
const Path = "/api/underlog/photos"

// Headers of the sending in pieces.
const (
	offsetHeader   = "Upload-Offset"   // bytes that are here, or where a piece belongs
	lengthHeader   = "Upload-Length"   // bytes of the whole photo
	completeHeader = "Upload-Complete" // ?1 where the whole photo is here
)

// Routes are the routes of photos.
type Routes struct {
	Store *store.Store
	Quota int64 // bytes of a household's photos; husbandry's where 0

	// Guests are let in to some of the photos.
	Guests Guests

	arriving  arriving
	writing   sync.Mutex // of pieces, so that two devices with one photo do not mix theirs
	shrinking sync.Mutex
}

// Guests come by a door of their own, which puts a pass into the request, to
// the photos that it opens.
type Guests struct {
	Path string
	Door *hook.Handler[*core.RequestEvent]
	// MayBring and MaySee say of a photo whether the pass of a request opens it.
	MayBring, MaySee func(e *core.RequestEvent, name string) (bool, error)
}

// Bind adds the routes.
func (r *Routes) Bind(se *core.ServeEvent) {
	if r.Quota == 0 {
		r.Quota = husbandry.Photos().QuotaBytes
	}
	r.arriving = arriving(filepath.Join(se.App.DataDir(), "photos-arriving"))
	if err := r.arriving.tidy(time.Now().Add(-abandoned)); err != nil { // the files' own clock
		se.App.Logger().Warn("unfinished photos could not be tidied up", "error", err)
	}
	r.Store.OnChange(func(change store.Change) {
		if change.Wiped {
			r.wipe(se.App)
		}
	})
	group := se.Router.Group(Path)
	group.Bind(apis.RequireAuth(store.People), apis.SkipSuccessActivityLog())
	group.GET("", r.holding)
	guests := se.Router.Group(r.Guests.Path)
	guests.Bind(r.Guests.Door, apis.SkipSuccessActivityLog())
	for _, group := range []*router.RouterGroup[*core.RequestEvent]{group, guests} {
		group.HEAD("/{name}", r.offset)
		group.GET("/{name}", r.send)
		group.PATCH("/{name}", r.take).Unbind(apis.DefaultBodyLimitMiddlewareId) // ours says more
	}
}

func sentence(e *core.RequestEvent, status int, text string, args ...any) error {
	return e.JSON(status, map[string]any{"status": status, "message": fmt.Sprintf(text, args...)})
}

// holding answers how much room the photos take, of how much.
func (r *Routes) holding(e *core.RequestEvent) error {
	holding, err := r.Store.Pictures()
	if err != nil {
		return err
	}
	return e.JSON(http.StatusOK, map[string]any{"count": holding.Count, "bytes": holding.Bytes, "quota": r.Quota})
}

// name returns the name of the photo that is asked for; where it is none, or
// no entry names it, or a guest's pass does not open it, that has been
// answered. A guest hears the same of what is closed and of what is not there.
func (r *Routes) name(e *core.RequestEvent) (name string, answered bool, err error) {
	name = e.Request.PathValue("name")
	if !husbandry.IsDigest(name) {
		return "", true, sentence(e, http.StatusBadRequest, "%q is no name of a photo: give its SHA-256, 64 lower-case hex digits.", name)
	}
	named, err := r.Store.IsPictureNamed(name)
	if named && err == nil && e.Get(store.PassKey) != nil {
		may := r.Guests.MayBring
		if e.Request.Method == http.MethodGet {
			may = r.Guests.MaySee
		}
		named, err = may(e, name)
	}
	if err != nil {
		return "", true, err
	}
	if !named {
		return "", true, sentence(e, http.StatusNotFound, "No entry names this photo: the entry comes first, then its photo.")
	}
	return name, false, nil
}

// offset answers how far a photo has come.
func (r *Routes) offset(e *core.RequestEvent) error {
	name, answered, err := r.name(e)
	if answered {
		return err
	}
	r.writing.Lock()
	offset, whole, err := r.state(e.App, name)
	r.writing.Unlock()
	if err != nil {
		return err
	}
	say(e, offset, whole)
	e.Response.Header().Set("Cache-Control", "no-store")
	return e.NoContent(http.StatusOK)
}

// state is how far a photo has come. Where it is here and its pieces are too,
// the server was stopped before it was sure that the photo is on the disk.
func (r *Routes) state(app core.App, name string) (offset int64, whole bool, err error) {
	record, err := r.Store.FindPicture(name)
	if err != nil {
		return 0, false, err
	}
	offset, err = r.arriving.offset(name)
	if err != nil || record == nil {
		return offset, false, err
	}
	if offset > 0 {
		sound, err := isSound(app, record)
		if err != nil {
			return 0, false, err
		}
		if !sound {
			return offset, false, nil // finish writes its file anew
		}
		if err := r.arriving.remove(name); err != nil {
			return 0, false, err
		}
	}
	return int64(record.GetInt("bytes")), true, nil
}

// isSound reports whether the file of a picture has the bytes that its name
// says.
func isSound(app core.App, record *core.Record) (bool, error) {
	files, err := app.NewFilesystem()
	if err != nil {
		return false, err
	}
	defer files.Close()
	reader, err := files.GetReader(store.PicturePath(record))
	if errors.Is(err, filesystem.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer reader.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, reader); err != nil {
		return false, err
	}
	return hex.EncodeToString(sum.Sum(nil)) == record.Id, nil
}

func say(e *core.RequestEvent, offset int64, whole bool) {
	complete := "?0"
	if whole {
		complete = "?1"
	}
	e.Response.Header().Set(offsetHeader, strconv.FormatInt(offset, 10))
	e.Response.Header().Set(completeHeader, complete)
}

// take takes a piece of a photo.
func (r *Routes) take(e *core.RequestEvent) error {
	name, answered, err := r.name(e)
	if answered {
		return err
	}
	bounds := husbandry.Photos()
	length, problem := header(e.Request, lengthHeader, 1, int64(bounds.MostBytes))
	if problem != "" {
		return sentence(e, http.StatusRequestEntityTooLarge, "%s", problem)
	}
	offset, problem := header(e.Request, offsetHeader, 0, length)
	if problem != "" {
		return sentence(e, http.StatusBadRequest, "%s", problem)
	}
	// What came before the line was cut is kept: it is a beginning all the same.
	piece, _ := io.ReadAll(io.LimitReader(e.Request.Body, int64(bounds.ChunkBytes)+1))
	if len(piece) > bounds.ChunkBytes {
		return sentence(e, http.StatusRequestEntityTooLarge, "The piece is larger than %d bytes: send smaller ones.", bounds.ChunkBytes)
	}
	if offset+int64(len(piece)) > length {
		return sentence(e, http.StatusBadRequest, "%s is %d, but the piece reaches to %d: give the length of the whole photo.", lengthHeader, length, offset+int64(len(piece)))
	}
	r.writing.Lock()
	defer r.writing.Unlock()
	here, whole, err := r.state(e.App, name)
	if err != nil {
		return err
	}
	if whole {
		say(e, here, true)
		return e.NoContent(http.StatusNoContent)
	}
	if here != offset {
		say(e, here, false)
		return sentence(e, http.StatusConflict, "%s is %d, but %d bytes of this photo are here: go on from there.", offsetHeader, offset, here)
	}
	if full, err := r.full(e.App, length); err != nil || full != "" {
		if err != nil {
			return err
		}
		return sentence(e, http.StatusInsufficientStorage, "%s", full)
	}
	if err := r.arriving.add(name, offset, piece); err != nil {
		return r.failed(e, err)
	}
	here += int64(len(piece))
	if here < length {
		say(e, here, false)
		return e.NoContent(http.StatusNoContent)
	}
	return r.finish(e, name)
}

func header(request *http.Request, name string, least, most int64) (value int64, problem string) {
	text := request.Header.Get(name)
	value, err := strconv.ParseInt(text, 10, 64)
	if err != nil || value < least || value > most {
		return 0, husbandry.Problem{Field: name, Value: text, Accepted: fmt.Sprintf("give a whole number of bytes from %d to %d", least, most)}.Error()
	}
	return value, ""
}

// full says so where there is no room for so many bytes more. Photos that
// were struck make room first.
func (r *Routes) full(app core.App, bytes int64) (problem string, err error) {
	named, err := r.Store.Pictures()
	if err != nil {
		return "", err
	}
	if named.Bytes+bytes > r.Quota {
		return fmt.Sprintf("The room's photos fill the %d MB that there are for them on the server. Strike some that you no longer need, and this one is sent.", r.Quota/1_000_000), nil
	}
	struck, err := r.Store.StruckPictures()
	if err != nil {
		return "", err
	}
	if over := named.Bytes + struck.Bytes + bytes - r.Quota; over > 0 {
		err = r.Store.DropStruckPictures(over)
	}
	return "", err
}

// finish checks a photo of which everything has come, and keeps it.
func (r *Routes) finish(e *core.RequestEvent, name string) error {
	picture, err := r.arriving.read(name)
	if err != nil {
		return err
	}
	problem := ""
	var width, height int
	if sum := sha256.Sum256(picture); hex.EncodeToString(sum[:]) != name {
		problem = "What arrived is not the photo that the entry names: it was changed on the way, or the device's copy is damaged."
	} else {
		width, height, problem = look(picture)
	}
	if problem != "" {
		if err := r.arriving.remove(name); err != nil {
			return err
		}
		say(e, 0, false)
		return sentence(e, http.StatusUnprocessableEntity, "%s", problem)
	}
	record, err := r.Store.PutPicture(store.Picture{Name: name, JPEG: picture, Width: width, Height: height, Person: personOf(e)})
	if err == nil {
		err = settle(e.App, record)
	}
	if err != nil {
		return r.failed(e, err)
	}
	if err := r.arriving.remove(name); err != nil {
		e.App.Logger().Warn("a photo that has arrived could not be tidied up", "error", err)
	}
	say(e, int64(len(picture)), true)
	return e.NoContent(http.StatusNoContent)
}

// personOf is who brings a photo, as entries name them.
func personOf(e *core.RequestEvent) string {
	if pass, is := e.Get(store.PassKey).(*store.Pass); is {
		return pass.Person
	}
	return e.Auth.Id
}

// settle has a picture on the disk before it is called stored. A bucket sees
// to that itself.
func settle(app core.App, record *core.Record) error {
	if app.Settings().S3.Enabled {
		return nil
	}
	path := filepath.Join(app.DataDir(), core.LocalStorageDirName, filepath.FromSlash(store.PicturePath(record)))
	for _, one := range []string{path, filepath.Dir(path), filepath.Dir(filepath.Dir(path))} {
		file, err := os.Open(one)
		if err != nil {
			return err
		}
		if err := errors.Join(file.Sync(), file.Close()); err != nil {
			return err
		}
	}
	return nil
}

// failed answers for a disk that is full: the photo stays on its device.
func (r *Routes) failed(e *core.RequestEvent, err error) error {
	e.App.Logger().Error("a photo could not be stored", "error", err)
	e.Response.Header().Set("Retry-After", "30")
	return sentence(e, http.StatusServiceUnavailable, "The server could not store the photo just now. It stays on this device and is sent again.")
}

// send hands a photo out, whole or (size=small) for a list.
func (r *Routes) send(e *core.RequestEvent) error {
	name, answered, err := r.name(e)
	if answered {
		return err
	}
	record, err := r.Store.FindPicture(name)
	if err != nil {
		return err
	}
	if record == nil {
		return sentence(e, http.StatusNotFound, "This photo has not come yet: it is still on the device that took it.")
	}
	files, err := e.App.NewFilesystem()
	if err != nil {
		return err
	}
	defer files.Close()
	path := store.PicturePath(record)
	if e.Request.URL.Query().Get("size") == "small" {
		path = r.small(e.App, files, record)
	}
	e.Response.Header().Set("Cache-Control", "private, no-store") // the app keeps what it needs itself
	return files.Serve(e.Response, e.Request, path, name[:12]+".jpg")
}

// small returns where the small picture is, made with the first question for
// it; the whole one where it cannot be made.
func (r *Routes) small(app core.App, files *filesystem.System, record *core.Record) string {
	r.shrinking.Lock() // one at a time: a phone asks for many at once
	defer r.shrinking.Unlock()
	whole := store.PicturePath(record)
	base, file := filepath.Split(whole)
	path := base + "thumbs_" + file + "/" + store.SmallPicture() + "_" + file // where PocketBase keeps and finds them
	if there, err := files.Exists(path); err == nil && there {
		return path
	}
	if err := files.CreateThumb(whole, path, store.SmallPicture()); err != nil {
		app.Logger().Warn("a small picture could not be made", "photo", record.Id, "error", err)
		return whole
	}
	return path
}

// wipe removes the files of an invented household.
func (r *Routes) wipe(app core.App) {
	err := r.arriving.tidy(time.Unix(math.MaxInt32, 0))
	collection, findErr := app.FindCachedCollectionByNameOrId(store.Photos)
	files, filesErr := app.NewFilesystem()
	if err = errors.Join(err, findErr, filesErr); findErr == nil && filesErr == nil {
		err = errors.Join(append(files.DeletePrefix(collection.BaseFilesPath()+"/"), err, files.Close())...)
	}
	if err != nil {
		app.Logger().Warn("photos could not be removed", "error", err)
	}
}
