// Command plain is what the exchange is measured beside: a PocketBase as it
// comes, with a collection of the same columns that anybody may write, and
// the limit, the same rows put into a file of the same settings as ours by
// one prepared statement in one transaction.
//
//	plain serve FOLDER ADDRESS
//	plain limit FOLDER COUNT    -> milliseconds
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/pocketbase/dbx"
	"github.com/pocketbase/pocketbase/apis"
	"github.com/pocketbase/pocketbase/core"
	_ "github.com/pocketbase/pocketbase/migrations"
	"github.com/pocketbase/pocketbase/tools/types"

	"underlog/internal/husbandry"
)

func main() {
	if len(os.Args) != 4 {
		fail(fmt.Errorf("give serve FOLDER ADDRESS or limit FOLDER COUNT"))
	}
	var err error
	if os.Args[1] == "limit" {
		var count int
		if count, err = strconv.Atoi(os.Args[3]); err == nil {
			err = limit(os.Args[2], count)
		}
	} else {
		err = serve(os.Args[2], os.Args[3])
	}
	if err != nil {
		fail(err)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

func open(folder string) (*core.BaseApp, error) {
	app := core.NewBaseApp(core.BaseAppConfig{DataDir: folder})
	if err := app.Bootstrap(); err != nil {
		return nil, err
	}
	if err := app.RunAllMigrations(); err != nil {
		return nil, err
	}
	logs := core.NewBaseCollection("logs")
	logs.CreateRule = types.Pointer("")
	id := logs.Fields.GetByName("id").(*core.TextField)
	id.Min, id.Max = 15, 32
	logs.Fields.Add(&core.DateField{Name: "at"}, &core.TextField{Name: "what"}, &core.TextField{Name: "bin"}, &core.TextField{Name: "by"},
		&core.TextField{Name: "device"}, &core.NumberField{Name: "water_ml"}, &core.JSONField{Name: "raw"})
	logs.AddIndex("idx_logs_bin_at", false, "bin, at", "")
	logs.AddIndex("idx_logs_at", false, "at", "")
	return app, app.Save(logs)
}

func serve(folder, address string) error {
	app, err := open(folder)
	if err != nil {
		return err
	}
	app.Settings().Batch.Enabled = true
	if err := app.Save(app.Settings()); err != nil {
		return err
	}
	return apis.Serve(app, apis.ServeConfig{HttpAddr: address})
}

func limit(folder string, count int) error {
	app, err := open(folder)
	if err != nil {
		return err
	}
	if err := app.ResetBootstrapState(); err != nil {
		return err
	}
	db, err := dbx.Open("sqlite", filepath.Join(folder, "data.db")+"?_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=cache_size(-32000)")
	if err != nil {
		return err
	}
	defer db.Close()
	entries := make([]husbandry.Entry, count)
	for i := range entries {
		entries[i] = husbandry.Entry{ID: fmt.Sprintf("%032x", i), Bin: "b", At: time.Now().UTC(), What: husbandry.Water, WaterML: 30,
			By: "robin0000000000", Device: "0123456789abcdef0123456789abcdef"}
	}
	began := time.Now()
	tx, err := db.DB().Begin()
	if err != nil {
		return err
	}
	insertion, err := tx.Prepare("INSERT INTO logs (id, at, what, bin, `by`, device, water_ml, raw) VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
	if err != nil {
		return err
	}
	for _, e := range entries {
		raw, err := json.Marshal(e)
		if err != nil {
			return err
		}
		if _, err := insertion.Exec(e.ID, e.At.Format(types.DefaultDateLayout), e.What, e.Bin, e.By, e.Device, e.WaterML, string(raw)); err != nil {
			return err
		}
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	fmt.Println(float64(time.Since(began).Microseconds()) / 1000)
	return nil
}
