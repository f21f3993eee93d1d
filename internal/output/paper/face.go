package paper

import (
	"strings"
	"sync"

	"fettle/internal/shape/typeface"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
)

// face is a font and the file that it came from, which goes into the paper.
type face struct {
	*typeface.Face
	ttf []byte
}

// The one face of all paper: narrow, sturdy, with the signs a shop needs
// (µ ⌀ × ° ≤ –).
var faces = sync.OnceValue(func() [2]*face {
	return [2]*face{readFace(dejavusanscondensed.TTF), readFace(dejavusanscondensedbold.TTF)}
})

func readFace(ttf []byte) *face { return &face{typeface.Read(ttf), ttf} }

// width is how wide s is in a type of the given em.
func (f *face) width(s string, size float64) float64 { return f.Width(s) * size }

// Metric measures text in the face that paper is set in, in mm: a draw.Metric.
// Text is taken as it will be printed, see [Clean].
func Metric(s string, size float64, bold bool) float64 {
	f := faces()[0]
	if bold {
		f = faces()[1]
	}
	return f.width(s, size)
}

// Clean makes any text printable: control characters and breaks become spaces,
// characters that the face does not hold a box.
func Clean(s string) string {
	f := faces()
	return strings.Map(func(r rune) rune {
		switch {
		case r == 0xAD || r == 0x200B || r == 0xFEFF: // soft hyphen, zero width
			return -1
		case r < 0x20 || r == 0x7F || r == 0xA0 || r >= 0x80 && r < 0xA0 || r == 0x2028 || r == 0x2029:
			return ' '
		case f[0].Glyph[r] == 0 || f[1].Glyph[r] == 0:
			return '□'
		}
		return r
	}, s)
}

// wrap breaks s into lines no wider than w. Words are kept whole unless one is
// wider than a line.
func wrap(s string, w, size float64, bold bool) []string {
	var lines []string
	for _, par := range strings.Split(s, "\n") {
		line := ""
		for _, word := range split(par) {
			for Metric(word, size, bold) > w {
				// The part of the word that still fits on a line of its own.
				if line != "" {
					lines, line = append(lines, line), ""
				}
				cut := 0
				for i := range word {
					if i > 0 && Metric(word[:i], size, bold) > w {
						break
					}
					cut = i
				}
				if cut == 0 {
					break
				}
				lines, word = append(lines, word[:cut]), word[cut:]
			}
			switch {
			case line == "":
				line = word
			case Metric(line+" "+word, size, bold) <= w:
				line += " " + word
			default:
				lines, line = append(lines, line), word
			}
		}
		if line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// atMost is wrap cut off after n lines, the last of which then ends in an
// ellipsis.
func atMost(n int, s string, w, size float64, bold bool) []string {
	lines := wrap(s, w, size, bold)
	if len(lines) > n {
		last := []rune(lines[n-1])
		for len(last) > 0 && Metric(string(last)+"…", size, bold) > w {
			last = last[:len(last)-1]
		}
		lines = append(lines[:n-1:n-1], strings.TrimRight(string(last), " ")+"…")
	}
	return lines
}

// split splits at spaces, but keeps a unit with its number and a number with
// its diameter sign.
func split(s string) []string {
	var out []string
	for _, w := range strings.Fields(Clean(s)) {
		if n := len(out); n > 0 && strings.HasSuffix(out[n-1], "Ø") {
			out[n-1] += " " + w
			continue
		}
		if n := len(out); n > 0 && units[strings.TrimRight(w, ".,;:)")] {
			if last := out[n-1]; last[len(last)-1] >= '0' && last[len(last)-1] <= '9' {
				out[n-1] = last + " " + w
				continue
			}
		}
		out = append(out, w)
	}
	return out
}

// units are what must not be parted from the number before it.
var units = map[string]bool{
	"mm": true, "µm": true, "µin": true, "in": true, "thou": true, "cm²": true, "in²": true, "cm³": true, "in³": true, "%": true,
	"min": true, "h": true, "s": true, "rpm": true, "mm/min": true, "in/min": true, "l": true, "ml": true, "qt": true,
	"g": true, "kg": true, "oz": true, "lb": true,
}

// clip shortens s to one line of width w, with an ellipsis where it had to.
func clip(s string, w, size float64, bold bool) string {
	s = strings.Join(strings.Fields(Clean(s)), " ")
	if Metric(s, size, bold) <= w {
		return s
	}
	runes := []rune(s)
	for len(runes) > 0 && Metric(string(runes)+"…", size, bold) > w {
		runes = runes[:len(runes)-1]
	}
	return strings.TrimRight(string(runes), " ") + "…"
}
