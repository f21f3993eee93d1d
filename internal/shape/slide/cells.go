package slide

import (
	"container/heap"
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	leastCells, mostCells = 60, 300
	facetsPerCell         = 6 // at least, on the average
)

// components are the pieces of the set that hang together over edges for which
// joined holds, each ascending, in the order of their first facets.
func (g *ground) components(tris []int32, joined func(t, u int32, k int) bool) [][]int32 {
	in, seen := g.marks(tris), make([]bool, len(g.tris))
	var all [][]int32
	for _, t := range tris {
		if seen[g.slot[t]] {
			continue
		}
		seen[g.slot[t]] = true
		list := []int32{t}
		for i := 0; i < len(list); i++ {
			for k, u := range g.p.Topology.Across[list[i]] {
				if u == mesh.NoTri || g.slot[u] < 0 || !in[g.slot[u]] || seen[g.slot[u]] || !joined(list[i], u, k) {
					continue
				}
				seen[g.slot[u]] = true
				list = append(list, u)
			}
		}
		slices.Sort(list)
		all = append(all, list)
	}
	return all
}

func (g *ground) marks(tris []int32) []bool {
	in := make([]bool, len(g.tris))
	for _, t := range tris {
		in[g.slot[t]] = true
	}
	return in
}

// smooth joins facets over edges that are not sharp.
func (g *ground) smooth(t, _ int32, k int) bool { return !g.p.Sharp[t][k] }

// face joins facets of one face.
func (g *ground) face(t, u int32, k int) bool {
	return g.p.Face[t] == g.p.Face[u] && !g.p.Sharp[t][k]
}

// units are what Split merges: the connected pieces of faces, and the cells of
// free-form pieces that do not slide as they are.
func (g *ground) units(tris []int32) []*unit {
	var all []*unit
	for _, piece := range g.components(tris, g.face) {
		s := g.sum(piece)
		kind, _, z := g.judge(piece, s)
		u := &unit{tris: piece, s: *s, z: z, own: freedom(kind)}
		if g.p.Faces[g.p.Face[piece[0]]].Kind != geom.Free || kind != Free {
			all = append(all, u)
			continue
		}
		n := 1
		if a := s.area / (g.least() + 1e-300); a > 1 {
			n = max(leastCells, min(mostCells, int(4*a)))
		}
		n = min(n, len(piece)/facetsPerCell)
		if n < 2 {
			all = append(all, u)
			continue
		}
		for _, cell := range g.cells(piece, n) {
			s := g.sum(cell)
			all = append(all, &unit{tris: cell, s: *s, z: newSlips(s, g.origin), cell: true, cut: true})
		}
	}
	return all
}

// freedom is the number of motions of a kind.
func freedom(k Kind) int {
	switch k {
	case Plane, Sphere:
		return 3
	case Cylinder:
		return 2
	case Free:
		return 0
	}
	return 1
}

// cells breaks a connected piece into about n connected cells of about equal area:
// one after the other by growth from the rim of what is shared out, then evened
// out by two rounds in which every facet goes to the nearest middle, as Lloyd's
// method does (D. Cohen-Steiner, P. Alliez and M. Desbrun, "Variational shape
// approximation", SIGGRAPH 2004, for facets).
func (g *ground) cells(piece []int32, n int) [][]int32 {
	w := &walker{g: g, cell: make([]int32, len(g.tris)), in: g.marks(piece), mid: make([]r3.Vec, len(g.tris))}
	total := 0.0
	for _, t := range piece {
		a, b, c := g.p.Mesh.Corners(int(t))
		w.mid[g.slot[t]] = scale(1.0/3, add(a, add(b, c)))
		total += g.p.Area[t]
	}
	cells := w.grow(piece, total/float64(n))
	for range 2 {
		var seeds []int32
		for _, c := range cells {
			if t := w.middle(c); t >= 0 {
				seeds = append(seeds, t)
			}
		}
		cells = w.nearest(piece, seeds)
	}
	return cells
}

