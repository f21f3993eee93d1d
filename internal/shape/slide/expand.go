package slide

import (
	"slices"

	"fettle/internal/shape/mesh"
)

const (
	// expansions is how often a patch is grown and fitted again.
	expansions = 4
	// A patch grown from one of its motions is taken when it is larger by these
	// factors: with as many motions as before, and with fewer.
	gainSame, gainFewer = 1.05, 1.3
)

// expand lets patches of free-form faces grow. Merging cells two by two leads them
// to whatever motion the first few agreed on, while several were still open; on a
// dome, which rolls either way for a while, that is seldom the one that goes
// farthest. So each motion that a patch nearly has is followed over the surface as
// far as facets stray little along it, is fitted again, and so on; the largest
// patch wins, and others lose what it covers.
func (s *settler) expand() {
	order := make([]int32, len(s.z))
	for o := range order {
		order[o] = int32(o)
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		switch x, y := s.s[a].area, s.s[b].area; {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	taken := make([]bool, len(s.owner))
	for i, o := range s.owner {
		taken[i] = o == shut
	}
	for _, o := range order {
		var own []int32
		drawn := false
		for i, p := range s.owner {
			if p == o {
				own = append(own, s.g.tris[i])
				drawn = drawn || !s.g.free(s.g.tris[i])
			}
		}
		if drawn || len(own) == 0 {
			continue
		}
		best, ms := s.grown(o, own, taken)
		if best == nil {
			continue
		}
		for _, t := range own {
			s.owner[s.g.slot[t]] = nobody
		}
		for _, t := range best {
			s.owner[s.g.slot[t]], taken[s.g.slot[t]] = o, true
		}
		s.ms[o] = ms
	}
}

// grown is the largest patch that grows from one, if it is worth while.
func (s *settler) grown(o int32, own []int32, taken []bool) (best []int32, ms []Motion) {
	g := s.g
	z := s.z[o]
	limit := g.limit(z.noise)
	seeds := append(z.pair(limit), z.single(limit))
	for i := range 3 {
		seeds = append(seeds, z.clean(z.twist(&z.vec[i]), limit))
	}
	before := g.sum(own).area
	most := gainSame * before
	for i, m := range seeds {
		if z.of(m) > 2*strayFactor*limit || slices.Contains(seeds[:i], m) {
			continue
		}
		core, area := own, before
		for range expansions {
			grown := s.follow(m, core, taken)
			if len(grown) == 0 {
				break
			}
			sum := g.sum(grown)
			y := newSlips(sum, g.origin)
			limit := g.limit(y.noise)
			if y.val[0] > limit {
				break
			}
			kind, now := y.kind(limit)
			need := most
			if len(now) < len(s.ms[o]) {
				need = max(need, gainFewer*before)
			}
			if kind != Free && sum.area > need {
				most, best, ms = sum.area, grown, now
			}
			if sum.area < 1.005*area {
				break
			}
			m, core, area = y.single(limit), grown, sum.area
		}
	}
	return best, ms
}

// follow are the facets that a motion leads over from those of a core, in one
// piece, the one with the most area.
func (s *settler) follow(m Motion, core []int32, taken []bool) []int32 {
	g := s.g
	const unknown, no, yes = 0, 1, 2
	state := make([]uint8, len(g.tris))
	fits := func(t int32) bool {
		i := g.slot[t]
		if state[i] == unknown {
			state[i] = no
			if !taken[i] && g.free(t) {
				if slip, err := g.strays(t, m); slip <= strayFactor*g.limit(err) {
					state[i] = yes
				}
			}
		}
		return state[i] == yes
	}
	seen := make([]bool, len(g.tris))
	var best []int32
	most := 0.0
	for _, t := range core {
		if seen[g.slot[t]] || !fits(t) {
			continue
		}
		list, area := []int32{t}, 0.0
		seen[g.slot[t]] = true
		for i := 0; i < len(list); i++ {
			area += g.p.Area[list[i]]
			for k, u := range g.p.Topology.Across[list[i]] {
				if u != mesh.NoTri && g.slot[u] >= 0 && !g.p.Sharp[list[i]][k] && !seen[g.slot[u]] && fits(u) {
					seen[g.slot[u]] = true
					list = append(list, u)
				}
			}
		}
		if area > most {
			best, most = list, area
		}
	}
	slices.Sort(best)
	return best
}
