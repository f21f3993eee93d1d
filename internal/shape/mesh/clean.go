package mesh

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Options steer [Clean]. The zero value is what a part needs.
type Options struct {
	// Tolerance, as a share of the diagonal of the model's box, is how far apart
	// two vertices on open edges may lie and still be one; 0 stands for
	// [DefaultTolerance], less than 0 for none.
	Tolerance float64
	// KeepHoles leaves even the smallest holes open.
	KeepHoles bool
}

// DefaultTolerance is about ten times the rounding of single-precision
// coordinates: a tenth of a micrometre on a part of 100 mm.
const DefaultTolerance = 1e-6

// MaxCoordinate is the largest coordinate that a part can have; facets beyond
// it are dropped like those that are not numbers.
const MaxCoordinate = 1e15

// Kinds of repairs and findings.
const (
	NotFinite   = "not_finite"   // facets with a corner that is no usable number
	OutOfRange  = "out_of_range" // facets that name a vertex which is not there
	WeldedExact = "welded_exact" // vertices at the same place
	WeldedNear  = "welded_near"  // vertices within the tolerance, on open edges
	Degenerate  = "degenerate"   // facets without area
	Duplicate   = "duplicate"    // facets over the same three vertices
	InnerWall   = "inner_wall"   // facets back to back between two bodies
	Unused      = "unused"       // vertices that no facet uses
	Reversed    = "reversed"     // facets against their neighbours
	InsideOut   = "inside_out"   // whole shells turned about
	Cavity      = "cavity"       // closed shells inside a body
	Undecided   = "undecided"    // shells too many and too nested to sort out
	OneSided    = "one_sided"    // shells that have no outside
	Tangle      = "tangle"       // edges with more than two facets
	Filled      = "filled"       // small holes closed
	Hole        = "hole"         // holes left open
)

// Repair is one kind of change that was made to a mesh, or of trouble that was
// found and left: which kind, how often, and a sentence for a person. Lengths
// and places in it are in the unit of the mesh.
type Repair struct {
	Kind  string
	Count int
	Says  string
}

// maxRounds bounds how often mending starts again because one repair made room
// for another; two rounds serve all but meshes made to be bad.
const maxRounds = 12

// cleaner is a mesh on its way.
type cleaner struct {
	pos   []r3.Vec
	tri   [][3]uint32
	face  []int32
	tp    *Topology // nil when triangles have changed since it was built
	count map[string]int
	holes []HoleLoop
}

// Clean returns the mesh welded, without facets that are broken, flat or there
// twice, with the facets of every shell running the same way and outward
// (towards the body for a cavity), and with small flat holes closed; and it
// reports everything that it changed and everything that it found and left. The
// given mesh is not touched; what is kept of it stays in the same order, and
// cleaning twice changes nothing more.
//
// Time and memory are linear in the mesh, but for sorting the facets at edges
// that are not as they should be.
func Clean(m *Mesh, opt Options) (*Mesh, []Repair) {
	c := &cleaner{count: map[string]int{}}
	c.take(m)
	for range maxRounds {
		c.mend(opt)
		shells := c.findShells()
		if !opt.KeepHoles && c.fillHoles(shells) {
			continue
		}
		c.turnOutward(shells)
		for _, one := range shells.oneSided {
			if one {
				c.count[OneSided]++
			}
		}
		break
	}
	c.topology()
	c.holes = Holes(c.tp)
	c.count[Tangle] = c.tp.Tangles
	c.dropUnused()
	out := &Mesh{Pos: c.pos, Tri: c.tri, Face: c.face}
	return out, c.report()
}

// take copies the usable facets of m, with vertices at the same place made one.
func (c *cleaner) take(m *Mesh) {
	w := NewWelder(len(m.Pos))
	to := make([]uint32, len(m.Pos))
	bad := make([]bool, 0)
	for i, p := range m.Pos {
		if !(math.Abs(p.X) <= MaxCoordinate && math.Abs(p.Y) <= MaxCoordinate && math.Abs(p.Z) <= MaxCoordinate) {
			if len(bad) == 0 {
				bad = make([]bool, len(m.Pos))
			}
			bad[i] = true
			continue
		}
		n := len(w.Pos)
		to[i] = w.Add(p.X, p.Y, p.Z)
		if len(w.Pos) == n {
			c.count[WeldedExact]++
		}
	}
	c.pos = w.Pos
	c.tri = make([][3]uint32, 0, len(m.Tri))
	face := m.Face != nil && len(m.Face) == len(m.Tri)
	if face {
		c.face = make([]int32, 0, len(m.Tri))
	}
	n := uint32(len(m.Pos))
	for t, v := range m.Tri {
		if v[0] >= n || v[1] >= n || v[2] >= n {
			c.count[OutOfRange]++
			continue
		}
		if len(bad) > 0 && (bad[v[0]] || bad[v[1]] || bad[v[2]]) {
			c.count[NotFinite]++
			continue
		}
		c.tri = append(c.tri, [3]uint32{to[v[0]], to[v[1]], to[v[2]]})
		if face {
			c.face = append(c.face, m.Face[t])
		}
	}
}

