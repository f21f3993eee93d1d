package region

import (
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Layer is a region raised from one height to another.
type Layer struct {
	Low, High float64
	Region    Region
}

// Stack is the closed surface of layers that stand on one another, lowest first:
// each begins where the one below ends. Neighbours share their vertices, as the
// outlines of all layers are drawn into one plan. Where material only touches along
// a line or at a point, each side has its own vertices there, so that every edge
// has two facets.
func Stack(layers []Layer) *mesh.Mesh {
	var segs []segment
	for l, y := range layers {
		if !(y.Low < y.High) || l > 0 && y.Low != layers[l-1].High {
			panic("region: layers of a stack must follow one another upwards")
		}
		segs = lines(segs, y.Region.Loops, 1, int32(l))
	}
	k := len(layers)
	if k == 0 {
		return &mesh.Mesh{}
	}
	g := draw(segs, k)
	below := g.sweep(nil)
	n := int32(len(g.pts))
	var tri [][3]int32 // over points, n more for each height
	// Walls, the material on the left of the way along them.
	for e, u := range g.from {
		v := g.to[e]
		for l := range k {
			w := below[e*k+l]
			right, left := w > 0, w+g.rise[e*k+l] > 0
			if right == left {
				continue
			}
			a, b := u, v
			if right {
				a, b = v, u
			}
			a, b = a+n*int32(l), b+n*int32(l)
			tri = append(tri, [3]int32{a, b, b + n}, [3]int32{a, b + n, a + n})
		}
	}
	// Level faces, up where the layer below ends and down where the one above begins.
	f := g.faces(below)
	for i, t := range f.tri {
		for h := range k + 1 {
			under, over := h > 0 && f.in[i][h-1], h < k && f.in[i][h]
			if under == over {
				continue
			}
			u := [3]int32{t[0] + n*int32(h), t[1] + n*int32(h), t[2] + n*int32(h)}
			if over {
				u[1], u[2] = u[2], u[1]
			}
			tri = append(tri, u)
		}
	}
	at := func(i int32) r3.Vec {
		p := g.pts[i%n].vec()
		if h := i / n; h > 0 {
			return r3.Vec{X: p.X, Y: p.Y, Z: layers[h-1].High}
		}
		return r3.Vec{X: p.X, Y: p.Y, Z: layers[0].Low}
	}
	return part(tri, g.pts, at)
}
