// Package letter gives the outlines of letters as loops in the plane, for solids
// that carry a text: [Text]. The face is DejaVu Sans Bold, whose strokes are
// thick enough to be printed, cast and milled at a few millimetres.
package letter

import (
	"math"
	"slices"
	"unicode/utf8"

	"fettle/internal/shape/typeface"

	"gonum.org/v1/gonum/spatial/r2"
)

// Text is a line of text whose capitals are height mm high, on the baseline y = 0
// with its leftmost point at x = 0: loops that do not cross, outlines
// anticlockwise and the holes in them clockwise, chords within tol mm of the true
// curves, or within 1/200 of the height where that is finer. width is how far the line reaches to the right. Letters that the face
// lacks are left out, as are a few rare ones whose parts do not join cleanly, and so are blanks at either end. Letters are set with the
// face's own advances and kerning; accents that are runes of their own are not
// put over the letter before them, so give é as one rune. It panics unless height
// and tol are positive and finite.
func Text(s string, height, tol float64) (loops [][]r2.Vec, width float64) {
	if !(height > 0) || !(tol > 0) || math.IsInf(height, 0) || math.IsInf(tol, 0) {
		panic("letter: a text needs a height and a tolerance above 0")
	}
	f := built()
	scale := height / f.capital
	pen, last := 0, 0
	var before [][]r2.Vec // the letter before, in font units
	left, right := math.Inf(1), math.Inf(-1)
	for _, r := range s {
		g := f.Glyph[r]
		if g == 0 || r == utf8.RuneError {
			continue
		}
		pen += f.Kern(last, g)
		last = g
		glyph := f.outline(g, tol/scale)
		shift(glyph, float64(pen))
		// Some kerned pairs, and a j after a tail, run into each other.
		for touching(before, glyph) {
			shift(glyph, apart)
			pen += apart
		}
		for _, loop := range glyph {
			out := make([]r2.Vec, len(loop))
			for i, p := range loop {
				out[i] = r2.Scale(scale, p)
				left, right = min(left, out[i].X), max(right, out[i].X)
			}
			loops = append(loops, out)
		}
		before = glyph
		pen += f.Advance(g)
	}
	if len(loops) == 0 {
		return nil, 0
	}
	shift(loops, -left)
	return loops, right - left
}

// apart is by what steps letters are moved that would touch, in font units.
const apart = 50

func shift(loops [][]r2.Vec, x float64) {
	for _, loop := range loops {
		for i := range loop {
			loop[i].X += x
		}
	}
}

// coarsest is what share of a capital's height the chords may be off by at most.
const coarsest = 200

// outline is a glyph as loops, y up, in the font's units.
func (f *face) outline(g int, tol float64) [][]r2.Vec {
	// Coarser chords might cross those of the other rim of a stroke.
	tol = min(tol, f.capital/coarsest)
	var loops [][]r2.Vec
	for _, c := range f.Contours(g) {
		loop := walk(c, tol)
		slices.Reverse(loop) // TrueType has outlines run clockwise
		if below(loop) {
			for i := range loop {
				loop[i] = r2.Add(loop[i], nudge)
			}
		}
		loops = append(loops, loop)
	}
	if joined, ok := union(loops); ok && clean(joined) {
		return joined
	}
	return nil // rather no letter than a broken solid
}

// nudge goes to what hangs below a letter, an ogonek or a cedilla, which may end
// just on the baseline: so little that nobody sees it, so that it goes cleanly
// into the letter. In font units: a capital has 1493.
var nudge = r2.Vec{X: 0.004, Y: 0.01}

// below reports whether a loop hangs from the baseline.
func below(loop []r2.Vec) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range loop {
		lo, hi = min(lo, p.Y), max(hi, p.Y)
	}
	return lo < 0 && hi < -lo
}

// walk follows a contour: between two control points in a row lies a point of
// the curve, half-way.
func walk(pts []typeface.Knot, tol float64) []r2.Vec {
	half := func(a, b typeface.Knot) typeface.Knot {
		return typeface.Knot{Vec: r2.Scale(0.5, r2.Add(a.Vec, b.Vec)), On: true}
	}
	n := len(pts)
	at := pts[0]
	if !at.On {
		if at = pts[n-1]; !at.On {
			at = half(pts[0], pts[n-1])
		}
	}
	var loop []r2.Vec
	add := func(p r2.Vec) {
		if k := len(loop); k == 0 || loop[k-1] != p {
			loop = append(loop, p)
		}
	}
	add(at.Vec)
	for i := range n {
		p, next := pts[i], pts[(i+1)%n]
		if p.On {
			add(p.Vec)
			at = p
			continue
		}
		if !next.On {
			next = half(p, next)
		}
		for _, q := range flatten(at.Vec, p.Vec, next.Vec, tol) {
			add(q)
		}
		at = next
	}
	if k := len(loop); loop[0] == loop[k-1] {
		loop = loop[:k-1]
	}
	return loop
}

// flatten is a quadratic Bézier curve from a to c as chords, without its first
// point. A chord over a step h of the parameter is off by h²/8 times the second
// derivative, which is 2(a − 2b + c) all along (de Boor, A Practical Guide to
// Splines, 2001, chapter III, for linear interpolation).
func flatten(a, b, c r2.Vec, tol float64) []r2.Vec {
	bend := r2.Norm(r2.Add(r2.Sub(a, r2.Scale(2, b)), c))
	n := max(1, int(math.Ceil(math.Sqrt(bend/(4*tol)))))
	out := make([]r2.Vec, n)
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		out[i-1] = r2.Add(r2.Add(r2.Scale((1-t)*(1-t), a), r2.Scale(2*t*(1-t), b)), r2.Scale(t*t, c))
	}
	out[n-1] = c
	return out
}
