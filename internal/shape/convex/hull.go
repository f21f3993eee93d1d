package convex

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// hull is the convex hull of a few points, every triple of which is tried, about
// its centre of volume. Points in general position give triangles; of points in
// one plane the triangles may overlap, which hurts nothing that is asked here.
func hull(points []r3.Vec) *Body {
	b := &Body{}
	index := make([]int, len(points))
	for i := range index {
		index[i] = -1
	}
	vert := func(i int) int {
		if index[i] < 0 {
			index[i] = len(b.verts)
			b.verts = append(b.verts, points[i])
		}
		return index[i]
	}
	for i := range points {
		for j := i + 1; j < len(points); j++ {
			for k := j + 1; k < len(points); k++ {
				n := r3.Cross(r3.Sub(points[j], points[i]), r3.Sub(points[k], points[i]))
				if r3.Norm(n) == 0 {
					continue
				}
				n = r3.Unit(n)
				above, below := 0.0, 0.0
				for _, p := range points {
					d := r3.Dot(n, r3.Sub(p, points[i]))
					above, below = math.Max(above, d), math.Max(below, -d)
				}
				const flat = 1e-12
				switch {
				case above <= flat:
					b.face([]int{vert(i), vert(j), vert(k)})
				case below <= flat:
					b.face([]int{vert(i), vert(k), vert(j)})
				}
			}
		}
	}
	c := b.centroid()
	for i := range b.verts {
		b.verts[i] = r3.Sub(b.verts[i], c)
	}
	for i, f := range b.faces {
		b.faces[i].off = r3.Dot(f.normal, b.verts[f.loop[0]])
	}
	return b
}

// centroid is the centre of volume, summed over tetrahedra from the origin.
func (b *Body) centroid() r3.Vec {
	var sum r3.Vec
	volume := 0.0
	for _, f := range b.faces {
		p := b.verts[f.loop[0]]
		for i := 2; i < len(f.loop); i++ {
			q, r := b.verts[f.loop[i-1]], b.verts[f.loop[i]]
			v := r3.Dot(p, r3.Cross(q, r)) / 6
			volume += v
			sum = r3.Add(sum, r3.Scale(v/4, r3.Add(p, r3.Add(q, r))))
		}
	}
	return r3.Scale(1/volume, sum)
}
