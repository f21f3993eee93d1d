package plug

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// hull is the convex hull of points, anticlockwise (Andrew, "Another efficient
// algorithm for convex hulls in two dimensions", Information Processing Letters
// 9(5), 1979).
func hull(pts []r2.Vec) []r2.Vec {
	p := slices.Clone(pts)
	slices.SortFunc(p, func(a, b r2.Vec) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	var out []r2.Vec
	for pass := range 2 {
		from := len(out)
		for _, q := range p {
			for len(out) >= from+2 && r2.Cross(r2.Sub(out[len(out)-1], out[len(out)-2]), r2.Sub(q, out[len(out)-2])) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, q)
		}
		out = out[:len(out)-1]
		if pass == 0 {
			slices.Reverse(p)
		}
	}
	return out
}
