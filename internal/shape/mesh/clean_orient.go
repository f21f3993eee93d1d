package mesh

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// shells are the pieces of a mesh that hang together over edges with exactly
// two facets.
type shells struct {
	label    []int32 // of each triangle
	facets   []int32
	area     []float64
	volume   []float64 // signed, about the middle of the shell's own box
	box      []geom.Box
	closed   []bool // no open edge, or only holes that cannot change which side is out
	oneSided []bool
	holes    []HoleLoop
}

// findShells labels the shells and makes the facets of each run the same way,
// the way that most of them ran already.
func (c *cleaner) findShells() *shells {
	c.topology()
	s := &shells{}
	if c.tp.Flips == 0 {
		label, n := c.tp.Bodies()
		s.label, s.oneSided = label, make([]bool, n)
	} else {
		c.agree(s)
	}
	n := len(s.oneSided)
	s.facets, s.area, s.volume = make([]int32, n), make([]float64, n), make([]float64, n)
	s.box, s.closed = make([]geom.Box, n), make([]bool, n)
	for i := range s.box {
		s.box[i] = geom.EmptyBox()
		s.closed[i] = !s.oneSided[i]
	}
	for t, l := range s.label {
		v := c.tri[t]
		s.facets[l]++
		s.box[l] = s.box[l].Add(c.pos[v[0]]).Add(c.pos[v[1]]).Add(c.pos[v[2]])
	}
	mid := make([]r3.Vec, n)
	for i, b := range s.box {
		mid[i] = b.Centre()
	}
	for t, l := range s.label {
		v := c.tri[t]
		p, q, r := r3.Sub(c.pos[v[0]], mid[l]), r3.Sub(c.pos[v[1]], mid[l]), r3.Sub(c.pos[v[2]], mid[l])
		s.area[l] += math.Sqrt(r3.Norm2(r3.Cross(r3.Sub(q, p), r3.Sub(r, p)))) / 2
		s.volume[l] += r3.Dot(p, r3.Cross(q, r)) / 6
	}
	c.findOpen(s)
	return s
}

// agree floods every shell over its edges and reverses the facets that run
// against the rest.
func (c *cleaner) agree(s *shells) {
	nt := len(c.tri)
	s.label = make([]int32, nt)
	for i := range s.label {
		s.label[i] = -1
	}
	against := make([]bool, nt)
	shell := make([]int32, 0, 64)
	for i := range nt {
		if s.label[i] >= 0 {
			continue
		}
		id := int32(len(s.oneSided))
		s.label[i] = id
		shell = append(shell[:0], int32(i))
		turned, twisted := 0, false
		for k := 0; k < len(shell); k++ {
			t := shell[k]
			for e, u := range c.tp.Across[t] {
				if u < 0 {
					continue
				}
				a, b := c.tri[t][e], c.tri[t][(e+1)%3]
				j := edgeIn(c.tri[u], a, b)
				want := against[t] != (c.tri[u][j] == a)
				if s.label[u] < 0 {
					s.label[u] = id
					against[u] = want
					if want {
						turned++
					}
					shell = append(shell, u)
				} else if against[u] != want {
					twisted = true
				}
			}
		}
		s.oneSided = append(s.oneSided, twisted)
		if turned == 0 {
			continue
		}
		minority := 2*turned <= len(shell)
		for _, t := range shell {
			if against[t] == minority {
				c.turn(t)
				c.count[Reversed]++
			}
		}
	}
	c.recountFlips()
}

// recountFlips brings Flips up to date after facets were turned.
func (c *cleaner) recountFlips() {
	n := 0
	for t, across := range c.tp.Across {
		for k, u := range across {
			if u > int32(t) {
				j := edgeIn(c.tri[u], c.tri[t][k], c.tri[t][(k+1)%3])
				if c.tri[u][j] == c.tri[t][k] {
					n++
				}
			}
		}
	}
	c.tp.Flips = n
}

// openShare is the largest share of a shell's area that its holes may have for
// it still to have an inside.
const openShare = 0.02

// findOpen decides which shells are closed. An edge with one facet is open. At
// an edge with more than two, a shell is closed if as many of its facets run
// one way as the other. A shell with holes that are small all together counts
// as closed.
func (c *cleaner) findOpen(s *shells) {
	if c.tp.Borders+c.tp.Tangles == 0 {
		return
	}
	type side struct {
		edge  [2]uint32
		shell int32
		way   int32
	}
	var sides []side
	for t, across := range c.tp.Across {
		for k, u := range across {
			if u != NoTri {
				continue
			}
			a, b := c.tri[t][k], c.tri[t][(k+1)%3]
			way := int32(1)
			if a > b {
				way = -1
			}
			sides = append(sides, side{edgeKey(a, b), s.label[t], way})
		}
	}
	slices.SortFunc(sides, func(a, b side) int {
		return cmp.Or(slices.Compare(a.edge[:], b.edge[:]), cmp.Compare(a.shell, b.shell), cmp.Compare(a.way, b.way))
	})
	tangled := make([]bool, len(s.closed)) // open where more than two facets meet
	for i := 0; i < len(sides); {
		j, way, alone := i, int32(0), true
		for ; j < len(sides) && sides[j].edge == sides[i].edge && sides[j].shell == sides[i].shell; j++ {
			way += sides[j].way
		}
		if way != 0 {
			s.closed[sides[i].shell] = false
			alone = (i == 0 || sides[i-1].edge != sides[i].edge) && (j == len(sides) || sides[j].edge != sides[i].edge) && j == i+1
			tangled[sides[i].shell] = tangled[sides[i].shell] || !alone
		}
		i = j
	}
	missing := make([]float64, len(s.closed))
	s.holes = Holes(c.tp)
	for _, h := range s.holes {
		missing[s.label[h.Tri]] += h.Area
	}
	for i := range s.closed {
		if !s.closed[i] && !s.oneSided[i] && !tangled[i] && missing[i] < openShare*s.area[i] {
			s.closed[i] = true
		}
	}
}

// flatShell is the volume, as a share of a ball's of the same area, below
// which a shell has no inside worth speaking of.
const flatShell = 1e-9

// turnOutward makes closed shells face outward, or inward where they are
// cavities in a body.
func (c *cleaner) turnOutward(s *shells) {
	inner := c.insideOthers(s)
	turn := make([]bool, len(s.closed))
	any := false
	for i, v := range s.volume {
		ball := s.area[i] * math.Sqrt(s.area[i]/math.Pi) / 6
		if !s.closed[i] || math.Abs(v) <= flatShell*ball {
			continue
		}
		if inner[i] {
			c.count[Cavity]++
		}
		if (v < 0) != inner[i] {
			turn[i], any = true, true
			c.count[InsideOut]++
		}
	}
	if !any {
		return
	}
	for t, l := range s.label {
		if turn[l] {
			c.turn(int32(t))
		}
	}
}
