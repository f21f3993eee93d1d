package threemf

import (
	"bytes"
	"fmt"

	"fettle/internal/format/intake"

	"gonum.org/v1/gonum/spatial/r3"
)

// transform is the standard's 4 × 3 matrix, row by row: a place is a row vector
// times it, the last row moves.
type transform [12]float64

// parseTransform reads twelve numbers.
func parseTransform(v []byte) (t transform, ok bool) {
	w := bytes.Fields(v)
	if len(w) != len(t) {
		return t, false
	}
	for i := range t {
		if t[i], ok = intake.ParseFloat(w[i]); !ok || !intake.Finite(t[i]) {
			return t, false
		}
	}
	return t, true
}

// apply moves a place.
func (t *transform) apply(p r3.Vec) r3.Vec {
	return r3.Vec{
		X: p.X*t[0] + p.Y*t[3] + p.Z*t[6] + t[9],
		Y: p.X*t[1] + p.Y*t[4] + p.Z*t[7] + t[10],
		Z: p.X*t[2] + p.Y*t[5] + p.Z*t[8] + t[11],
	}
}

// mirrors reports whether the transform turns left into right.
func (t *transform) mirrors() bool {
	return t[0]*(t[4]*t[8]-t[5]*t[7])-t[1]*(t[3]*t[8]-t[5]*t[6])+t[2]*(t[3]*t[7]-t[4]*t[6]) < 0
}

// then is the transform that does t first and u after it.
func (t *transform) then(u *transform) *transform {
	switch {
	case t == nil:
		return u
	case u == nil:
		return t
	}
	var out transform
	for r := range 4 {
		for c := range 3 {
			s := t[3*r]*u[c] + t[3*r+1]*u[3+c] + t[3*r+2]*u[6+c]
			if r == 3 {
				s += u[9+c]
			}
			out[3*r+c] = s
		}
	}
	return &out
}

// place copies an object with all its components into the part.
func (b *book) place(part *intake.Part, o *object, at *transform) error {
	m := part.Mesh
	base := uint32(len(m.Pos))
	if k := o.unitMM / part.UnitMM; k != 1 && len(o.mesh.Pos) > 0 {
		at = (&transform{k, 0, 0, 0, k, 0, 0, 0, k}).then(at)
	}
	flip := false
	if at == nil {
		m.Pos = append(m.Pos, o.mesh.Pos...)
	} else {
		flip = at.mirrors()
		for _, p := range o.mesh.Pos {
			q := at.apply(p)
			if !intake.Finite(q.X) || !intake.Finite(q.Y) || !intake.Finite(q.Z) {
				return &intake.Fault{Format: format, What: fmt.Sprintf("a transform moves object %d beyond all measure", o.id), Where: shown(o.where), Try: "export it again"}
			}
			m.Pos = append(m.Pos, q)
		}
	}
	for _, t := range o.mesh.Tri {
		if flip {
			t[1], t[2] = t[2], t[1]
		}
		m.Tri = append(m.Tri, [3]uint32{t[0] + base, t[1] + base, t[2] + base})
	}
	for _, c := range o.comps {
		p, err := b.find(c)
		if err != nil {
			return err
		}
		if err := b.place(part, p, c.at.then(at)); err != nil {
			return err
		}
	}
	return nil
}
