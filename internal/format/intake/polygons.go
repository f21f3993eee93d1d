package intake

import (
	"fmt"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Polygons adds polygons to a mesh as triangles and keeps count of what there
// is to tell about it.
type Polygons struct {
	Mesh *mesh.Mesh

	cut, twisted, thin int
	pts                []r3.Vec
	tri                [][3]uint32
}

// Add adds one polygon over vertices of the mesh, which must be in range. A
// polygon of fewer than three corners adds nothing. The error is a clause that
// says what is wrong with it.
func (p *Polygons) Add(corners []uint32) error {
	m := p.Mesh
	if len(corners) < 3 {
		p.thin++
		return nil
	}
	if len(m.Tri)+len(corners)-2 > MaxTriangles {
		return fmt.Errorf("too many corners: it makes more than %d triangles", MaxTriangles)
	}
	if len(corners) == 3 {
		m.Tri = append(m.Tri, [3]uint32{corners[0], corners[1], corners[2]})
		return nil
	}
	p.pts = p.pts[:0]
	for _, v := range corners {
		p.pts = append(p.pts, m.Pos[v])
	}
	tri, ok := mesh.CutPolygon(p.pts, p.tri[:0])
	p.tri = tri
	if len(tri) == 0 {
		return fmt.Errorf("%d corners, some of them inward, and only %d can be cut into triangles", len(corners), mesh.MaxConcave)
	}
	p.cut++
	if !ok {
		p.twisted++
	}
	for _, t := range tri {
		m.Tri = append(m.Tri, [3]uint32{corners[t[0]], corners[t[1]], corners[t[2]]})
	}
	return nil
}

// Notes are sentences for the user.
func (p *Polygons) Notes() []string {
	var out []string
	for _, n := range [3]struct {
		n         int
		one, many string
	}{
		{p.cut, "1 polygon was cut into triangles", "%d polygons were cut into triangles"},
		{p.twisted, "1 polygon crosses itself or has no area and could not be cut cleanly", "%d polygons cross themselves or have no area and could not be cut cleanly"},
		{p.thin, "1 facet with fewer than three corners was skipped", "%d facets with fewer than three corners were skipped"},
	} {
		switch {
		case n.n == 1:
			out = append(out, n.one)
		case n.n > 1:
			out = append(out, fmt.Sprintf(n.many, n.n))
		}
	}
	return out
}
