package relief

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Skin is the surface that the tip of a tool runs on when it follows a part:
// for a place of the plan the height at which the lowered tool first touches a
// facet, an edge or a corner.
type Skin struct {
	tool  Tool
	fam   *facets
	index Grid      // of squares, each with the facets that may be touched there
	lists [][]bound // by square, highest bound first
}

// bound is a facet with a plane that lies over the heights of the tip on it:
// what saves looking at the facet itself.
type bound struct {
	z, gx, gy float64 // z over the origin of the plan
	id        int32
}

// facets is the family of a part's triangles, upside down: the lowest of the
// negated heights is the highest.
type facets struct {
	tool  Tool
	facet []facet
	bins  *bins
}

func (f *facets) at(id int32, x, y float64) float64 {
	z, on := f.facet[id].touch(f.tool, x, y)
	if on < 0 {
		return math.Inf(1)
	}
	return -z
}

func (f *facets) plane(id int32, x, y float64) (z, gx, gy float64) {
	z, gx, gy = f.facet[id].plane(f.tool, x, y)
	return -z, -gx, -gy
}

// rough takes the facet for a disc about its middle: no point of it is nearer
// to the axis or higher than that allows.
func (f *facets) rough(id int32, x, y float64) (z, gx, gy float64) {
	c := &f.facet[id]
	t := f.tool
	dx, dy := x-c.mid[0], y-c.mid[1]
	far := math.Sqrt(dx*dx+dy*dy) - c.round
	if far <= t.flat() || t.Corner == 0 {
		return -c.top, 0, 0
	}
	// Near and beyond the rim the slope at the rim's near side is taken.
	r := math.Min(far, t.flat()+near*t.Corner)
	s := t.slope(r)
	k := s / (far + c.round)
	return -c.top + t.rise(r) + s*(far-r), k * dx, k * dy
}

func (f *facets) find(x0, y0, x1, y1 float64, to []int32) []int32 {
	r := f.tool.Radius
	return f.bins.within(x0-r, y0-r, x1+r, y1+r, to)
}

func newFacets(m *mesh.Mesh, fr Frame, t Tool) *facets {
	f := &facets{tool: t, facet: make([]facet, len(m.Tri))}
	pos := make([]r3.Vec, len(m.Pos))
	for i, p := range m.Pos {
		pos[i] = fr.Into(p)
	}
	box := make([]span2, len(m.Tri))
	var mean float64
	for i, tri := range m.Tri {
		a, b, c := pos[tri[0]], pos[tri[1]], pos[tri[2]]
		f.facet[i] = newFacet(a, b, c)
		x0, y0 := min(a.X, b.X, c.X), min(a.Y, b.Y, c.Y)
		x1, y1 := max(a.X, b.X, c.X), max(a.Y, b.Y, c.Y)
		box[i] = outwards(x0, y0, x1, y1)
		mean += math.Max(x1-x0, y1-y0) / float64(len(m.Tri))
	}
	f.bins = newBins(box, math.Max(math.Max(t.Radius/2, mean), 1e-3))
	return f
}

// fewInList is a list short enough: those in it that matter are found by their
// bounds.
const fewInList = 16

// squares is how many short lists a skin keeps, about, at most.
const squares = 1 << 16

