// Package coarse makes a mesh of many triangles one of few that looks the same and
// keeps what was said of its triangles. [Make] is the way in.
//
// Edges are collapsed onto one of their ends, so that every corner that is left is a
// corner of the mesh as it was, with all that was known there. What a collapse costs is
// told by quadrics (Garland and Heckbert, "Surface Simplification Using Quadric Error
// Metrics", SIGGRAPH 1997). The cheapest are not looked for in a queue: a bound on the
// cost rises in steps, and all that stay under it are done in the order of their
// numbers. Where labels meet, at borders
// and at tangles the surface has seams: a corner on a seam only goes along it, one where
// seams meet or end stays.
//
// How far the few stand off the many is not inferred from the quadrics but measured.
package coarse

import (
	"context"
	"math"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Options say what is to be kept besides the shape.
type Options struct {
	// Label of each triangle: seams between labels stay where they are. Nil: all are
	// alike.
	Label []int32
	// Values are numbers at corners that are to be kept too; a difference of one counts
	// as much as a distance of ValueMM.
	Values  [][]float32
	ValueMM float64
}

// Result is a mesh made coarser.
type Result struct {
	Mesh *mesh.Mesh
	// Tri and Vertex are the triangle and the corner that each was in the mesh before.
	Tri    []int32
	Vertex []int32
	// ErrorMM is the largest distance that was found between the two surfaces: from every
	// corner of the mesh before to the coarse one, and from the middle of every coarse triangle and
	// edge to the mesh before.
	ErrorMM float64
}

// Make collapses edges until at most most triangles are left or none can go any more; a mesh
// that has no more is given back as it is. The same mesh gives the same bits on any
// number of cores. Indices must be in range and positions finite; labels and values must
// be as many as triangles and corners, else it panics. The only error is the context's.
func Make(ctx context.Context, m *mesh.Mesh, most int, opt Options) (*Result, error) {
	if opt.Label != nil && len(opt.Label) != len(m.Tri) {
		panic("coarse: labels are not as many as triangles")
	}
	for _, v := range opt.Values {
		if len(v) != len(m.Pos) {
			panic("coarse: values are not as many as corners")
		}
	}
	if len(m.Tri) <= most {
		return whole(m), nil
	}
	w := newWorker(m, opt)
	if err := w.collapse(ctx, most); err != nil {
		return nil, err
	}
	r := w.result()
	var err error
	r.ErrorMM, err = apart(ctx, m, r.Mesh)
	return r, err
}

func whole(m *mesh.Mesh) *Result {
	r := &Result{Mesh: m, Tri: make([]int32, len(m.Tri)), Vertex: make([]int32, len(m.Pos))}
	for i := range r.Tri {
		r.Tri[i] = int32(i)
	}
	for i := range r.Vertex {
		r.Vertex[i] = int32(i)
	}
	return r
}

// result numbers what is left anew, in the old order.
func (w *worker) result() *Result {
	r := &Result{Mesh: &mesh.Mesh{}}
	at := make([]int32, len(w.m.Pos))
	for i := range at {
		at[i] = -1
	}
	for t, c := range w.tri {
		if w.gone[t] {
			continue
		}
		for _, v := range c {
			at[v] = 0
		}
	}
	for v, used := range at {
		if used == 0 {
			at[v] = int32(len(r.Vertex))
			r.Vertex = append(r.Vertex, int32(v))
			r.Mesh.Pos = append(r.Mesh.Pos, w.m.Pos[v])
		}
	}
	for t, c := range w.tri {
		if w.gone[t] {
			continue
		}
		r.Tri = append(r.Tri, int32(t))
		r.Mesh.Tri = append(r.Mesh.Tri, [3]uint32{uint32(at[c[0]]), uint32(at[c[1]]), uint32(at[c[2]])})
		if w.m.Face != nil {
			r.Mesh.Face = append(r.Mesh.Face, w.m.Face[t])
		}
	}
	return r
}

// apart is the largest distance found between two surfaces.
func apart(ctx context.Context, fine, few *mesh.Mesh) (float64, error) {
	var trees [2]*bvh.Tree
	trees[0] = bvh.Build(few)
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	trees[1] = bvh.Build(fine)
	middles := make([]r3.Vec, 0, 4*len(few.Tri))
	for t := range few.Tri {
		a, b, c := few.Corners(t)
		middles = append(middles, r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), r3.Scale(0.5, r3.Add(a, b)), r3.Scale(0.5, r3.Add(b, c)), r3.Scale(0.5, r3.Add(c, a)))
	}
	most := 0.0
	for i, points := range [][]r3.Vec{fine.Pos, middles} {
		near := make([]bvh.Near, len(points))
		trees[i].NearestAll(points, math.Inf(1), near)
		for _, n := range near {
			most = max(most, n.Dist2)
		}
		if err := ctx.Err(); err != nil {
			return 0, err
		}
	}
	return math.Sqrt(most), nil
}
