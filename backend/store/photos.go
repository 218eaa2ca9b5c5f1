package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/core"
	"github.com/pocketbase/pocketbase/tools/filesystem"

	"underlog/internal/husbandry"
)

// Photos is the collection of pictures, each under the SHA-256 of its bytes.
// Which bin and which instant a picture is of is for the entries that name it
// to say.
const Photos = "photos"

// pictureColumn holds the name of a picture's file.
const pictureColumn = "picture"

func init() {
	core.AppMigrations.Register(addPhotos, nil, "5_photos.go")
}

func addPhotos(app core.App) error {
	logs, err := app.FindCollectionByNameOrId(Logs)
	if err != nil {
		return err
	}
	logs.Fields.GetByName("what").(*core.SelectField).Values = husbandry.Whats()
	if logs.Fields.GetByName("photo") == nil { // a folder from before photos
		logs.Fields.Add(entryColumn("photo"))
	}
	logs.AddIndex("idx_logs_photo", false, "photo", "photo != ''")
	if err := app.Save(logs); err != nil {
		return err
	}
	if err := app.Save(photosCollection()); err != nil {
		return err
	}
	// A rack full of small pictures and a photo in pieces are many requests.
	settings := app.Settings()
	rule := core.RateLimitRule{Label: "/api/underlog/photos/", MaxRequests: 1200, Duration: 10}
	settings.RateLimits.Rules = append([]core.RateLimitRule{rule}, settings.RateLimits.Rules...)
	return app.Save(settings)
}

func photosCollection() *core.Collection {
	bounds := husbandry.Photos()
	collection := base(Photos, members,
		&core.FileField{Name: pictureColumn, MaxSelect: 1, MaxSize: int64(bounds.MostBytes), MimeTypes: []string{"image/jpeg"},
			Thumbs: []string{SmallPicture()}, Protected: true, Required: true},
		&core.NumberField{Name: "bytes", OnlyInt: true}, &core.NumberField{Name: "width", OnlyInt: true}, &core.NumberField{Name: "height", OnlyInt: true},
		&core.TextField{Name: "person"}, // who sent it
		&core.AutodateField{Name: "created", OnCreate: true},
	)
	id := collection.Fields.GetByName("id").(*core.TextField)
	id.Min, id.Max, id.AutogeneratePattern = 64, 64, "[0-9a-f]{64}"
	return collection
}

// SmallPicture is PocketBase's name for the size of the small pictures.
func SmallPicture() string {
	edge := husbandry.Photos().SmallEdgePx
	return fmt.Sprintf("%dx%df", edge, edge)
}

// A Picture is a photo whose bytes are checked.
type Picture struct {
	Name          string // its SHA-256
	JPEG          []byte
	Width, Height int // px
	Person        string
}

// PutPicture stores a picture. Where it has a record already, its file is
// written anew.
func (s *Store) PutPicture(picture Picture) (*core.Record, error) {
	record, err := s.FindPicture(picture.Name)
	if err != nil {
		return nil, err
	}
	if record != nil {
		files, err := s.App.NewFilesystem()
		if err != nil {
			return nil, err
		}
		return record, errors.Join(files.Upload(picture.JPEG, PicturePath(record)), files.Close())
	}
	collection, err := s.App.FindCachedCollectionByNameOrId(Photos)
	if err != nil {
		return nil, err
	}
	file, err := filesystem.NewFileFromBytes(picture.JPEG, "photo.jpg")
	if err != nil {
		return nil, err
	}
	file.Name = "photo.jpg"
	record = core.NewRecord(collection)
	record.Id = picture.Name
	record.Set(pictureColumn, file)
	record.Set("bytes", len(picture.JPEG))
	record.Set("width", picture.Width)
	record.Set("height", picture.Height)
	record.Set("person", picture.Person)
	return record, s.App.Save(record)
}

// FindPicture returns the record of a picture, nil where there is none.
func (s *Store) FindPicture(name string) (*core.Record, error) {
	records, err := s.App.FindRecordsByIds(Photos, []string{name})
	if err != nil || len(records) == 0 {
		return nil, err
	}
	return records[0], nil
}

