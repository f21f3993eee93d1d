package work

import (
	"context"
	"encoding/json"
	"io"
	"math"

	"fettle"
	"fettle/internal/output/buffer"
	"fettle/internal/shape/coarse"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Numbers at corners count as lengths while a view is made coarser: values of reach go
// from 0 to 1, and a tenth of that is to be kept as a thousandth of the part's size is.
const valueShare = 0.01

// CoarseView writes a view, as [Part.WriteView] and [Reached.WriteView] do, with at most about
// most triangles: those on either side of a border between faces, openings and zones stay
// apart, and what stood at a corner or a triangle stands there still. What it is about
// says how many triangles there were ("simplified_from") and how far off the surface is
// ("error_mm"). A view that has no more triangles is written as it is.
func CoarseView(ctx context.Context, view []byte, most int, w io.Writer, say Progress) error {
	about, arrays, err := buffer.Read(view)
	if err != nil {
		return fettle.Errorf(fettle.BadFile, "this is no mesh to look at; ask for the mesh of a model file")
	}
	m, at := meshOf(arrays)
	if m == nil {
		return fettle.Errorf(fettle.BadFile, "there is no mesh in it; ask for the mesh of a model file")
	}
	if len(m.Tri) <= most {
		_, err := w.Write(view)
		return err
	}
	say.say("making the mesh coarser", 0, 1)
	opt := coarse.Options{ValueMM: valueShare * m.Box().Diagonal()}
	for i, a := range arrays {
		switch {
		case at[i] == ofTriangles && a.I != nil:
			opt.Label = alsoLabel(opt.Label, a.I)
		case at[i] == ofCorners && a.Width == 1 && a.F != nil:
			opt.Values = append(opt.Values, a.F)
		}
	}
	r, err := coarse.Make(ctx, m, most, opt)
	if err != nil {
		return err
	}
	out := meshArrays(r.Mesh)
	for i, a := range arrays {
		switch at[i] {
		case ofTriangles:
			out = append(out, pick(a, r.Tri))
		case ofCorners:
			out = append(out, pick(a, r.Vertex))
		}
	}
	says := map[string]any{}
	if err := json.Unmarshal(about, &says); err != nil {
		return err
	}
	says["simplified_from"], says["error_mm"] = len(m.Tri), math.Ceil(r.ErrorMM*1e6)/1e6
	return buffer.Write(w, says, out...)
}

// What an array has a row for.
const (
	ofNeither = iota
	ofTheMesh // it is the mesh itself
	ofTriangles
	ofCorners
)

// meshOf is the mesh that a view holds, nil for none, and what each array has a row for.
func meshOf(arrays []buffer.Array) (*mesh.Mesh, []int) {
	m := &mesh.Mesh{}
	at := make([]int, len(arrays))
	for i, a := range arrays {
		switch {
		case a.Name == "position" && a.Width == 3 && a.F != nil:
			at[i] = ofTheMesh
			m.Pos = make([]r3.Vec, len(a.F)/3)
			for v := range m.Pos {
				m.Pos[v] = r3.Vec{X: float64(a.F[3*v]), Y: float64(a.F[3*v+1]), Z: float64(a.F[3*v+2])}
			}
		case a.Name == "triangle" && a.Width == 3 && a.U != nil:
			at[i] = ofTheMesh
			m.Tri = make([][3]uint32, len(a.U)/3)
			for t := range m.Tri {
				m.Tri[t] = [3]uint32(a.U[3*t:])
			}
		}
	}
	if len(m.Pos) == 0 || len(m.Tri) == 0 {
		return nil, nil
	}
	for _, t := range m.Tri {
		if int(max(t[0], t[1], t[2])) >= len(m.Pos) {
			return nil, nil
		}
	}
	for i, a := range arrays {
		n := max(len(a.F), len(a.U), len(a.I)) / a.Width
		switch {
		case at[i] == ofTheMesh:
		case a.I != nil && n == len(m.Tri): // integers tell of triangles, as the same number of corners is chance
			at[i] = ofTriangles
		case n == len(m.Pos):
			at[i] = ofCorners
		}
	}
	return m, at
}

// alsoLabel makes labels that differ where either does.
func alsoLabel(label, more []int32) []int32 {
	if label == nil {
		return more
	}
	number := map[[2]int32]int32{}
	out := make([]int32, len(label))
	for t := range out {
		k := [2]int32{label[t], more[t]}
		n, ok := number[k]
		if !ok {
			n = int32(len(number))
			number[k] = n
		}
		out[t] = n
	}
	return out
}

// pick takes some rows of an array.
func pick(a buffer.Array, rows []int32) buffer.Array {
	out := buffer.Array{Name: a.Name, Width: a.Width}
	for _, r := range rows {
		lo, hi := int(r)*a.Width, (int(r)+1)*a.Width
		switch {
		case a.F != nil:
			out.F = append(out.F, a.F[lo:hi]...)
		case a.U != nil:
			out.U = append(out.U, a.U[lo:hi]...)
		default:
			out.I = append(out.I, a.I[lo:hi]...)
		}
	}
	return out
}
