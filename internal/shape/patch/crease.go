package patch

import (
	"math"
	"slices"

	"fettle/internal/shape/mesh"
)

const (
	mildest = 1 * math.Pi / 180 // turns below this are never a crease
	past    = 2.5               // a crease turns this much more than the surface beside it
	ring    = 48                // turns that are looked at round an edge
	chain   = 5                 // edges that make a crease where the surface turns all over
)

// steepest are the largest turns that a flat makes to two different neighbours.
type steepest struct {
	to   [2]int32
	turn [2]float32
}

func (s *steepest) note(to int32, turn float32) {
	switch {
	case s.turn[0] > 0 && s.to[0] == to:
		s.turn[0] = max(s.turn[0], turn)
	case turn > s.turn[0]:
		s.to[1], s.turn[1] = s.to[0], s.turn[0]
		s.to[0], s.turn[0] = to, turn
	case turn > s.turn[1]:
		s.to[1], s.turn[1] = to, turn
	}
}

// but is the largest turn to any other neighbour.
func (s *steepest) but(to int32) float32 {
	if s.to[0] == to {
		return s.turn[1]
	}
	return s.turn[0]
}

// findCreases marks the edges between free flats at which the surface breaks.
// Two tests must agree: the edge turns much more than the same flats do at
// their other edges in the same sense, and much more than the edges round about
// do usually, either way. On a scan, whose facets turn at random, a few edges
// pass all the same; but they stand alone, while a crease is a line.
func (r *remainder) findCreases() {
	g := r.g
	r.crease = make([][3]bool, len(g.owner))
	parent := map[uint32]uint32{}
	var find func(v uint32) uint32
	find = func(v uint32) uint32 {
		p, ok := parent[v]
		if !ok || p == v {
			parent[v] = v
			return v
		}
		root := find(p)
		parent[v] = root
		return root
	}
	type edge struct {
		t int32
		k int
	}
	var doubtful []edge
	for t := range g.owner {
		for k, u := range g.p.Topology.Across[t] {
			if u < int32(t) || u == mesh.NoTri || g.owner[t] >= 0 || g.owner[u] >= 0 || g.f.of[u] == g.f.of[t] {
				continue
			}
			turn := g.p.Turn[t][k]
			if float64(max(turn, -turn)) > steep {
				r.set(int32(t), k)
				continue
			}
			if !r.breaks(g.f.of[t], g.f.of[u], turn) {
				continue
			}
			usual := r.round(g.f.of[t], g.f.of[u])
			if turn < 0 {
				turn = -turn
			}
			switch {
			case usual < 1e-3:
				r.set(int32(t), k)
			case turn > 3*usual:
				v := g.p.Mesh.Tri[t]
				parent[find(v[k])] = find(v[(k+1)%3])
				doubtful = append(doubtful, edge{int32(t), k})
			}
		}
	}
	count := map[uint32]int{}
	for _, e := range doubtful {
		count[find(g.p.Mesh.Tri[e.t][e.k])]++
	}
	for _, e := range doubtful {
		if count[find(g.p.Mesh.Tri[e.t][e.k])] >= chain {
			r.set(e.t, e.k)
		}
	}
}

// set marks an edge from both sides.
func (r *remainder) set(t int32, k int) {
	r.crease[t][k] = true
	u := r.g.p.Topology.Across[t][k]
	for j, w := range r.g.p.Topology.Across[u] {
		if w == t {
			r.crease[u][j] = true
		}
	}
}

// breaks is the first test, against the other turns of the two flats.
func (r *remainder) breaks(a, b int32, turn float32) bool {
	sign := 0
	if turn < 0 {
		sign, turn = 1, -turn
	}
	return turn >= mildest && turn > past*max(r.bends[a][sign].but(b), r.bends[b][sign].but(a))
}

// round is what edges near the one between two flats usually turn: a value that
// two thirds of them do not exceed, for a crease runs on through some of them.
func (r *remainder) round(a, b int32) float32 {
	g := r.g
	var turns []float32
	var near []int32
	look := func(f int32, walk bool) {
		tris := g.f.at(f)
		for _, t := range tris[:min(len(tris), ring)] {
			for k, u := range g.p.Topology.Across[t] {
				if u == mesh.NoTri || g.owner[u] >= 0 || len(turns) >= ring {
					continue
				}
				o := g.f.of[u]
				turn := math.Abs(float64(g.p.Turn[t][k]))
				if o == f || turn > steep || (f == a && o == b) || (f == b && o == a) {
					continue
				}
				turns = append(turns, float32(turn))
				if walk && len(near) < ring {
					near = append(near, o)
				}
			}
		}
	}
	look(a, true)
	look(b, true)
	for _, f := range near {
		look(f, false)
	}
	if len(turns) == 0 {
		return 0
	}
	slices.Sort(turns)
	return turns[len(turns)*2/3]
}
