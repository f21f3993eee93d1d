package hold

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// stance turns a part so that one side looks down; what is laid in jaws after that
// is turned about the vertical and shifted.
type stance struct{ x, y, z r3.Vec }

// standing is the stance with a direction of the model down. At no turn the vise's
// X is the model's X, or its Y where X is upright.
func standing(down r3.Vec) stance {
	z := r3.Unit(r3.Scale(-1, down))
	x := r3.Vec{X: 1}
	if math.Abs(z.X) > 0.9 {
		x = r3.Vec{Y: 1}
	}
	x = r3.Unit(r3.Sub(x, r3.Scale(r3.Dot(x, z), z)))
	return stance{x, r3.Cross(z, x), z}
}

// Laid is the part as it lies in the jaws, in the vise's frame.
func Laid(m *mesh.Mesh, pose fettle.PocketPose) *mesh.Mesh {
	s := standing(geom.Vec(pose.Down))
	sin, cos := math.Sincos(pose.TurnDeg * math.Pi / 180)
	// Quarter turns are exact, so that upright walls stay in line with the jaws.
	if q := pose.TurnDeg / 90; q == math.Round(q) {
		sin, cos = math.Round(sin), math.Round(cos)
	}
	out := &mesh.Mesh{Pos: make([]r3.Vec, len(m.Pos)), Tri: m.Tri, Face: m.Face}
	for i, p := range m.Pos {
		x, y := r3.Dot(p, s.x), r3.Dot(p, s.y)
		out.Pos[i] = r3.Vec{X: cos*x - sin*y, Y: sin*x + cos*y, Z: r3.Dot(p, s.z)}
	}
	box := out.Box()
	by := r3.Vec{
		X: pose.ShiftMM - (box.Min.X+box.Max.X)/2,
		Y: pose.AcrossMM - (box.Min.Y+box.Max.Y)/2,
		Z: -pose.GripMM - box.Min.Z,
	}
	for i := range out.Pos {
		out.Pos[i] = r3.Add(out.Pos[i], by)
	}
	return out
}

// leastTurn is the turn in degrees, at least 0 and below 90, at which the part's
// plan fits the smallest upright rectangle. That rectangle has a side along one of
// the plan's convex hull (H. Freeman and R. Shapira, "Determining the
// minimum-area encasing rectangle for an arbitrary closed curve", Communications
// of the ACM 18 (1975) 409).
func leastTurn(m *mesh.Mesh) float64 {
	hull := planHull(m)
	best, area := 0.0, math.Inf(1)
	for i, p := range hull {
		d := r2.Sub(hull[(i+1)%len(hull)], p)
		if d == (r2.Vec{}) {
			continue
		}
		d = r2.Unit(d)
		lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
		for _, q := range hull {
			u, v := d.X*q.X+d.Y*q.Y, -d.Y*q.X+d.X*q.Y
			lo, hi = r2.Vec{X: min(lo.X, u), Y: min(lo.Y, v)}, r2.Vec{X: max(hi.X, u), Y: max(hi.Y, v)}
		}
		// A turn that gains less than a thousandth is not worth a crooked part.
		if a := (hi.X - lo.X) * (hi.Y - lo.Y); a < area*(1-1e-3) {
			area = a
			best = math.Mod(-math.Atan2(d.Y, d.X)*180/math.Pi+360, 90)
		}
	}
	return best
}

// planHull is the convex hull of the plan, anticlockwise (A. M. Andrew, "Another
// efficient algorithm for convex hulls in two dimensions", Information Processing
// Letters 9 (1979) 216).
func planHull(m *mesh.Mesh) []r2.Vec {
	pts := make([]r2.Vec, len(m.Pos))
	for i, p := range m.Pos {
		pts[i] = r2.Vec{X: p.X, Y: p.Y}
	}
	slices.SortFunc(pts, func(a, b r2.Vec) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	pts = slices.Compact(pts)
	if len(pts) < 3 {
		return pts
	}
	half := func(pts []r2.Vec) []r2.Vec {
		var h []r2.Vec
		for _, p := range pts {
			for len(h) >= 2 && r2.Cross(r2.Sub(h[len(h)-1], h[len(h)-2]), r2.Sub(p, h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, p)
		}
		return h[:len(h)-1]
	}
	lower := half(pts)
	slices.Reverse(pts)
	return append(lower, half(pts)...)
}
