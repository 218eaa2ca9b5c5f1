//go:build verify

package paper

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

func mustCommand(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v (make verify installs it)", name, err)
	}
	return string(out)
}

// Other people's programs read what is printed: poppler the words, zbar the
// codes, at 300 dots per inch, on three sorts of paper.
func TestLabelsAreReadByOthers(t *testing.T) {
	stocks := map[string]Stock{
		"plain A4":     plainA4(),
		"small Letter": {PageWidth: 215.9, PageHeight: 279.4, LabelWidth: 66.7, LabelHeight: 25.4, Columns: 3, Rows: 10, Left: 4.8, Top: 12.7, GapX: 3.2},
		"large":        {PageWidth: 210, PageHeight: 297, LabelWidth: 99, LabelHeight: 57, Columns: 2, Rows: 5, Left: 5, Top: 5},
	}
	for name, stock := range stocks {
		t.Run(name, func(t *testing.T) {
			labels := someLabels(stock.Columns * stock.Rows)
			path := filepath.Join(t.TempDir(), "labels.pdf")
			file, err := os.Create(path)
			if err != nil {
				t.Fatal(err)
			}
			if err := WriteLabels(file, stock, labels, 0, printed); err != nil {
				t.Fatal(err)
			}
			if err := file.Close(); err != nil {
				t.Fatal(err)
			}
			words := mustCommand(t, "pdftotext", "-layout", path, "-")
			picture := strings.TrimSuffix(path, ".pdf")
			for i, label := range labels {
				if !strings.Contains(words, label.Place) {
					t.Errorf("%s is not among the words", label.Place)
				}
				_, x, y := stock.place(i) // one label at a time, as before a camera
				dots := func(mm float64) string { return strconv.Itoa(int(mm / 25.4 * 300)) }
				mustCommand(t, "pdftoppm", "-r", "300", "-png", "-singlefile",
					"-x", dots(x), "-y", dots(y), "-W", dots(stock.LabelWidth), "-H", dots(stock.LabelHeight), path, picture)
				if code := strings.TrimSpace(mustCommand(t, "zbarimg", "-q", "--raw", picture+".png")); code != label.Code {
					t.Errorf("%s: its code is read as %q", label.Place, code)
				}
			}
			if n := strings.Count(words, "Substrate 2 Mar 2026"); n != len(labels) {
				t.Errorf("the date of the substrate stands on %d of %d labels", n, len(labels))
			}
			if keep := os.Getenv("PICTURES"); keep != "" {
				mustCommand(t, "pdftoppm", "-r", "150", "-png", "-singlefile", path, picture)
				mustCommand(t, "cp", picture+".png", filepath.Join(keep, strings.ReplaceAll(name, " ", "-")+".png"))
			}
		})
	}
}