// walker shares out facets.
type walker struct {
	g    *ground
	in   []bool   // of each slot
	cell []int32  // −1 where free
	mid  []r3.Vec // of facets
	q    queue
}

type step struct {
	d    float64
	t    int32
	from int32 // the cell
}

type queue []step

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	if q[i].d != q[j].d {
		return q[i].d < q[j].d
	}
	return q[i].t < q[j].t
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(step)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// around calls f for the facets of the piece that t runs smoothly into.
func (w *walker) around(t int32, f func(u int32)) {
	for k, u := range w.g.p.Topology.Across[t] {
		if u != mesh.NoTri && w.g.slot[u] >= 0 && w.in[w.g.slot[u]] && !w.g.p.Sharp[t][k] {
			f(u)
		}
	}
}

// grow makes cells of the wanted area; what is shut in between them stays small.
func (w *walker) grow(piece []int32, want float64) [][]int32 {
	g := w.g
	for i := range w.cell {
		w.cell[i] = -1
	}
	var cells [][]int32
	starts := []int32{piece[0]}
	for i := 0; i < len(starts); i++ {
		if w.cell[g.slot[starts[i]]] >= 0 {
			continue
		}
		id, seed, area := int32(len(cells)), starts[i], 0.0
		var list []int32
		w.q = append(w.q[:0], step{0, seed, id})
		for len(w.q) > 0 {
			s := heap.Pop(&w.q).(step)
			if w.cell[g.slot[s.t]] >= 0 {
				continue
			}
			if area >= want {
				starts = append(starts, s.t)
				continue
			}
			w.cell[g.slot[s.t]] = id
			list = append(list, s.t)
			area += g.p.Area[s.t]
			w.around(s.t, func(u int32) {
				if w.cell[g.slot[u]] < 0 {
					heap.Push(&w.q, step{norm2(sub(w.mid[g.slot[u]], w.mid[g.slot[seed]])), u, id})
				}
			})
		}
		if area >= want/3 || len(cells) == 0 {
			cells = append(cells, list)
		} else {
			cells = append(cells, nil) // too small to be a cell; the next round shares it out
		}
	}
	return cells
}

// middle is the facet nearest to a cell's centroid; −1 for an empty one.
func (w *walker) middle(cell []int32) int32 {
	var c r3.Vec
	area := 0.0
	for _, t := range cell {
		a := w.g.p.Area[t]
		c = add(c, scale(a, w.mid[w.g.slot[t]]))
		area += a
	}
	best, least := int32(-1), math.Inf(1)
	if area > 0 {
		c = scale(1/area, c)
	}
	for _, t := range cell {
		if d := norm2(sub(w.mid[w.g.slot[t]], c)); d < least {
			best, least = t, d
		}
	}
	return best
}

// nearest gives every facet to the seed that is nearest along the surface.
func (w *walker) nearest(piece, seeds []int32) [][]int32 {
	g := w.g
	for i := range w.cell {
		w.cell[i] = -1
	}
	w.q = w.q[:0]
	for i, t := range seeds {
		w.q = append(w.q, step{0, t, int32(i)})
	}
	heap.Init(&w.q)
	for len(w.q) > 0 {
		s := heap.Pop(&w.q).(step)
		if w.cell[g.slot[s.t]] >= 0 {
			continue
		}
		w.cell[g.slot[s.t]] = s.from
		w.around(s.t, func(u int32) {
			if w.cell[g.slot[u]] < 0 {
				heap.Push(&w.q, step{s.d + math.Sqrt(norm2(sub(w.mid[g.slot[u]], w.mid[g.slot[s.t]]))), u, s.from})
			}
		})
	}
	cells := make([][]int32, len(seeds))
	for _, t := range piece {
		if c := w.cell[g.slot[t]]; c >= 0 {
			cells[c] = append(cells[c], t)
		}
	}
	return slices.DeleteFunc(cells, func(c []int32) bool { return len(c) == 0 })
}
