package field

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// SurfaceOptions say how [Surface] places its vertices. The zero value gives a
// smooth net.
type SurfaceOptions struct {
	// Normals is the unit normal of the model near a point, out of the material.
	// With it vertices go to where the planes of a cell's crossings meet, so that
	// edges and corners of the model stay sharp. It is called on several cores at
	// once.
	Normals func(r3.Vec) r3.Vec
	// Distance is the model's own distance at a point, as in the field but exact;
	// crossings are then found by it along the grid's lines. Without it they are
	// where the field's values say, which near an edge of the model is up to a few
	// tenths of a cell off. Used with Normals only, on several cores at once.
	Distance func(r3.Vec) float64
}

// mostPoints is the longest side of a grid: a cell's place is kept in 16 bits.
const mostPoints = 1 << 16

// Surface is the surface where the field has the value level, mm, seen from
// where the values are greater: out of the material. It is closed, and every
// edge has two triangles, unless it runs out of the grid: there it is open, and
// a vertex at the grid's rim may be in no triangle. It is empty where all values
// lie on one side of the level.
//
// It is the net with one vertex for each connected piece of surface in a cell,
// at the mean of the points where the piece crosses the grid's lines (S. F. F.
// Gibson, "Constrained elastic surface nets", MICCAI 1998), and with a facet of
// four corners round each crossed line; with opt.Normals at the point nearest
// to all tangent planes (T. Ju, F. Losasso, S. Schaefer, J. Warren, "Dual
// contouring of Hermite data", SIGGRAPH 2002).
//
// It takes about 36 bytes a vertex besides the mesh. Errors are the
// context's, a level that is not a finite number, and values that are none.
func Surface(ctx context.Context, f *Field, level float64, opt SurfaceOptions) (*mesh.Mesh, error) {
	lv := float32(level)
	if v := float64(lv); math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, errors.New("the level of a surface is not a finite number: give one in millimetres")
	}
	if len(f.D) != f.Len() {
		return nil, fmt.Errorf("a grid of %d points has %d distances: measure it again", f.Len(), len(f.D))
	}
	out := &mesh.Mesh{}
	for a := range 3 {
		if f.N[a] < 2 {
			return out, ctx.Err()
		}
		if f.N[a] > mostPoints {
			return nil, fmt.Errorf("a grid of %d points along one side is too long for a surface: take a larger cell", f.N[a])
		}
	}
	n := &net{f: f, level: float64(lv), add: -lv, opt: opt, mesh: out}
	if err := n.walk(ctx); err != nil {
		return nil, err
	}
	if err := n.join(ctx); err != nil {
		return nil, err
	}
	return out, nil
}

// net is a surface in the making.
type net struct {
	f     *Field
	level float64
	add   float32 // −level
	opt   SurfaceOptions
	mesh  *mesh.Mesh
	// Of each layer of cells: those crossed, their vertices, and where these and
	// the facets of four corners start in the mesh.
	list      [][]netCell
	pos       [][]r3.Vec
	vert, fac []int
}

// netLayers is how many layers of cells go at a stretch.
const netLayers = 16

// walk goes through the field once, slab by slab: signs, cells and vertices of
// each layer while its values are at hand.
func (n *net) walk(ctx context.Context) error {
	layers, side := n.f.N[2]-1, n.f.N[0]*n.f.N[1]
	n.list, n.pos = make([][]netCell, layers), make([][]r3.Vec, layers)
	n.vert, n.fac = make([]int, layers+1), make([]int, layers+1)
	blocks := (layers + netLayers - 1) / netLayers
	wrong := make([]bool, layers+1)
	err := cores.Each(ctx, blocks, func(b int) {
		low, high := newSigns(n.f.Grid), newSigns(n.f.Grid)
		from, to := b*netLayers, min(layers, (b+1)*netLayers)
		wrong[from] = !low.pack(n.f.D[from*side:(from+1)*side], n.f.N[0], n.add)
		var list []netCell
		var pos []r3.Vec
		for k := from; k < to; k++ {
			if !high.pack(n.f.D[(k+1)*side:(k+2)*side], n.f.N[0], n.add) {
				wrong[from] = true
				return
			}
			cells, vertices := len(list), len(pos)
			list, n.vert[k+1], n.fac[k+1] = n.cells(k, &low, &high, list)
			n.list[k] = list[cells:]
			pos = slices.Grow(pos, n.vert[k+1])[:vertices+n.vert[k+1]]
			n.pos[k] = pos[vertices:]
			n.place(k)
			low, high = high, low
		}
	})
	if err != nil {
		return err
	}
	for _, w := range wrong {
		if w {
			return n.f.notANumber()
		}
	}
	for k := range layers {
		n.vert[k+1] += n.vert[k]
		n.fac[k+1] += n.fac[k]
	}
	if n.vert[layers] > math.MaxInt32 {
		return errors.New("the surface has more than two thousand million vertices: take a larger cell")
	}
	return nil
}

// notANumber names the first point whose value is none.
func (f *Field) notANumber() error {
	at := slices.IndexFunc(f.D, func(v float32) bool { return v != v })
	i, j, k := f.Split(at)
	return fmt.Errorf("the distance at point %d, %d, %d of the grid is not a number: measure it again", i, j, k)
}

// layerMap names the vertices of one layer of cells: where a cell is crossed,
// its first vertex, or the complement of it where it has several sheets; then
// many says which variant it is. Elsewhere it holds rubbish.
type layerMap struct {
	first []int32
	many  []uint16
}

// join brings the vertices of all layers together and sets the triangles.
func (n *net) join(ctx context.Context) error {
	layers, side := n.f.N[2]-1, n.f.N[0]*n.f.N[1]
	n.mesh.Pos = make([]r3.Vec, n.vert[layers])
	n.mesh.Tri = make([][3]uint32, 2*n.fac[layers])
	blocks := (layers + netLayers - 1) / netLayers
	err := cores.Each(ctx, blocks, func(b int) {
		for k := b * netLayers; k < min(layers, (b+1)*netLayers); k++ {
			copy(n.mesh.Pos[n.vert[k]:], n.pos[k])
		}
	})
	if err != nil {
		return err
	}
	pool := sync.Pool{New: func() any {
		w := new([2]layerMap)
		for i := range w {
			w[i] = layerMap{make([]int32, side), make([]uint16, side)}
		}
		return w
	}}
	return cores.Each(ctx, blocks, func(b int) {
		w := pool.Get().(*[2]layerMap)
		defer pool.Put(w)
		k0 := b * netLayers
		if k0 > 0 {
			n.name(k0-1, &w[(k0-1)&1])
		}
		for k := k0; k < min(layers, k0+netLayers); k++ {
			n.name(k, &w[k&1])
			n.facets(k, &w[(k+1)&1], &w[k&1])
		}
	})
}

// name sets the map of layer k.
func (n *net) name(k int, m *layerMap) {
	id := int32(n.vert[k])
	nx := n.f.N[0]
	for _, c := range n.list[k] {
		at := int(c.j)*nx + int(c.i)
		if sheets := len(nets.variant[c.variant].sheets); sheets == 1 {
			m.first[at] = id
			id++
		} else {
			m.first[at] = ^id
			m.many[at] = c.variant
			id += int32(sheets)
		}
	}
}

// vertex is the vertex of the sheet that crosses an edge of a cell.
func (m *layerMap) vertex(at int, edge uint8) uint32 {
	id := m.first[at]
	if id >= 0 {
		return uint32(id)
	}
	return uint32(^id) + uint32(nets.variant[m.many[at]].of[edge])
}
