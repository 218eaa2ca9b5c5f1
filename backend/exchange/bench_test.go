package exchange_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"underlog/backend/exchange"
	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

// BenchmarkExchange sends entries as a phone does (whole pages, packed, over
// HTTP, with access check, verdicts and FULL durability) and, in the same
// run, puts the same rows into an SQLite file of the same schema and settings
// by one prepared statement in one transaction: the limit. "x-limit" is how
// many times as long the exchange takes; "again/first" is a resend of it all,
// which writes nothing.
func BenchmarkExchange(b *testing.B) {
	for _, count := range []int{1, 100, 10_000} {
		b.Run(fmt.Sprint(count), func(b *testing.B) {
			phone, bin := mustBegin(b)
			var first, again, limit time.Duration
			for b.Loop() {
				entries := make([]husbandry.Entry, count)
				for i := range entries {
					entries[i] = water(phone, bin.ID)
				}
				limit += mustInsert(b, phone, entries)
				first += mustDrain(b, phone, entries, `"stored"`)
				again += mustDrain(b, phone, entries, `"duplicate"`)
			}
			rounds := float64(b.N)
			b.ReportMetric(float64(count)*rounds/first.Seconds(), "entries/s")
			b.ReportMetric(first.Seconds()/limit.Seconds(), "x-limit")
			b.ReportMetric(again.Seconds()/first.Seconds(), "again/first")
			b.ReportMetric(first.Seconds()*1e3/rounds, "ms")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// mustDrain offers entries page by page and returns how long the server took.
// What a phone does besides, packing and taking in, is not counted.
func mustDrain(b *testing.B, phone *trial.Phone, entries []husbandry.Entry, verdict string) (took time.Duration) {
	b.Helper()
	got := 0
	for start := 0; start < len(entries); start += exchange.MostRecords {
		page := mustPack(b, phone.Request(nil, entries[start:min(start+exchange.MostRecords, len(entries))]))
		request, err := http.NewRequest("POST", "http://"+phone.Addr()+"/api/underlog/exchange", bytes.NewReader(page))
		if err != nil {
			b.Fatal(err)
		}
		request.Header.Set("Authorization", phone.Token)
		request.Header.Set("Content-Encoding", "gzip")
		sent := time.Now()
		response, err := http.DefaultClient.Do(request)
		if err != nil {
			b.Fatal(err)
		}
		raw, err := io.ReadAll(response.Body)
		response.Body.Close()
		took += time.Since(sent)
		if err != nil || response.StatusCode != 200 {
			b.Fatalf("%d %v %s", response.StatusCode, err, raw)
		}
		var answer trial.Answer
		if err := json.Unmarshal(raw, &answer); err != nil {
			b.Fatal(err)
		}
		phone.Cursor = answer.Cursor
		got += strings.Count(string(raw), verdict)
	}
	if got != len(entries) {
		b.Fatalf("%d of %d are %s", got, len(entries), verdict)
	}
	return took
}

func mustPack(b *testing.B, request any) []byte {
	b.Helper()
	var packed bytes.Buffer
	writer := gzip.NewWriter(&packed)
	if err := json.NewEncoder(writer).Encode(request); err != nil {
		b.Fatal(err)
	}
	if err := writer.Close(); err != nil {
		b.Fatal(err)
	}
	return packed.Bytes()
}

// mustInsert is the limit: nothing but the writing.
func mustInsert(b *testing.B, phone *trial.Phone, entries []husbandry.Entry) time.Duration {
	b.Helper()
	db, err := store.Open(filepath.Join(b.TempDir(), "limit.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	var statements []string
	if err := phone.Store.App.DB().NewQuery("SELECT sql FROM sqlite_master WHERE tbl_name = 'logs' AND sql IS NOT NULL ORDER BY type DESC").Column(&statements); err != nil {
		b.Fatal(err)
	}
	for _, statement := range statements {
		if _, err := db.DB().Exec(statement); err != nil {
			b.Fatal(err)
		}
	}
	raws, err := store.Raws(entries)
	if err != nil {
		b.Fatal(err)
	}
	start := time.Now()
	must := func(err error) {
		if err != nil {
			b.Fatal(err)
		}
	}
	tx, err := db.DB().Begin()
	must(err)
	insertion, err := tx.Prepare("INSERT INTO logs (id, at, what, bin, `by`, device, water_ml, raw) VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
	must(err)
	for i, e := range entries {
		_, err := insertion.Exec(e.ID, e.At.Format(time.DateTime), e.What, e.Bin, e.By, e.Device, e.WaterML, string(raws[i]))
		must(err)
	}
	must(tx.Commit())
	took := time.Since(start)
	var stored int
	if err := db.DB().QueryRow("SELECT COUNT(*) FROM logs").Scan(&stored); err != nil || stored != len(entries) {
		b.Fatalf("%d rows are there (%v)", stored, err)
	}
	return took
}
