package slide

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
)

// settleRounds is how often borders are drawn anew; motions hardly change after.
const settleRounds = 3

// settle draws the borders of patches. Cells straddle the line where one sliding
// surface ends and another begins. So facets of free-form faces leave a patch along
// whose motions they themselves stray much, and those that are free go, one ring
// after the other, to the patch beside them along whose motions they stray least,
// if they stray little; then the motions are fitted again. Only the facets of open
// are dealt with.
func (g *ground) settle(units []*unit, open []bool) (sliding [][]int32) {
	cut := false // where a face was cut into cells, or left over, there are borders to draw
	for _, u := range units {
		slides := u.z.count(g.limit(u.z.noise)) > 0
		cut = cut || u.cut || !slides
		if u.s.area >= g.least() && slides {
			slices.Sort(u.tris)
			sliding = append(sliding, u.tris)
		}
	}
	if !cut {
		return sliding
	}
	for i := range settleRounds {
		s := g.settler(sliding, open)
		if i == 0 {
			s.expand()
			s = g.settler(s.patches(), open)
		}
		s.release()
		s.flood()
		sliding = s.patches()
	}
	return sliding
}

// absorbed are patches with the small pieces between them that they can take.
func (g *ground) absorbed(sliding [][]int32) [][]int32 {
	open := make([]bool, len(g.tris))
	for i := range open {
		open[i] = true
	}
	s := g.settler(sliding, open)
	s.islands()
	return s.patches()
}

// without are the facets of a list that are in none of the patches.
func (g *ground) without(tris []int32, patches [][]int32) (rest []int32) {
	in := make([]bool, len(g.tris))
	for _, p := range patches {
		for _, t := range p {
			in[g.slot[t]] = true
		}
	}
	for _, t := range tris {
		if !in[g.slot[t]] {
			rest = append(rest, t)
		}
	}
	return rest
}

func (g *ground) settler(patches [][]int32, open []bool) *settler {
	s := &settler{g: g, owner: make([]int32, len(g.tris))}
	for i := range s.owner {
		s.owner[i] = shut
		if open[i] {
			s.owner[i] = nobody
		}
	}
	for _, tris := range patches {
		sum := g.sum(tris)
		_, ms, z := g.judge(tris, sum)
		if len(ms) == 0 {
			continue
		}
		for _, t := range tris {
			s.owner[g.slot[t]] = int32(len(s.z))
		}
		s.z, s.ms, s.s = append(s.z, z), append(s.ms, ms), append(s.s, *sum)
	}
	return s
}

// patches are the facets of each patch as they stand: the largest connected piece,
// if it is no sliver.
func (s *settler) patches() [][]int32 {
	g := s.g
	own := make([][]int32, len(s.z))
	for i, o := range s.owner {
		if o >= 0 {
			own[o] = append(own[o], g.tris[i])
		}
	}
	var all [][]int32
	for _, tris := range own {
		var best []int32
		most := 0.0
		for _, piece := range g.components(tris, g.smooth) {
			area := 0.0
			for _, t := range piece {
				area += g.p.Area[t]
			}
			if area > most {
				best, most = piece, area
			}
		}
		if most >= g.least() {
			all = append(all, best)
		}
	}
	return all
}

// free reports whether a facet is of a free-form face.
func (g *ground) free(t int32) bool { return g.p.Faces[g.p.Face[t]].Kind == geom.Free }

// release frees facets that stray.
func (s *settler) release() {
	for i, t := range s.g.tris {
		if o := s.owner[i]; o >= 0 && s.g.free(t) && s.strays(t, o) > 1 {
			s.owner[i] = nobody
		}
	}
}

// Owners that are no patch.
const nobody, shut = int32(-1), int32(-2)

// settler shares facets out among patches.
type settler struct {
	g     *ground
	owner []int32 // of each slot
	z     []*slips
	ms    [][]Motion
	s     []moments
}

// sweeps bounds how far a border moves in one round, in facets.
const sweeps = 60