// NewSkin prepares a tool over the part as the frame sees it, for places from
// (x0, y0) to (x1, y1) of the plan. The work grows with the triangles near the
// box. It fails on a tool without a size, an empty box and when ctx is done.
func NewSkin(ctx context.Context, m *mesh.Mesh, fr Frame, t Tool, x0, y0, x1, y1 float64) (*Skin, error) {
	if !(t.Radius > 0) || !(t.Corner >= 0) || t.Corner > t.Radius {
		return nil, fmt.Errorf("relief: a tool of radius %v and corner %v", t.Radius, t.Corner)
	}
	if !(x1 >= x0) || !(y1 >= y0) || math.IsInf(x1-x0, 0) || math.IsInf(y1-y0, 0) {
		return nil, fmt.Errorf("relief: a box from (%v, %v) to (%v, %v)", x0, y0, x1, y1)
	}
	side := math.Max(t.Radius/16, math.Sqrt((x1-x0)*(y1-y0)/squares))
	side = math.Max(side, math.Max(x1-x0, y1-y0)/squares)
	s := &Skin{tool: t, fam: newFacets(m, fr, t)}
	s.index = Grid{W: 1 + int((x1-x0)/side), H: 1 + int((y1-y0)/side), DX: side, DY: side, X0: x0, Y0: y0}
	s.lists = make([][]bound, s.index.Cells())
	l := &lowest{fam: s.fam, grid: s.index, squares: true, top: math.Inf(1)}
	leaf := func(_ *task, b block, ids []int32) {
		x0, y0, x1, y1 := l.box(b)
		list := make([]bound, len(ids))
		for n, id := range ids {
			z, gx, gy := s.fam.facet[id].plane(t, (x0+x1)/2, (y0+y1)/2)
			list[n] = bound{z - gx*(x0+x1)/2 - gy*(y0+y1)/2, gx, gy, id}
		}
		slices.SortFunc(list, func(p, q bound) int {
			h := func(b bound) float64 { return b.z + b.gx*(x0+x1)/2 + b.gy*(y0+y1)/2 }
			return cmp.Or(cmp.Compare(h(q), h(p)), cmp.Compare(p.id, q.id))
		})
		for j := b.j0; j < b.j1; j++ {
			for i := b.i0; i < b.i1; i++ {
				s.lists[j*s.index.W+i] = list
			}
		}
	}
	place := func(b block, n int) bool {
		return n <= fewInList || max(b.i1-b.i0, b.j1-b.j0) <= 1
	}
	if err := l.each(ctx, s.index.blockSize(), nil, leaf, place); err != nil {
		return nil, err
	}
	return s, nil
}

// Tool is the tool that the skin is for.
func (s *Skin) Tool() Tool { return s.tool }

// At is the height of the tip over a place, and the slopes of the surface where
// it touches; ok is false where the tool passes by the part. Places outside the
// skin's box are looked up all the same, more slowly.
func (s *Skin) At(x, y float64) (z, gx, gy float64, ok bool) {
	i, j := int(math.Floor((x-s.index.X0)/s.index.DX)), int(math.Floor((y-s.index.Y0)/s.index.DY))
	z = math.Inf(-1)
	best, where := int32(-1), -1
	try := func(id int32) {
		if h, on := s.fam.facet[id].touch(s.tool, x, y); on >= 0 && (h > z || h == z && id < best) {
			z, best, where = h, id, on
		}
	}
	if i < 0 || j < 0 || i >= s.index.W || j >= s.index.H {
		for _, id := range s.fam.find(x, y, x, y, nil) {
			try(id)
		}
	} else {
		for _, b := range s.lists[j*s.index.W+i] {
			if b.z+b.gx*x+b.gy*y+tiny >= z {
				try(b.id)
			}
		}
	}
	if best < 0 {
		return math.NaN(), 0, 0, false
	}
	f := &s.fam.facet[best]
	if where == 3 {
		return z, -f.n.X / f.n.Z, -f.n.Y / f.n.Z, true
	}
	gx, gy = f.edges[where].grade(s.tool, x, y)
	return z, -gx, -gy, true
}

// Contact is the point of the part that a tool with its tip at (x, y, z)
// touches, from the slopes there.
func (t Tool) Contact(x, y, z, gx, gy float64) r3.Vec {
	h := math.Hypot(gx, gy)
	if h < 1e-12 {
		return r3.Vec{X: x, Y: y, Z: z}
	}
	k := 1 / math.Sqrt(1+h*h)
	// The outward normal is (−gx, −gy, 1)·k; the tool touches on its far side.
	reach := t.flat() + t.Corner*h*k
	return r3.Vec{X: x + gx/h*reach, Y: y + gy/h*reach, Z: z + t.Corner*(1-k)}
}
