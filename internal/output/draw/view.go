package draw

import (
	"math"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// View is a direction to look from, without perspective: three unit vectors at
// right angles. Toward points from the part to the eye, Right to the right on
// paper and Up up on paper.
type View struct{ Right, Up, Toward r3.Vec }

// FromAbove looks at the part against up, the direction in which its show face
// looks. With up along Z the page shows X to the right and Y up. A zero up
// counts as Z.
func FromAbove(up r3.Vec) View {
	if n := r3.Norm(up); !(n > 0) || math.IsInf(n, 0) {
		up = r3.Vec{Z: 1}
	}
	up = r3.Unit(up)
	right := geom.Perpendicular(up)
	return View{right, r3.Cross(up, right), up}
}

// Behind turns the part over about its upright axis, as a page is turned.
func (v View) Behind() View { return View{r3.Scale(-1, v.Right), v.Up, r3.Scale(-1, v.Toward)} }

// FromRight looks from the right of v with v's up kept: the view of the edge
// that stands beside v on paper.
func (v View) FromRight() View { return View{r3.Scale(-1, v.Toward), v.Up, v.Right} }

// FromBelow looks from under v with v's right kept: the view of the edge that
// stands below v on paper.
func (v View) FromBelow() View { return View{v.Right, v.Toward, r3.Scale(-1, v.Up)} }

// Oblique looks from over the lower left shoulder of v, so that the face that v
// shows and two edges are seen.
func (v View) Oblique() View {
	toward := r3.Unit(r3.Add(r3.Scale(1.0, v.Toward), r3.Add(r3.Scale(-0.55, v.Right), r3.Scale(-0.95, v.Up))))
	right := r3.Unit(r3.Cross(v.Up, toward))
	return View{right, r3.Cross(toward, right), toward}
}

// to gives p on paper (x right, y down) and its nearness to the eye.
func (v View) to(p r3.Vec) (Pt, float64) {
	return Pt{r3.Dot(p, v.Right), -r3.Dot(p, v.Up)}, r3.Dot(p, v.Toward)
}

// Spot is where the point p of the part, in mm, falls on the paper of a
// drawing made by [Project] with this view, at full size.
func (v View) Spot(p r3.Vec) Pt {
	s, _ := v.to(p)
	return s
}

// check refuses a mesh that cannot be drawn.
func check(m *mesh.Mesh) error {
	if m == nil || len(m.Tri) == 0 {
		return fettle.Errorf(fettle.Invalid, "the part has no triangles, so it cannot be drawn; give a model with a surface")
	}
	for t, tri := range m.Tri {
		for _, v := range tri {
			if int(v) >= len(m.Pos) {
				return fettle.Errorf(fettle.Invalid, "triangle %d of the part names corner %d of %d, so it cannot be drawn; mend the model first", t, v, len(m.Pos))
			}
			p := m.Pos[v]
			if s := p.X + p.Y + p.Z; math.IsNaN(s) || math.IsInf(s, 0) {
				return fettle.Errorf(fettle.Invalid, "corner %d of the part is not a finite point, so it cannot be drawn; mend the model first", v)
			}
		}
	}
	return nil
}

// flat is a mesh seen from one direction: corners on paper with their nearness,
// and which way each triangle faces.
type flat struct {
	m      *mesh.Mesh
	view   View
	pt     []Pt
	near   []float64
	frame  Frame
	normal []r3.Vec // of triangles, unit or zero
	facing []float64
}

func flatten(m *mesh.Mesh, v View) *flat {
	f := &flat{m: m, view: v, pt: make([]Pt, len(m.Pos)), near: make([]float64, len(m.Pos)),
		normal: make([]r3.Vec, len(m.Tri)), facing: make([]float64, len(m.Tri))}
	inf := math.Inf(1)
	f.frame = Frame{inf, inf, -inf, -inf}
	for i, p := range m.Pos {
		f.pt[i], f.near[i] = v.to(p)
	}
	for t, tri := range m.Tri {
		for _, c := range tri {
			p := f.pt[c]
			f.frame = Frame{min(f.frame.X0, p.X), min(f.frame.Y0, p.Y), max(f.frame.X1, p.X), max(f.frame.Y1, p.Y)}
		}
		f.normal[t], _ = m.Normal(t)
		f.facing[t] = r3.Dot(f.normal[t], v.Toward)
	}
	return f
}