// PicturePath is where the file of a picture is in the file storage.
func PicturePath(record *core.Record) string {
	return record.BaseFilesPath() + "/" + record.GetString(pictureColumn)
}

// IsPictureNamed reports whether an entry that is not struck names a picture.
func (s *Store) IsPictureNamed(name string) (bool, error) {
	return value[bool](s.App.ConcurrentDB(), "SELECT EXISTS (SELECT 1 FROM logs l WHERE l.photo = {:name} AND "+notStruck+")", dbx.Params{"name": name})
}

const notStruck = "NOT EXISTS (SELECT 1 FROM logs s WHERE s.struck = l.id)"

// A Holding is how much room a household's pictures take.
type Holding struct {
	Count int   `db:"count" json:"count"`
	Bytes int64 `db:"bytes" json:"bytes"`
}

// Pictures returns how much room the pictures take that an entry names.
func (s *Store) Pictures() (Holding, error) {
	return s.holding("EXISTS")
}

// StruckPictures returns how much room those take that no entry names any
// more: all that named them are struck.
func (s *Store) StruckPictures() (Holding, error) {
	return s.holding("NOT EXISTS")
}

func (s *Store) holding(exists string) (Holding, error) {
	var holding Holding
	err := s.App.ConcurrentDB().NewQuery("SELECT COUNT(*) AS count, COALESCE(SUM(bytes), 0) AS bytes FROM photos p WHERE " +
		exists + " (SELECT 1 FROM logs l WHERE l.photo = p.id AND " + notStruck + ")").One(&holding)
	return holding, err
}

// DropStruckPictures removes pictures that no entry names any more, the oldest
// first, until so many bytes are free.
func (s *Store) DropStruckPictures(bytes int64) error {
	var names []string
	err := s.App.ConcurrentDB().NewQuery(`SELECT id FROM photos p WHERE
		NOT EXISTS (SELECT 1 FROM logs l WHERE l.photo = p.id AND ` + notStruck + `) ORDER BY created, id`).Column(&names)
	if err != nil {
		return err
	}
	for _, name := range names {
		if bytes <= 0 {
			break
		}
		record, err := s.FindPicture(name)
		if err != nil {
			return err
		}
		if record == nil {
			continue
		}
		bytes -= int64(record.GetInt("bytes"))
		if err := s.dropPicture(record); err != nil {
			return err
		}
	}
	return nil
}

// dropPicture removes a picture. PocketBase would remove its file a little
// later, and with it what was stored under its name meanwhile.
func (s *Store) dropPicture(record *core.Record) error {
	files, err := s.App.NewFilesystem()
	if err != nil {
		return err
	}
	defer files.Close()
	if _, err := s.App.NonconcurrentDB().Delete(Photos, dbx.HashExp{"id": record.Id}).Execute(); err != nil {
		return err
	}
	return errors.Join(files.DeletePrefix(record.BaseFilesPath() + "/")...)
}

// OldPhotos returns the entries from before an instant that name photos, and
// the strikes of them from before it. A device loads them at first: a photo of
// years ago is what one of today is compared with, and there is one for some
// hundred other entries.
func (s *Store) OldPhotos(from time.Time) ([]json.RawMessage, error) {
	var raws [][]byte
	err := s.App.ConcurrentDB().NewQuery(`SELECT raw FROM logs WHERE photo != '' AND at < {:from}
		UNION ALL SELECT strikes.raw FROM logs JOIN logs AS strikes ON strikes.struck = logs.id
		WHERE logs.photo != '' AND logs.at < {:from} AND strikes.at < {:from} AND strikes.struck != ''`).
		Bind(dbx.Params{"from": dateTime(from)}).Column(&raws)
	if err != nil {
		return nil, fmt.Errorf("store: the photos before %s: %w", from, err)
	}
	photos := make([]json.RawMessage, len(raws))
	for i, raw := range raws {
		photos[i] = raw
	}
	return photos, nil
}
