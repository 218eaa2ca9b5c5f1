//go:build verify

package paper

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Poppler reads the sheet in the order in which a person does, its pages are
// counted right, no bin is on two of them, and zbar reads the code.
func TestVisitsAreReadByOthers(t *testing.T) {
	code := "http://localhost:8090/#/pass/" + strings.Repeat("k7", 26)
	for _, c := range []struct {
		name       string
		paper      string
		bins, days int
		code       string
	}{{"one bin", "a4", 1, 1, ""}, {"40 bins", "a4", 40, 12, code}, {"three weeks on Letter", "letter", 24, 21, code}} {
		t.Run(c.name, func(t *testing.T) {
			sheet := someVisits(c.bins, c.days)
			sheet.Paper, sheet.Code, sheet.Scan = c.paper, c.code, "The same on a phone"
			folder := os.Getenv("KEEP") // to look at them
			if folder == "" {
				folder = t.TempDir()
			}
			path := filepath.Join(folder, strings.ReplaceAll(c.name, " ", "-")+".pdf")
			if err := os.WriteFile(path, mustVisits(t, sheet), 0o600); err != nil {
				t.Fatal(err)
			}
			pages := strings.Split(strings.TrimSuffix(mustCommand(t, "pdftotext", "-raw", path, "-"), "\f"), "\f")
			whole := strings.Join(pages, "\n")
			at := 0
			for _, words := range []string{sheet.Title, sheet.Span, sheet.Call.Title, "030 000 000", "How to do it", "nothing to do", sheet.Map.Title, sheet.Visits.Title, sheet.Bins.Title} {
				next := strings.Index(whole[at:], words)
				if next < 0 {
					t.Fatalf("%q does not follow what comes before it", words)
				}
				at += next
			}
			for i, page := range pages {
				if want := fmt.Sprintf("Page %d of %d", i+1, len(pages)); !strings.Contains(page, want) {
					t.Errorf("page %d does not say %q", i+1, want)
				}
			}
			for _, bin := range sheet.Bins.Each {
				var on []int
				for i, page := range pages {
					catalog := page
					if _, after, found := strings.Cut(page, sheet.Bins.Title+"\n"); found {
						catalog = after
					} else if !strings.Contains(whole[:strings.Index(whole, page)], sheet.Bins.Title+"\n") {
						continue
					}
					if _, own, found := strings.Cut(catalog, bin.Title+"\n"); found {
						on = append(on, i)
						if !strings.Contains(own, bin.Dont[0]) {
							t.Errorf("%s goes on over the page", bin.Title)
						}
					}
				}
				if len(on) != 1 {
					t.Errorf("%s is on the pages %v", bin.Title, on)
				}
			}
			mustCommand(t, "pdftoppm", "-r", "100", "-png", path, strings.TrimSuffix(path, ".pdf"))
			if c.code != "" {
				first := strings.TrimSuffix(path, ".pdf") + "-first"
				mustCommand(t, "pdftoppm", "-r", "200", "-png", "-singlefile", path, first)
				if read := strings.TrimSpace(mustCommand(t, "zbarimg", "-q", "--raw", first+".png")); read != c.code {
					t.Errorf("zbar reads %q", read)
				}
			}
		})
	}
}
