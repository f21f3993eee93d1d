package mesh

import "slices"

// NoTri marks an edge without a neighbour in [Topology.Across].
const NoTri = int32(-1)

// Topology answers who is whose neighbour in a mesh. It is built in linear
// time and memory and is read-only afterwards.
type Topology struct {
	Mesh *Mesh
	// Across[t][k] is the triangle on the other side of the edge from corner k
	// to corner k+1 of triangle t, NoTri on a border or where more than two
	// triangles meet.
	Across [][3]int32
	// Start and Around list the triangles round vertex v:
	// Around[Start[v]:Start[v+1]], in no particular order.
	Start  []int32
	Around []int32
	// Borders counts edges with one triangle, Tangles edges with three or more,
	// Flips edges whose two triangles run the same way along it.
	Borders, Tangles, Flips int
}

// NewTopology builds the neighbourhood of a welded mesh. Indices of the mesh
// must be in range.
func NewTopology(m *Mesh) *Topology {
	nv, nt := len(m.Pos), len(m.Tri)
	tp := &Topology{Mesh: m, Across: make([][3]int32, nt), Start: make([]int32, nv+1), Around: make([]int32, 3*nt)}
	for _, t := range m.Tri {
		for _, v := range t {
			tp.Start[v+1]++
		}
	}
	for v := 0; v < nv; v++ {
		tp.Start[v+1] += tp.Start[v]
	}
	next := make([]int32, nv)
	copy(next, tp.Start[:nv])
	for i, t := range m.Tri {
		for _, v := range t {
			tp.Around[next[v]] = int32(i)
			next[v]++
		}
	}
	tp.pairEdges()
	return tp
}

// pairEdges finds the neighbour across every edge. Half-edges are dealt into
// one bucket per lower vertex and sorted there by the upper one: linear for any
// ordinary mesh, and n log n even for one that was made to be slow (a million
// triangles round one edge).
func (tp *Topology) pairEdges() {
	m := tp.Mesh
	ends := make([]int32, len(m.Pos)+1)
	for _, t := range m.Tri {
		for k := 0; k < 3; k++ {
			ends[min(t[k], t[(k+1)%3])]++
		}
	}
	sum := int32(0)
	for v, n := range ends {
		ends[v] = sum
		sum += n
	}
	// An entry is the upper vertex in the high half, the half-edge (3t+k) in the
	// low half.
	half := make([]uint64, 3*len(m.Tri))
	for t, c := range m.Tri {
		for k := 0; k < 3; k++ {
			a, b := c[k], c[(k+1)%3]
			lo, hi := min(a, b), max(a, b)
			half[ends[lo]] = uint64(hi)<<32 | uint64(3*t+k)
			ends[lo]++
		}
	}
	begin := int32(0)
	for v := range m.Pos {
		end := ends[v]
		bucket := half[begin:end]
		slices.Sort(bucket)
		for i := 0; i < len(bucket); {
			j := i + 1
			for j < len(bucket) && bucket[j]>>32 == bucket[i]>>32 {
				j++
			}
			tp.join(bucket[i:j])
			i = j
		}
		begin = end
	}
}

// join records the half-edges of one edge.
func (tp *Topology) join(run []uint64) {
	for _, e := range run {
		h := uint32(e)
		tp.Across[h/3][h%3] = NoTri
	}
	switch len(run) {
	case 1:
		tp.Borders++
	case 2:
		g, h := uint32(run[0]), uint32(run[1])
		tp.Across[g/3][g%3], tp.Across[h/3][h%3] = int32(h/3), int32(g/3)
		if tp.Mesh.Tri[g/3][g%3] == tp.Mesh.Tri[h/3][h%3] {
			tp.Flips++
		}
	default:
		tp.Tangles++
	}
}

// Closed reports whether every edge has exactly two triangles that run
// opposite ways along it.
func (tp *Topology) Closed() bool {
	return len(tp.Mesh.Tri) > 0 && tp.Borders == 0 && tp.Tangles == 0 && tp.Flips == 0
}

// Bodies labels triangles by connected shell, over shared edges, numbered in
// order of their first triangle, and counts the shells.
func (tp *Topology) Bodies() (label []int32, n int) {
	label = make([]int32, len(tp.Across))
	for i := range label {
		label[i] = -1
	}
	var queue []int32
	for i := range label {
		if label[i] >= 0 {
			continue
		}
		label[i] = int32(n)
		queue = append(queue[:0], int32(i))
		for len(queue) > 0 {
			t := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for _, u := range tp.Across[t] {
				if u >= 0 && label[u] < 0 {
					label[u] = int32(n)
					queue = append(queue, u)
				}
			}
		}
		n++
	}
	return label, n
}