// topology is the neighbourhood of the mesh as it is now.
func (c *cleaner) topology() *Topology {
	if c.tp == nil {
		c.tp = NewTopology(&Mesh{Pos: c.pos, Tri: c.tri})
	}
	return c.tp
}

// mend drops and welds until nothing changes.
func (c *cleaner) mend(opt Options) {
	tol := opt.Tolerance
	if tol == 0 {
		tol = DefaultTolerance
	}
	for range maxRounds {
		changed := 0
		n := c.dropCollapsed()
		swapped, dropped := c.dropFlat()
		c.count[Degenerate] += n + swapped + dropped
		changed += n + swapped + dropped
		repeats, walls := c.dropDuplicates()
		c.count[Duplicate] += repeats
		c.count[InnerWall] += walls
		changed += repeats + walls
		c.topology()
		if tol > 0 && c.tp.Borders+c.tp.Tangles > 0 {
			if n := c.weldNear(tol * (&Mesh{Pos: c.pos, Tri: c.tri}).Box().Diagonal()); n > 0 {
				c.count[WeldedNear] += n
				c.tp = nil
				changed += n
			}
		}
		if changed == 0 {
			return
		}
	}
	// Out of patience with a mesh that keeps changing: what must hold, holds.
	c.dropCollapsed()
	c.keep(func(t int) bool { return c.flatTri(int32(t)) })
	c.dropDuplicates()
}

// dropUnused removes vertices that no facet uses.
func (c *cleaner) dropUnused() {
	used := make([]bool, len(c.pos))
	for _, t := range c.tri {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	to := make([]uint32, len(c.pos))
	n := uint32(0)
	for i, u := range used {
		if u {
			to[i] = n
			c.pos[n] = c.pos[i]
			n++
		}
	}
	gone := len(c.pos) - int(n)
	if gone == 0 {
		return
	}
	c.pos = c.pos[:n]
	for i, t := range c.tri {
		c.tri[i] = [3]uint32{to[t[0]], to[t[1]], to[t[2]]}
	}
	// Vertices that welding emptied have been reported there.
	if gone -= c.count[WeldedNear]; gone > 0 {
		c.count[Unused] = gone
	}
}

// report puts the counts into sentences, in the order in which things are done.
func (c *cleaner) report() []Repair {
	var out []Repair
	say := func(kind, one, many string) {
		switch n := c.count[kind]; {
		case n == 1:
			out = append(out, Repair{kind, 1, one})
		case n > 1:
			out = append(out, Repair{kind, n, fmt.Sprintf(many, n)})
		}
	}
	say(NotFinite, "1 facet with a corner that is not a usable number was dropped", "%d facets with corners that are not usable numbers were dropped")
	say(OutOfRange, "1 facet that names a missing vertex was dropped", "%d facets that name missing vertices were dropped")
	say(WeldedExact, "1 vertex was joined to another at the same place", "%d vertices were joined to others at the same place")
	say(WeldedNear, "1 vertex on an open edge was joined to one a hair away", "%d vertices on open edges were joined to others a hair away")
	say(Degenerate, "1 facet without area was taken out", "%d facets without area were taken out")
	say(Duplicate, "1 facet that was there twice was dropped", "%d facets that were there twice were dropped")
	say(InnerWall, "1 facet of an inner wall was dropped", "%d facets of walls between touching bodies were dropped")
	say(Unused, "1 vertex that no facet uses was dropped", "%d vertices that no facet uses were dropped")
	say(Reversed, "1 facet was turned to match its neighbours", "%d facets were turned to match their neighbours")
	say(InsideOut, "1 shell was inside out and was turned", "%d shells were inside out and were turned")
	say(Cavity, "1 closed shell lies inside a body and is taken for a cavity", "%d closed shells lie inside bodies and are taken for cavities")
	say(Undecided, "whether 1 shell is a body or a cavity was not decided; it is taken for a body", "whether %d shells are bodies or cavities was not decided; they are taken for bodies")
	say(OneSided, "1 shell has no inside and outside, like a band with a half twist", "%d shells have no inside and outside, like a band with a half twist")
	say(Tangle, "more than two facets meet at 1 edge", "more than two facets meet at %d edges")
	say(Filled, "1 small hole was closed with flat facets", "%d small holes were closed with flat facets")
	if n := len(c.holes); n > 0 {
		out = append(out, Repair{Hole, n, sayHoles(c.holes)})
	}
	return out
}

// sayHoles names the longest holes.
func sayHoles(holes []HoleLoop) string {
	const named = 4
	var b strings.Builder
	if len(holes) == 1 {
		b.WriteString("1 hole is open: ")
	} else {
		fmt.Fprintf(&b, "%d holes are open: ", len(holes))
	}
	for i, h := range holes {
		if i == named {
			fmt.Fprintf(&b, "; and %d shorter", len(holes)-named)
			break
		}
		if i > 0 {
			b.WriteString("; ")
		}
		fmt.Fprintf(&b, "%d edges, %.4g round, near (%.4g, %.4g, %.4g)", len(h.Loop), h.Length, h.Centre.X, h.Centre.Y, h.Centre.Z)
	}
	return b.String()
}
