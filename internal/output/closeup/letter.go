package closeup

import (
	"image"
	"image/color"
	"strings"
	"unicode"

	"golang.org/x/image/vector"
)

// hand letters in one size.
type hand struct{ em float64 } // px

func newHand(em float64) *hand { return &hand{em} }

func of(bold bool) *face {
	if bold {
		return faces()[1]
	}
	return faces()[0]
}

// wide is the width of s in pixels.
func (h *hand) wide(s string, bold bool) float64 { return h.em * of(bold).Width(s) }

// write puts s on a sheet of grey with its baseline at y.
func (h *hand) write(to *image.Gray, x, y float64, s string, bold bool, grey uint8) {
	// Only the strip that the letters stand in is painted.
	top := int(y - 1.3*h.em)
	x0 := int(x) - 2
	box := image.Rect(x0, top, x0+int(h.wide(s, bold))+6, int(y+0.5*h.em)).Intersect(to.Bounds())
	if box.Empty() {
		return
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	of(bold).draw(r, s, x-float64(box.Min.X), y-float64(box.Min.Y), h.em)
	r.Draw(to, box, image.NewUniform(color.Gray{Y: grey}), image.Point{})
}

// clean makes text printable on one line.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.IsSpace(r) {
			return ' '
		}
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// wrap breaks s into at most n lines of width w; what has no room ends in an
// ellipsis.
func (h *hand) wrap(s string, w float64, bold bool, n int) []string {
	var lines []string
	line := ""
	words := strings.Fields(clean(s))
	for k, word := range words {
		next := word
		if line != "" {
			next = line + " " + word
		}
		if line == "" || h.wide(next, bold) <= w {
			line = next
			continue
		}
		if len(lines) == n-1 {
			// The last line: whatever of the rest fits.
			line += " " + strings.Join(words[k:], " ")
			break
		}
		lines, line = append(lines, line), word
	}
	if line != "" {
		lines = append(lines, line)
	}
	for i := range lines {
		lines[i] = h.clip(lines[i], w, bold)
	}
	return lines
}

// clip shortens s to width w with an ellipsis.
func (h *hand) clip(s string, w float64, bold bool) string {
	if h.wide(s, bold) <= w {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && h.wide(string(r)+"…", bold) > w {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ") + "…"
}

// fill paints the polygon pts, given as x, y pairs, in one grey.
func fill(to *image.Gray, grey uint8, pts ...float64) {
	b := to.Bounds()
	r := vector.NewRasterizer(b.Dx(), b.Dy())
	r.MoveTo(float32(pts[0]), float32(pts[1]))
	for i := 2; i+1 < len(pts); i += 2 {
		r.LineTo(float32(pts[i]), float32(pts[i+1]))
	}
	r.ClosePath()
	r.Draw(to, b, image.NewUniform(color.Gray{Y: grey}), image.Point{})
}
