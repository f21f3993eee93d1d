//go:build outside

package paper

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fettle"
)

// run is what a program of a Debian package says.
func run(t *testing.T, from, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s (Debian package %s): %v: %s", name, from, err, out)
	}
	return string(out)
}

// Two programs that others wrote (Poppler, QPDF) open the traveler: pages of the right
// size, the face embedded, its title and language, all its text, and a file without
// faults.
func TestOthersReadTheTraveler(t *testing.T) {
	for _, c := range []struct {
		size Size
		sys  fettle.System
		page string
		want []string
	}{
		{A4, fettle.Metric, "595.28 x 841.89 pts", []string{"U Ra 0.80 µm", "(0.30–0.80)", "Ø 4.20 through", "48.00 × 74.00 × 13.00 mm", "−24.00", "Stroke at 90°", "CAUTION", "9f2c4e81d07a"}},
		{Letter, fettle.Inch, "612 x 792 pts", []string{"20 µin", "Ø 0.165 through", "−0.945", "thou", "CAUTION"}},
	} {
		p := samplePlan()
		o := full(p)
		o.Size, o.Display = c.size, c.sys
		b, err := Traveler(p, plate(t), o)
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "traveler.pdf")
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		info := run(t, "poppler-utils", "pdfinfo", file)
		if !strings.Contains(info, c.page) || !strings.Contains(info, p.Title) {
			t.Errorf("%s: page size is not %s, or there is no title:\n%s", c.size.Name, c.page, info)
		}
		pages, err := Pages(p, plate(t), o)
		if err != nil {
			t.Fatal(err)
		}
		if m := regexp.MustCompile(`Pages:\s+(\d+)`).FindStringSubmatch(info); m == nil || m[1] != strconv.Itoa(len(pages)) {
			t.Errorf("%s: the number of pages is not %d:\n%s", c.size.Name, len(pages), info)
		}
		text := run(t, "poppler-utils", "pdftotext", "-layout", file, "-")
		for _, w := range c.want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: %q is not found in the text", c.size.Name, w)
			}
		}
		// Every text that was set is there, letter for letter; only its order on the page
		// is the reader's.
		bare := func(s string) string { return strings.Join(strings.Fields(s), "") }
		raw := bare(run(t, "poppler-utils", "pdftotext", "-raw", file, "-"))
		for n, d := range pages {
			for _, x := range d.Texts {
				if x.Angle == 0 && !strings.Contains(raw, bare(Clean(x.S))) {
					t.Errorf("%s, page %d: %q is not found in the text", c.size.Name, n+1, x.S)
				}
			}
		}
		for _, l := range strings.Split(run(t, "poppler-utils", "pdffonts", file), "\n")[2:] {
			if l != "" && !strings.Contains(l, "yes") {
				t.Errorf("%s: a font is not embedded: %s", c.size.Name, l)
			}
		}
		if says := run(t, "qpdf", "qpdf", "--check", file); !strings.Contains(says, "No syntax or stream encoding errors found") {
			t.Errorf("%s: qpdf finds fault: %s", c.size.Name, says)
		}
		if says := run(t, "qpdf", "qpdf", "--json", file); !regexp.MustCompile(`"/Lang": "(u:)?en`).MatchString(says) {
			t.Errorf("%s: the file does not say its language", c.size.Name)
		}
	}
}

// Every code on the printed pages is read back by another program (ZBar) at the
// resolution of a plain scanner, with all that it holds.
func TestZBarReadsEveryCode(t *testing.T) {
	for _, c := range []struct {
		size Size
		link func(int) string
		name string
	}{
		{A4, linked, "address"}, {Letter, nil, "words"},
		{A4, func(i int) string { return fmt.Sprintf("https://shop.example/run/%0180d", i) }, "long address"},
		{A4, nil, "odd letters"},
	} {
		p := samplePlan()
		if c.name == "odd letters" {
			p.Title = "Türschild für Zoë ½ µ"
		}
		tr := making(t, p, Options{Size: c.size, Link: c.link})
		var want []string
		for _, k := range tr.codes {
			want = append(want, k.text)
		}
		b, err := PDF(tr.sheet.pages, c.size.W, c.size.H, p.Title)
		if err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		file := filepath.Join(dir, "traveler.pdf")
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		run(t, "poppler-utils", "pdftoppm", "-r", "200", "-gray", file, filepath.Join(dir, "page"))
		pictures, _ := filepath.Glob(filepath.Join(dir, "page*"))
		var got []string
		for _, f := range pictures {
			out, err := exec.Command("zbarimg", "-q", "--raw", f).Output()
			if e, ok := err.(*exec.ExitError); ok && e.ExitCode() == 4 { // a page without codes
				continue
			} else if err != nil {
				t.Fatalf("zbarimg (Debian package zbar-tools): %v", err)
			}
			got = append(got, strings.Split(strings.TrimRight(string(out), "\n"), "\n")...)
		}
		slices.Sort(want)
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("%s on %s: read\n%q\nof\n%q", c.name, c.size.Name, got, want)
		}
	}
}
