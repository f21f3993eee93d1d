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
)

// Another program (Poppler) opens the traveler, finds its pages of the right
// size, its face embedded, and its text.
func TestPopplerReadsTheTraveler(t *testing.T) {
	for _, c := range []struct {
		size Size
		sys  fettle.System
		page string
		want []string
	}{
		{A4, fettle.Metric, "595.28 x 841.89 pts", []string{"0.50 µm", "(0.30–0.80)", "Ø 4.20 through", "48.00 × 74.00 × 13.00 mm", "−24.00", "stroke at 90°", "CAUTION", "9f2c4e81d07a"}},
		{Letter, fettle.Inch, "612 x 792 pts", []string{"20 µin", "Ø 0.165 through", "−0.945", "thou", "CAUTION"}},
	} {
		b, err := Traveler(samplePlan(), plate(t), Options{Size: c.size, Display: c.sys})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "traveler.pdf")
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		run := func(name string, args ...string) string {
			out, err := exec.Command(name, args...).CombinedOutput()
			if err != nil {
				t.Fatalf("%s (Debian package poppler-utils): %v: %s", name, err, out)
			}
			return string(out)
		}
		info := run("pdfinfo", file)
		if !strings.Contains(info, c.page) {
			t.Errorf("%s: page size is not %s:\n%s", c.size.Name, c.page, info)
		}
		pages, err := Pages(samplePlan(), plate(t), Options{Size: c.size, Display: c.sys})
		if err != nil {
			t.Fatal(err)
		}
		if m := regexp.MustCompile(`Pages:\s+(\d+)`).FindStringSubmatch(info); m == nil || m[1] != strconv.Itoa(len(pages)) {
			t.Errorf("%s: the number of pages is not %d:\n%s", c.size.Name, len(pages), info)
		}
		text := run("pdftotext", "-layout", file, "-")
		for _, w := range c.want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: %q is not found in the text", c.size.Name, w)
			}
		}
		for _, l := range strings.Split(run("pdffonts", file), "\n")[2:] {
			if l != "" && !strings.Contains(l, "yes") {
				t.Errorf("%s: a font is not embedded: %s", c.size.Name, l)
			}
		}
	}
}
