package letter

import (
	"image"
	"math"
	"strings"
	"testing"

	"fettle/internal/shape/form"

	"golang.org/x/image/vector"
	"gonum.org/v1/gonum/spatial/r2"
)

// printable is ASCII and what western and central European names need beside it.
func printable() []rune {
	var list []rune
	for r := rune(0x21); r < 0x180; r++ {
		if r < 0x7F || r > 0xA0 && r != 0xAD {
			list = append(list, r)
		}
	}
	return append(list, 'Ș', 'ș', 'Ț', 'ț', '–', '—', '‘', '’', '“', '”', '€', '×', '⌀', 'Ω', '≤', '≥')
}

// crossing reports whether two sides meet that are no neighbours in a loop.
func crossing(loops [][]r2.Vec) bool {
	type line struct {
		a, b    r2.Vec
		loop, i int
	}
	var all []line
	for l, loop := range loops {
		for i, p := range loop {
			all = append(all, line{p, loop[(i+1)%len(loop)], l, i})
		}
	}
	turn := func(a, b, c r2.Vec) float64 { return r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) }
	for i, p := range all {
		for _, q := range all[:i] {
			n := len(loops[p.loop])
			if p.loop == q.loop && ((p.i+1)%n == q.i || (q.i+1)%n == p.i) {
				continue
			}
			if min(p.a.X, p.b.X) > max(q.a.X, q.b.X) || min(q.a.X, q.b.X) > max(p.a.X, p.b.X) {
				continue
			}
			u, v := turn(p.a, p.b, q.a), turn(p.a, p.b, q.b)
			if u == 0 && v == 0 {
				continue // on one line: told by its neighbours
			}
			if u*v <= 0 && turn(q.a, q.b, p.a)*turn(q.a, q.b, p.b) <= 0 {
				return true
			}
		}
	}
	return false
}

