//go:build outside

package paper

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/sampling"
)

// Other programs (Poppler, QPDF) open the paper and find it whole: pages of the right
// size, its face embedded, black and white, its text.
func TestPopplerReadsTheFirstArticle(t *testing.T) {
	for _, c := range []struct {
		size Size
		sys  fettle.System
		lot  int
		page string
		want []string
	}{
		{A4, fettle.Metric, 150, "595.28 x 841.89 pts", []string{"0.3 µm to 0.8 µm", "150 pieces", "42.000 ± 0.3 mm", "42.06 mm", "2026-03-02", "9f2c4e81d07a", "Signature"}},
		{Letter, fettle.Inch, 12, "612 x 792 pts", []string{"11.8 µin to 31.5 µin", "Look at all 12 pieces", "1.6535 ± 0.0118 in"}},
		{A4, fettle.Metric, 5000, "595.28 x 841.89 pts", []string{"in fives, up to 200", "Stop here"}},
	} {
		p := samplePlan()
		p.Brief.Display = c.sys
		acc := accepted(t, p, c.lot)
		if err := sampling.Record(acc, 1, 42.06); err != nil {
			t.Fatal(err)
		}
		pages := articlePages(t, p, acc, c.size)
		b, err := FirstArticle(p, acc, Options{Size: c.size})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "first-article.pdf")
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		run := func(name string, args ...string) string {
			out, err := exec.Command(name, args...).CombinedOutput()
			if err != nil {
				t.Fatalf("%s (Debian packages poppler-utils, qpdf): %v: %s", name, err, out)
			}
			return string(out)
		}
		run("qpdf", "--check", file)
		info := run("pdfinfo", file)
		if !strings.Contains(info, c.page) {
			t.Errorf("%s: page size is not %s:\n%s", c.size.Name, c.page, info)
		}
		if m := regexp.MustCompile(`Pages:\s+(\d+)`).FindStringSubmatch(info); m == nil || m[1] != strconv.Itoa(len(pages)) {
			t.Errorf("%s: the number of pages is not %d:\n%s", c.size.Name, len(pages), info)
		}
		text := strings.Join(strings.Fields(run("pdftotext", "-layout", file, "-")), " ")
		for _, w := range c.want {
			if !strings.Contains(text, w) {
				t.Errorf("%s, lot of %d: %q is not found in the text", c.size.Name, c.lot, w)
			}
		}
		for _, l := range strings.Split(run("pdffonts", file), "\n")[2:] {
			if l != "" && !strings.Contains(l, "yes") {
				t.Errorf("%s: a font is not embedded: %s", c.size.Name, l)
			}
		}
		// Painted in colour, every pixel is grey all the same.
		image := filepath.Join(t.TempDir(), "page")
		run("pdftoppm", "-r", "40", "-f", "1", "-l", "1", "-singlefile", file, image)
		ppm, err := os.ReadFile(image + ".ppm")
		if err != nil {
			t.Fatal(err)
		}
		head := regexp.MustCompile(`^P6\s+\d+\s+\d+\s+255\s`).Find(ppm)
		if head == nil {
			t.Fatal("pdftoppm wrote no picture")
		}
		for px := ppm[len(head):]; len(px) >= 3; px = px[3:] {
			if px[0] != px[1] || px[1] != px[2] {
				t.Fatalf("a pixel is coloured: %v", px[:3])
			}
		}
	}
}
