package mesh

import (
	"cmp"
	"slices"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// HoleLoop is a closed loop of edges that have only one facet.
type HoleLoop struct {
	Loop   []uint32 // vertices in order; facets over them in this order would close it
	Tri    int32    // a triangle at the loop
	Length float64  // round the loop, in the unit of the mesh
	Centre r3.Vec   // mean of the loop's vertices
	Area   float64  // of the loop's flat shadow, the one it is largest in
	normal r3.Vec   // twice that area along its normal
	round  bool     // it comes back to where it starts
}

// Holes traces the open edges of a mesh into loops, the longest first. At a
// vertex a loop goes on to the other end of the fan of facets that it came
// along, so that a loop never leaves its shell. Every open edge is in exactly
// one loop; where facets do not run the same way, or more than two meet at an
// edge, a piece may end before it comes round.
func Holes(tp *Topology) []HoleLoop {
	if tp.Borders == 0 {
		return nil
	}
	half := openHalves(tp)
	used := make([]bool, len(half))
	var out []HoleLoop
	for i := range half {
		if used[i] {
			continue
		}
		first := half[i].from
		loop := []uint32{first}
		used[i] = true
		round := false
		for at := i; ; {
			next, ok := nextOpen(tp, half, half[at].h)
			if round = ok && next == i; round || !ok || used[next] {
				if half[at].to != first {
					loop = append(loop, half[at].to)
				}
				break
			}
			loop = append(loop, half[at].to)
			used[next] = true
			at = next
		}
		hole := measureLoop(tp.Mesh, loop, int32(half[i].h/3))
		hole.round = round
		out = append(out, hole)
	}
	slices.SortFunc(out, func(a, b HoleLoop) int {
		return cmp.Or(cmp.Compare(b.Length, a.Length), cmp.Compare(a.Tri, b.Tri), cmp.Compare(a.Loop[0], b.Loop[0]))
	})
	return out
}

// nextOpen turns about the vertex at the start of the open half-edge h, facet
// by facet, to the next open edge there.
func nextOpen(tp *Topology, half []openHalf, h uint32) (int, bool) {
	t, k := int32(h/3), int(h%3)
	at := tp.Mesh.Tri[t][k]
	for {
		k = (k + 2) % 3
		u := tp.Across[t][k]
		if u == NoTri {
			return slices.BinarySearchFunc(half, uint32(3*int(t)+k), func(a openHalf, h uint32) int { return cmp.Compare(a.h, h) })
		}
		c := tp.Mesh.Tri[t][k]
		j := edgeIn(tp.Mesh.Tri[u], c, at)
		if tp.Mesh.Tri[u][j] != at {
			return 0, false // the facets do not run the same way
		}
		t, k = u, j
	}
}

// openHalf is an open edge, seen from the hole.
type openHalf struct {
	from, to uint32
	h        uint32 // half-edge 3t+k of its facet
}

// openHalves lists the edges with exactly one facet. Edges with three or more
// also have no neighbour and are told apart by counting. The list is in order of
// half-edges.
func openHalves(tp *Topology) []openHalf {
	var half []openHalf
	for t, a := range tp.Across {
		for k, u := range a {
			if u == NoTri {
				v := tp.Mesh.Tri[t]
				half = append(half, openHalf{v[(k+1)%3], v[k], uint32(3*t + k)})
			}
		}
	}
	if tp.Tangles == 0 {
		return half
	}
	key := func(h openHalf) [2]uint32 { return edgeKey(h.from, h.to) }
	slices.SortFunc(half, func(a, b openHalf) int {
		ka, kb := key(a), key(b)
		return cmp.Or(slices.Compare(ka[:], kb[:]), cmp.Compare(a.h, b.h))
	})
	n := 0
	for i := 0; i < len(half); {
		j := i + 1
		for j < len(half) && key(half[j]) == key(half[i]) {
			j++
		}
		if j-i == 1 {
			half[n] = half[i]
			n++
		}
		i = j
	}
	half = half[:n]
	slices.SortFunc(half, func(a, b openHalf) int { return cmp.Compare(a.h, b.h) })
	return half
}

// measureLoop fills in what can be said of a loop.
func measureLoop(m *Mesh, loop []uint32, t int32) HoleLoop {
	h := HoleLoop{Loop: loop, Tri: t}
	for _, v := range loop {
		h.Centre = r3.Add(h.Centre, m.Pos[v])
	}
	h.Centre = r3.Scale(1/float64(len(loop)), h.Centre)
	for i, v := range loop {
		p, q := r3.Sub(m.Pos[v], h.Centre), r3.Sub(m.Pos[loop[(i+1)%len(loop)]], h.Centre)
		h.Length += r3.Norm(r3.Sub(q, p))
		h.normal = r3.Add(h.normal, r3.Cross(p, q))
	}
	h.Area = r3.Norm(h.normal) / 2
	return h
}

const (
	// smallHole is the largest share of its shell's area that a flat hole may
	// have to be closed without asking: a nick, not a missing side.
	smallHole = 0.005
	// maxFill is the longest loop that is closed.
	maxFill = 64
	// flatHole is how far off its plane a loop may run, as a share of the square
	// root of its area.
	flatHole = 1e-3
)

// fillHoles closes holes that are small and flat, and holes of one missing
// facet on a shell that has many. It reports whether it closed any.
func (c *cleaner) fillHoles(s *shells) bool {
	c.topology()
	if c.tp.Borders == 0 {
		return false
	}
	n := 0
	for _, h := range s.holes {
		shell := s.label[h.Tri]
		if !h.round || len(h.Loop) < 3 || len(h.Loop) > maxFill || s.oneSided[shell] || !(h.Area > 0) {
			continue
		}
		one := len(h.Loop) == 3 && s.facets[shell] > 2
		if !one && h.Area > smallHole*s.area[shell] {
			continue
		}
		if c.fill(h) {
			n++
		}
	}
	c.count[Filled] += n
	if n > 0 {
		c.tp = nil
	}
	return n > 0
}

// fill adds the facets that close a hole, if they are sound: flat, none without
// area, none over an edge that exists.
func (c *cleaner) fill(h HoleLoop) bool {
	seen := map[uint32]bool{}
	pts := make([]r3.Vec, len(h.Loop))
	n := r3.Scale(1/(2*h.Area), h.normal)
	box := geom.EmptyBox()
	for i, v := range h.Loop {
		if seen[v] {
			return false
		}
		seen[v] = true
		pts[i] = c.pos[v]
		box = box.Add(r3.Vec{X: r3.Dot(n, r3.Sub(pts[i], h.Centre))})
	}
	if off := box.Size().X; off*off > flatHole*flatHole*h.Area {
		return false
	}
	cut, ok := CutPolygon(pts, nil)
	if !ok {
		return false
	}
	k := len(h.Loop)
	for _, t := range cut {
		if flat(pts[t[0]], pts[t[1]], pts[t[2]]) {
			return false
		}
		if c.covered(h.Loop[t[0]], h.Loop[t[1]], h.Loop[t[2]]) {
			return false
		}
		for e := range 3 {
			i, j := int(t[e]), int(t[(e+1)%3])
			rim := (i+1)%k == j
			if !rim && c.linked(h.Loop[i], h.Loop[j]) {
				return false
			}
		}
	}
	face := int32(0)
	if c.face != nil {
		face = c.face[h.Tri]
	}
	for _, t := range cut {
		c.tri = append(c.tri, [3]uint32{h.Loop[t[0]], h.Loop[t[1]], h.Loop[t[2]]})
		if c.face != nil {
			c.face = append(c.face, face)
		}
	}
	return true
}

// covered reports whether there is a facet over three vertices; at a vertex of
// very many facets it says yes rather than look at all of them.
func (c *cleaner) covered(a, b, d uint32) bool {
	around := c.tp.Around[c.tp.Start[a]:c.tp.Start[a+1]]
	if len(around) > 256 {
		return true
	}
	for _, t := range around {
		if v := c.tri[t][:]; slices.Contains(v, b) && slices.Contains(v, d) {
			return true
		}
	}
	return false
}

// linked reports whether a facet joins two vertices; at a vertex of very many
// facets it says yes rather than look at all of them.
func (c *cleaner) linked(a, b uint32) bool {
	around := c.tp.Around[c.tp.Start[a]:c.tp.Start[a+1]]
	if len(around) > 256 {
		return true
	}
	for _, t := range around {
		if slices.Contains(c.tri[t][:], b) {
			return true
		}
	}
	return false
}
