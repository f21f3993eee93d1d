package field

import "gonum.org/v1/gonum/spatial/r3"

// facets sets the triangles that belong to layer k: round each crossed line of
// the grid that starts from a point of that layer go the vertices of the four
// cells at it, in the order in which they are seen from the line's far end.
func (n *net) facets(k int, below, here *layerMap) {
	nx := n.f.N[0]
	tri := n.mesh.Tri[2*n.fac[k]:]
	for _, c := range n.list[k] {
		at := int(c.j)*nx + int(c.i)
		in := c.facets&cornerIn != 0
		if c.facets&1 != 0 {
			n.facet(tri, in, below.vertex(at-nx, 3), below.vertex(at, 2), here.vertex(at, 0), here.vertex(at-nx, 1))
			tri = tri[2:]
		}
		if c.facets&2 != 0 {
			n.facet(tri, in, below.vertex(at-1, 4+3), here.vertex(at-1, 4+2), here.vertex(at, 4), below.vertex(at, 4+1))
			tri = tri[2:]
		}
		if c.facets&4 != 0 {
			n.facet(tri, in, here.vertex(at-nx-1, 8+3), here.vertex(at-nx, 8+2), here.vertex(at, 8), here.vertex(at-1, 8+1))
			tri = tri[2:]
		}
	}
}

// facet cuts one along its shorter diagonal, turned round where the line comes
// into the material.
func (n *net) facet(tri [][3]uint32, out bool, a, b, c, d uint32) {
	if !out {
		b, d = d, b
	}
	pos := n.mesh.Pos
	p, q, r, s := pos[a], pos[b], pos[c], pos[d]
	if n.opt.Normals != nil {
		if n.bent(p, q, r, s) {
			tri[0], tri[1] = [3]uint32{a, b, d}, [3]uint32{b, c, d}
			return
		}
		tri[0], tri[1] = [3]uint32{a, b, c}, [3]uint32{a, c, d}
		return
	}
	if square(p, r) > square(q, s) {
		tri[0], tri[1] = [3]uint32{a, b, d}, [3]uint32{b, c, d}
		return
	}
	tri[0], tri[1] = [3]uint32{a, b, c}, [3]uint32{a, c, d}
}

func square(p, q r3.Vec) float64 {
	x, y, z := p.X-q.X, p.Y-q.Y, p.Z-q.Z
	return x*x + y*y + z*z
}

// bent reports whether the diagonal q s suits the model better than p r: the
// two triangles are to look as the model does at their middles, so that an edge
// of the model is not cut across. Facets that are nearly flat keep the shorter.
func (n *net) bent(p, q, r, s r3.Vec) bool {
	unit := func(a, b, c r3.Vec) r3.Vec {
		v := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if l := r3.Norm(v); l > 0 {
			return r3.Scale(1/l, v)
		}
		return r3.Vec{}
	}
	pr := [2]r3.Vec{unit(p, q, r), unit(p, r, s)}
	qs := [2]r3.Vec{unit(p, q, s), unit(q, r, s)}
	if r3.Dot(pr[0], pr[1]) > smoothCos && r3.Dot(qs[0], qs[1]) > smoothCos {
		return square(p, r) > square(q, s)
	}
	model := func(a, b, c r3.Vec) r3.Vec {
		return n.opt.Normals(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))))
	}
	one := r3.Dot(pr[0], model(p, q, r)) + r3.Dot(pr[1], model(p, r, s))
	two := r3.Dot(qs[0], model(p, q, s)) + r3.Dot(qs[1], model(q, r, s))
	return two > one
}