// flood moves borders, facet by facet: a free one goes to the patch beside it that
// it strays least along, one that has a patch goes over to another where it strays
// a good deal less. It works in rounds, so that the order of facets does not
// matter.
func (s *settler) flood() {
	type claim struct{ t, o int32 }
	g := s.g
	var front []int32
	for i, t := range g.tris {
		if g.free(t) && (s.owner[i] == nobody || s.owner[i] >= 0 && s.border(t)) {
			front = append(front, t)
		}
	}
	moved := make([]uint8, len(g.tris))
	for range sweeps {
		var won []claim
		for _, t := range front {
			i := g.slot[t]
			mine := s.owner[i]
			best, least := int32(-1), 1.0
			if mine >= 0 {
				least = min(1, max(0.7*s.strays(t, mine), 0.1))
			}
			for k, u := range g.p.Topology.Across[t] {
				if u == mesh.NoTri || g.slot[u] < 0 || g.p.Sharp[t][k] {
					continue
				}
				o := s.owner[g.slot[u]]
				if o < 0 || o == mine || o == best {
					continue
				}
				if off := s.strays(t, o); off < least {
					best, least = o, off
				}
			}
			// A facet that cannot decide stays where it is.
			if best >= 0 && moved[i] < 3 {
				won = append(won, claim{t, best})
				moved[i]++
			}
		}
		if len(won) == 0 {
			return
		}
		front = front[:0]
		for _, c := range won {
			s.owner[g.slot[c.t]] = c.o
		}
		for _, c := range won {
			for k, u := range g.p.Topology.Across[c.t] {
				if u != mesh.NoTri && g.slot[u] >= 0 && s.owner[g.slot[u]] != c.o && s.owner[g.slot[u]] != shut && !g.p.Sharp[c.t][k] && g.free(u) {
					front = append(front, u)
				}
			}
		}
		slices.Sort(front)
		front = slices.Compact(front)
	}
}

// border reports whether a facet has a neighbour of another patch.
func (s *settler) border(t int32) bool {
	for _, u := range s.g.p.Topology.Across[t] {
		if u != mesh.NoTri && s.g.slot[u] >= 0 && s.owner[s.g.slot[u]] != s.owner[s.g.slot[t]] {
			return true
		}
	}
	return false
}

// strays is how far a facet strays along a patch's motions, against what it may.
func (s *settler) strays(t, o int32) float64 {
	off, noise := 0.0, 0.0
	for _, m := range s.ms[o] {
		slip, err := s.g.strays(t, m)
		off, noise = max(off, slip), err
	}
	return off / (strayFactor * s.g.limit(max(noise, s.z[o].noise)))
}

// islands gives what is left in small pieces to a patch beside it, the one with the
// longest common border first, where the whole still slides as it did.
func (s *settler) islands() {
	g := s.g
	var rest []int32
	for i, o := range s.owner {
		if o == nobody {
			rest = append(rest, g.tris[i])
		}
	}
	for _, piece := range g.components(rest, g.smooth) {
		sum := g.sum(piece)
		if sum.area > g.least()/4 {
			continue
		}
		border := map[int32]float64{}
		var owners []int32
		for _, t := range piece {
			for k, u := range g.p.Topology.Across[t] {
				if u == mesh.NoTri || g.slot[u] < 0 || g.p.Sharp[t][k] || s.owner[g.slot[u]] < 0 {
					continue
				}
				o, v := s.owner[g.slot[u]], g.p.Mesh.Tri[t]
				if border[o] == 0 {
					owners = append(owners, o)
				}
				border[o] += math.Sqrt(norm2(sub(g.p.Mesh.Pos[v[k]], g.p.Mesh.Pos[v[(k+1)%3]]))) + 1e-300
			}
		}
		slices.SortFunc(owners, func(a, b int32) int {
			return cmp.Or(cmp.Compare(border[b], border[a]), cmp.Compare(a, b))
		})
		for _, o := range owners {
			all := s.s[o]
			all.add(sum)
			if z := newSlips(&all, g.origin); z.worst(s.ms[o]) <= g.limit(z.noise) {
				for _, t := range piece {
					s.owner[g.slot[t]] = o
				}
				s.s[o] = all
				break
			}
		}
	}
}

// loose are the pieces of what does not slide: connected over smooth edges, but
// slivers also over sharp ones to what does not slide beside them.
func (g *ground) loose(rest []int32) [][]int32 {
	pieces := g.components(rest, g.smooth)
	of := make([]int32, len(g.tris))
	for i := range of {
		of[i] = -1
	}
	area := make([]float64, len(pieces))
	for i, p := range pieces {
		for _, t := range p {
			of[g.slot[t]] = int32(i)
			area[i] += g.p.Area[t]
		}
	}
	least := g.least()
	return g.components(rest, func(t, u int32, k int) bool {
		i, j := of[g.slot[t]], of[g.slot[u]]
		return i == j || area[i] < least || area[j] < least
	})
}
