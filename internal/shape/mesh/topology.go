package mesh

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
	for i := range m.Tri {
		for k := 0; k < 3; k++ {
			tp.pair(i, k)
		}
	}
	return tp
}

// pair finds the neighbour of triangle i across its edge k by looking round
// one end of the edge.
func (tp *Topology) pair(i, k int) {
	t := tp.Mesh.Tri[i]
	a, b := t[k], t[(k+1)%3]
	other, count, same := NoTri, 0, false
	lowest := int32(i)
	for _, j := range tp.Around[tp.Start[a]:tp.Start[a+1]] {
		u := tp.Mesh.Tri[j]
		for l := 0; l < 3; l++ {
			c, d := u[l], u[(l+1)%3]
			if (c == a && d == b) || (c == b && d == a) {
				count++
				lowest = min(lowest, j)
				if int(j) != i {
					other = j
					same = c == a
				}
			}
		}
	}
	first := lowest == int32(i) // count each edge once
	switch {
	case count == 1:
		tp.Borders++
		other = NoTri
	case count > 2:
		if first {
			tp.Tangles++
		}
		other = NoTri
	case same && first:
		tp.Flips++
	}
	tp.Across[i][k] = other
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