// within counts the loops that a point is inside of.
func within(loops [][]r2.Vec, p r2.Vec) int {
	n := 0
	for _, loop := range loops {
		in := false
		for i, a := range loop {
			b := loop[(i+1)%len(loop)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
		if in {
			n++
		}
	}
	return n
}

// No letter's loops cross, however coarse the chords; outlines run anticlockwise,
// what lies in them clockwise; and they enclose something that can be divided
// into triangles.
func TestLoopsAreClean(t *testing.T) {
	fineness := []float64{0.3, 0.01}
	if testing.Short() {
		fineness = fineness[:1]
	}
	for _, tol := range fineness {
		for _, r := range printable() {
			loops, width := Text(string(r), 10, tol)
			if len(loops) == 0 || !(width > 0) {
				t.Errorf("%c (%x): nothing", r, r)
				continue
			}
			if crossing(loops) {
				t.Errorf("%c (%x) at %g: sides cross", r, r, tol)
				continue
			}
			var pts []r2.Vec
			var index [][]int
			area := 0.0
			for i, loop := range loops {
				others := append(append([][]r2.Vec{}, loops[:i]...), loops[i+1:]...)
				hole := within(others, loop[0])%2 == 1
				if (form.Area(loop) < 0) != hole {
					t.Errorf("%c (%x): loop %d runs the wrong way", r, r, i)
				}
				area += form.Area(loop)
				var ids []int
				for _, p := range loop {
					ids = append(ids, len(pts))
					pts = append(pts, p)
				}
				index = append(index, ids)
			}
			tri, err := form.Triangulate(pts, index...)
			if err != nil {
				t.Errorf("%c (%x): %v", r, r, err)
				continue
			}
			sum := 0.0
			for _, v := range tri {
				sum += form.Area([]r2.Vec{pts[v[0]], pts[v[1]], pts[v[2]]})
			}
			if math.Abs(sum-area) > 1e-9*area {
				t.Errorf("%c (%x): the triangles cover %g of %g mm²", r, r, sum, area)
			}
		}
	}
}

// The same contours filled by another program, golang.org/x/image/vector, which
// follows the curves itself and fills by the non-zero rule, cover the same area.
func TestAreaAgainstRasterizer(t *testing.T) {
	f := built()
	const size = 600
	k := 300 / f.capital
	for _, r := range "HOBg8&@éçŞĄŮů%" {
		ras := vector.NewRasterizer(size, size)
		at := func(p r2.Vec) (float32, float32) { return float32(60 + k*p.X), float32(450 - k*p.Y) }
		for _, c := range f.Contours(f.Glyph[r]) {
			n := len(c)
			start := 0
			for !c[start].On {
				start++
			}
			ras.MoveTo(at(c[start].Vec))
			for i := 1; i <= n; i++ {
				p, next := c[(start+i)%n], c[(start+i+1)%n]
				if p.On {
					ras.LineTo(at(p.Vec))
					continue
				}
				to := next.Vec
				if !next.On {
					to = r2.Scale(0.5, r2.Add(p.Vec, next.Vec))
				}
				cx, cy := at(p.Vec)
				ex, ey := at(to)
				ras.QuadTo(cx, cy, ex, ey)
			}
			ras.ClosePath()
		}
		img := image.NewAlpha(image.Rect(0, 0, size, size))
		ras.Draw(img, img.Bounds(), image.Opaque, image.Point{})
		want := 0.0
		for _, a := range img.Pix {
			want += float64(a) / 255
		}
		got := 0.0
		loops, _ := Text(string(r), 300, 0.05)
		for _, loop := range loops {
			got += form.Area(loop)
		}
		if math.Abs(got-want) > 0.004*want {
			t.Errorf("%c: %g px², the rasterizer has %g", r, got, want)
		}
	}
}

// A capital is as high as asked for, stands on the baseline and begins at the
// left end.
func TestMeasures(t *testing.T) {
	for _, s := range []string{"H", "EI", "TERN 42"} {
		loops, width := Text(s, 7, 0.01)
		lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
		for _, loop := range loops {
			for _, p := range loop {
				lo = r2.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
				hi = r2.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
			}
		}
		if lo.X != 0 || math.Abs(hi.X-width) > 1e-12 {
			t.Errorf("%s reaches from %g to %g of %g", s, lo.X, hi.X, width)
		}
		// Round figures overshoot by a little, by a fiftieth or so.
		if lo.Y > 0 || lo.Y < -0.15 || hi.Y < 7-1e-9 || hi.Y > 7.15 {
			t.Errorf("%s stands from %g to %g", s, lo.Y, hi.Y)
		}
	}
}

// Kerning: A and V stand closer together than their advances say, H and H do not.
// The pair is the textbook example; by how much is the face's affair.
func TestKerning(t *testing.T) {
	f := built()
	width := func(s string) float64 { _, w := Text(s, f.capital, 1); return w }
	gap := func(a, b string) float64 {
		first := f.Advance(f.Glyph[rune(a[0])])
		// With the pen at the left side of the first letter's outline.
		return width(a+b) - float64(first) - width(b)
	}
	if k := f.Kern(f.Glyph['A'], f.Glyph['V']); !(k < -50) {
		t.Errorf("A and V are kerned by %d of 2048", k)
	}
	if !(gap("A", "V") < gap("A", "H")-50) {
		t.Errorf("AV has %g, AH %g", gap("A", "V"), gap("A", "H"))
	}
	if k := f.Kern(f.Glyph['H'], f.Glyph['H']); k != 0 {
		t.Errorf("H and H are kerned by %d", k)
	}
}

// Letters side by side do not run into each other, kerned or not.
func TestNeighboursApart(t *testing.T) {
	runes := printable()
	for i, a := range runes {
		for j, b := range runes {
			k := built().Kern(built().Glyph[a], built().Glyph[b])
			if k >= 0 && a != 'j' && b != 'j' || testing.Short() && (i+j)%7 > 0 {
				continue
			}
			if loops, _ := Text(string([]rune{a, b}), 10, 0.3); crossing(loops) {
				t.Errorf("%c%c run into each other", a, b)
			}
		}
	}
	for _, s := range []string{"KØ", "ĽT", "_j", "ďj"} {
		if loops, _ := Text(s, 10, 0.01); crossing(loops) {
			t.Errorf("%s run into each other", s)
		}
	}
}

// Chords stay within the tolerance: against the curve itself, closely sampled.
func TestFlattenWithinTolerance(t *testing.T) {
	a, b, c := r2.Vec{}, r2.Vec{X: 300, Y: 700}, r2.Vec{X: 900, Y: -100}
	for _, tol := range []float64{50, 5, 0.1, 0.003} {
		pts := append([]r2.Vec{a}, flatten(a, b, c, tol)...)
		worst := 0.0
		for i := range 20001 {
			s := float64(i) / 20000
			p := r2.Add(r2.Add(r2.Scale((1-s)*(1-s), a), r2.Scale(2*s*(1-s), b)), r2.Scale(s*s, c))
			best := math.Inf(1)
			for j := 1; j < len(pts); j++ {
				d := r2.Sub(pts[j], pts[j-1])
				u := min(1, max(0, r2.Dot(r2.Sub(p, pts[j-1]), d)/r2.Norm2(d)))
				best = min(best, r2.Norm(r2.Sub(p, r2.Add(pts[j-1], r2.Scale(u, d)))))
			}
			worst = max(worst, best)
		}
		// Not finer than needed by more than a factor of the rounding up.
		if worst > tol || worst < tol/8 {
			t.Errorf("tolerance %g: off by %g with %d chords", tol, worst, len(pts)-1)
		}
	}
}

// What the face lacks is left out, and blanks make no loops.
func TestLeftOut(t *testing.T) {
	for s, same := range map[string]string{"A\u4e2dB": "AB", " AB ": "AB", "A\x00B": "AB", "A\xffB": "AB"} {
		got, w := Text(s, 5, 0.01)
		want, v := Text(same, 5, 0.01)
		if len(got) != len(want) || math.Abs(w-v) > 1e-12 {
			t.Errorf("%q: %d loops, %g mm wide, want %d, %g", s, len(got), w, len(want), v)
		}
	}
	if loops, w := Text(strings.Repeat(" ", 5), 5, 0.01); loops != nil || w != 0 {
		t.Errorf("blanks: %v, %g", loops, w)
	}
	_, near := Text("AB", 5, 0.01)
	if _, far := Text("A B", 5, 0.01); !(far > near+0.5) {
		t.Errorf("a blank between takes no room: %g, %g", far, near)
	}
}

func BenchmarkText(b *testing.B) {
	for b.Loop() {
		Text("ESCUTCHEON P120", 5, 0.01)
	}
}
