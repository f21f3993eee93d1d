package paper

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Widths are those that the PDF library, which reads the font by itself, works
// out.
func TestMetricAgreesWithTheLibrary(t *testing.T) {
	pdf := fpdf.New("P", "mm", "A4", "")
	f := faces()
	pdf.AddUTF8FontFromBytes("face", "", bytes.Clone(f[0].ttf))
	pdf.AddUTF8FontFromBytes("face", "B", bytes.Clone(f[1].ttf))
	for _, s := range []string{"Escutcheon plate", "0.80 µm (0.50–1.3)", "2 × ⌀ 4.20", "−24.00 ≤ 30°", "Wij 1 l", "□ Ø ·"} {
		for bold, style := range map[bool]string{false: "", true: "B"} {
			pdf.SetFont("face", style, 10)
			want := pdf.GetStringWidth(s)
			// The library rounds every letter to a thousandth of an em.
			if got := Metric(s, 10*pointMM, bold); math.Abs(got-want) > 0.001*10*pointMM*float64(len(s)) {
				t.Errorf("%q bold %v is %.4f mm wide, the library says %.4f", s, bold, got, want)
			}
		}
	}
}

// The signs a shop needs are in the face.
func TestSigns(t *testing.T) {
	const signs = "µ⌀Ø×°²³≤≥±–−·…äöüéñçßŁ€"
	if got := Clean(signs); got != signs {
		t.Errorf("printed as %q", got)
	}
	if got := Clean("a\tb\u00a0c\u200bd\U0001F600\x00"); got != "a b cd□ " {
		t.Errorf("cleaned to %q", got)
	}
}

func TestWrap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		w := rapid.Float64Range(8, 80).Draw(t, "width")
		lines := wrap(s, w, bodySize, false)
		for _, l := range lines {
			if Metric(l, bodySize, false) > w+1e-9 {
				t.Fatalf("%q is wider than %.1f mm", l, w)
			}
		}
		// Nothing is lost but spaces.
		bare := func(s string) string { return strings.Join(strings.Fields(Clean(s)), "") }
		if diff := cmp.Diff(bare(strings.ReplaceAll(s, "\n", " ")), bare(strings.Join(lines, ""))); diff != "" {
			t.Fatal(diff)
		}
		if cut := atMost(2, s, w, bodySize, false); len(cut) > 2 || len(lines) > 2 && !strings.HasSuffix(cut[1], "…") {
			t.Fatalf("cut to two lines: %q", cut)
		}
		if c := clip(s, w, bodySize, true); Metric(c, bodySize, true) > w+Metric("…", bodySize, true) {
			t.Fatalf("%q is clipped to more than %.1f mm", c, w)
		}
	})
	if got := wrap("takes off 4.3 µm a side", Metric("takes off 4.3 µ", bodySize, false), bodySize, false); !cmp.Equal(got, []string{"takes off", "4.3 µm a side"}) {
		t.Errorf("a number was parted from its unit: %q", got)
	}
}

func TestSentence(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "rub it": "Rub it.", "done.": "Done.", "hole-1 is tight": "hole-1 is tight.", "ärmel hoch": "Ärmel hoch.", "why?": "Why?",
	} {
		if got := sentence(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
	if got := between("40 µm", "150 µm"); got != "40–150 µm" {
		t.Errorf("range is %q", got)
	}
	if got := between("40 min", "1 h 50 min"); got != "40 min–1 h 50 min" {
		t.Errorf("range is %q", got)
	}
}
