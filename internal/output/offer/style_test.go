package offer

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// luminance and contrast are those of WCAG 2.2 (definitions of relative luminance and
// contrast ratio).
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 4 {
		hex = "#" + strings.Repeat(hex[1:2], 2) + strings.Repeat(hex[2:3], 2) + strings.Repeat(hex[3:4], 2)
	}
	var l float64
	for i, k := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatalf("colour %q: %v", hex, err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += k * c
	}
	return l
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Text has a contrast of 4.5 and more, edges that tell something 3 and more (WCAG 2.2,
// 1.4.3 and 1.4.11), by day, by night and on paper.
func TestContrast(t *testing.T) {
	// Known beside the definition: #767676 is the lightest grey on white that passes.
	if got := contrast(t, "#767676", "#ffffff"); math.Abs(got-4.54) > 0.005 {
		t.Fatalf("the contrast of #767676 on white is %.2f, not 4.54", got)
	}
	roots := regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(pageCSS, -1)
	if len(roots) != 3 {
		t.Fatalf("%d sets of colours", len(roots))
	}
	for i, r := range roots {
		c := map[string]string{}
		for _, m := range regexp.MustCompile(`--(\w+): (#[0-9a-f]+)`).FindAllStringSubmatch(r[1], -1) {
			c[m[1]] = m[2]
		}
		for _, p := range [][2]string{
			{"ink", "ground"}, {"ink", "plate"}, {"ink", "wash"}, {"quiet", "ground"}, {"quiet", "plate"}, {"quiet", "wash"},
			{"blue", "ground"}, {"blue", "plate"}, {"plate", "blue"},
		} {
			if c[p[0]] == "" || c[p[1]] == "" {
				t.Fatalf("set %d: no colour %s or %s", i, p[0], p[1])
			}
			if k := contrast(t, c[p[0]], c[p[1]]); k < 4.5 {
				t.Errorf("set %d: %s on %s has a contrast of %.2f", i, p[0], p[1], k)
			}
		}
	}
	// No colour stands beside these but white, under pictures, and black on paper.
	rules := regexp.MustCompile(`:root \{[^}]*\}`).ReplaceAllString(pageCSS, "")
	for _, m := range regexp.MustCompile(`#[0-9a-f]{3,8}\b`).FindAllString(rules, -1) {
		if m != "#fff" && m != "#000" {
			t.Errorf("the colour %s has no name", m)
		}
	}
}
