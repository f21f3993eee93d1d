//go:build outside

package offer

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/output/paper"
)

// Other programs (Poppler, qpdf) open the offer on both papers, find nothing wrong with
// it, its pages of the right size, its faces embedded, its pictures and its text.
func TestOthersReadThePaper(t *testing.T) {
	run := func(pkg, name string, args ...string) string {
		out, err := exec.Command(name, args...).CombinedOutput()
		if err != nil {
			t.Fatalf("%s (Debian package %s): %v: %s", name, pkg, err, out)
		}
		return string(out)
	}
	for _, c := range []struct {
		size paper.Size
		page string
	}{{paper.A4, "595.28 x 841.89 pts"}, {paper.Letter, "612 x 792 pts"}} {
		for n := 1; n <= 3; n++ {
			b, err := PDF(sample(t, n), c.size)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(t.TempDir(), "offer.pdf")
			if err := os.WriteFile(file, b, 0o644); err != nil {
				t.Fatal(err)
			}
			if out := run("qpdf", "qpdf", "--check", file); strings.Contains(strings.ToLower(out), "warning") {
				t.Errorf("%s, %d finishes: %s", c.size.Name, n, out)
			}
			info := run("poppler-utils", "pdfinfo", file)
			m := regexp.MustCompile(`Pages:\s+(\d+)`).FindStringSubmatch(info)
			if m == nil || !strings.Contains(info, c.page) || !strings.Contains(info, "Offer 2026-014: Escutcheon plate") {
				t.Fatalf("%s, %d finishes: %s", c.size.Name, n, info)
			}
			if pages, _ := strconv.Atoi(m[1]); pages < 1 || pages > mostPages {
				t.Errorf("%s, %d finishes: %d pages", c.size.Name, n, pages)
			}
			text := run("poppler-utils", "pdftotext", "-layout", file, "-")
			for _, w := range []string{"Tern Lane Small Metals", "44.0 × 70.0 × 11.0 mm", "USD 62.40", "18 September 2026", "✓", "Signature", "4,415.00 in all"} {
				if !strings.Contains(text, w) {
					t.Errorf("%s, %d finishes: %q is not found in the text", c.size.Name, n, w)
				}
			}
			if got := len(regexp.MustCompile(`(?m)^\s+\d+\s+\d+ image `).FindAllString(run("poppler-utils", "pdfimages", "-list", file), -1)); got != n+1 {
				t.Errorf("%s, %d finishes: %d pictures", c.size.Name, n, got)
			}
			for _, l := range strings.Split(run("poppler-utils", "pdffonts", file), "\n")[2:] {
				if l != "" && !strings.Contains(l, "yes") {
					t.Errorf("%s: a font is not embedded: %s", c.size.Name, l)
				}
			}
		}
	}
}
