package closeup

import (
	"sync"

	"fettle/internal/shape/typeface"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"golang.org/x/image/vector"
	"gonum.org/v1/gonum/spatial/r2"
)

// face letters a picture.
type face struct{ *typeface.Face }

// The face that everything of ours is lettered in, plain and bold.
var faces = sync.OnceValue(func() [2]*face {
	return [2]*face{{typeface.Read(dejavusanscondensed.TTF)}, {typeface.Read(dejavusanscondensedbold.TTF)}}
})

// draw adds the letters of s to r, the baseline beginning at (x, y), y down.
func (f *face) draw(r *vector.Rasterizer, s string, x, y, em float64) {
	k := em / f.PerEm
	for _, c := range s {
		g := f.Glyph[c]
		for _, pts := range f.Contours(g) {
			walk(r, pts, func(p typeface.Knot) (float32, float32) { return float32(x + k*p.X), float32(y - k*p.Y) })
		}
		x += k * float64(f.Advance(g))
	}
}

// walk follows a contour: between two control points in a row lies a point of
// the curve, half-way.
func walk(r *vector.Rasterizer, pts []typeface.Knot, to func(typeface.Knot) (float32, float32)) {
	half := func(a, b typeface.Knot) typeface.Knot {
		return typeface.Knot{Vec: r2.Vec{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}, On: true}
	}
	n := len(pts)
	start := pts[0]
	if !start.On {
		if start = pts[n-1]; !start.On {
			start = half(pts[0], pts[n-1])
		}
	}
	r.MoveTo(to(start))
	for i := range n {
		p, next := pts[i], pts[(i+1)%n]
		if p.On {
			r.LineTo(to(p))
			continue
		}
		if !next.On {
			next = half(p, next)
		}
		cx, cy := to(p)
		nx, ny := to(next)
		r.QuadTo(cx, cy, nx, ny)
	}
	r.ClosePath()
}
