// Package slide finds how a surface can slide on itself: which straight strokes,
// turns and screws leave it where it is. Split divides a set of facets into patches
// that each slide; Motion moves points along a stroke; Nearest tells the strokes
// that come nearest where none leaves a surface in place.
//
// The method is slippage analysis (N. Gelfand and L. Guibas, "Shape segmentation
// using local slippage analysis", SGP 2004): over samples p with normals n, a
// rigid motion loses (w×p + v)·n from the surface, and the motions that lose little
// are eigenvectors. Turns, screws and their axes are those of line geometry
// (Pottmann and Wallner, Computational Line Geometry, 2001; from memory).
package slide

import (
	"cmp"
	"context"
	"slices"

	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// Motion is a motion in space along which points travel at an even pace.
type Motion struct {
	// Axis is the unit direction of a straight motion or of the axis of a turn or
	// screw, which goes through At.
	Axis, At r3.Vec
	// Turns is false for a straight motion.
	Turns bool
	// Pitch is the advance along the axis in one turn, mm; 0 for a plain turn.
	Pitch float64
	// PerMM is the turn in radians for each mm that the patch's middle travels; 1/mm
	// of straight motion is implied where Turns is false. Where the middle lies near
	// the axis (a whole round, a turn about a plane's normal), it is that of a typical
	// point: one at the root-mean-square distance from the axis.
	PerMM float64
}

// Kind is a surface as a thing to slide on.
type Kind string

// The kinds, by the motions that they allow.
const (
	Plane    Kind = "plane"     // three: two straight, one turn
	Sphere   Kind = "sphere"    // three turns
	Cylinder Kind = "cylinder"  // one straight, one turn
	Extruded Kind = "extruded"  // one straight
	Revolved Kind = "revolved"  // one turn
	Helix    Kind = "helix"     // one screw
	Free     Kind = "free-form" // none
)

// Patch is a connected set of facets that slides on itself, or does not.
type Patch struct {
	Tris     []int32 // ascending
	Area     float64
	Centroid r3.Vec // by area
	Normal   r3.Vec // mean, unit
	Kind     Kind
	// Motions, the ones that fit best first; none for Free.
	Motions []Motion
	// Slip are the six values of slippage, smallest first: the root-mean-square
	// distance along the normal, in mm, that the patch's points stray per mm that they
	// travel, in the root mean square too.
	Slip [6]float64
}

// Options steer Split. The zero value is what a part needs.
type Options struct {
	// Slip is the largest value that still counts as sliding; 0: chosen from the
	// mesh's own noise.
	Slip float64
	// LeastShare of the facets' area, below which a patch is not worth its own block
	// and is left with its neighbours or as Free; 0: 0.02.
	LeastShare float64
}

// passes is how often Split looks for patches in what it left over.
const passes = 3

// Split divides facets of a part into patches, the largest first. Errors are the
// context's only.
func Split(ctx context.Context, p *patch.Patches, tris []int32, opt Options) ([]Patch, error) {
	g, err := newGround(ctx, p, tris, opt)
	if err != nil {
		return nil, err
	}
	// What the borders of the first patches leave over may have patches of its own.
	rest := g.tris
	var sliding [][]int32
	for range passes {
		units, err := g.merge(ctx, g.units(rest))
		if err != nil {
			return nil, err
		}
		more := g.settle(units, g.marks(rest))
		if len(more) == 0 {
			break
		}
		sliding = append(sliding, more...)
		rest = g.without(rest, more)
	}
	sliding = g.absorbed(sliding)
	var out []Patch
	for _, tris := range sliding {
		out = append(out, g.patch(tris, true))
	}
	for _, tris := range g.loose(g.without(g.tris, sliding)) {
		out = append(out, g.patch(tris, false))
	}
	slices.SortStableFunc(out, func(a, b Patch) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Tris[0], b.Tris[0]))
	})
	return out, ctx.Err()
}

// patch tells what facets are; slides is false for those that are not asked.
func (g *ground) patch(tris []int32, slides bool) Patch {
	s := g.sum(tris)
	kind, ms, z := g.judge(tris, s)
	if !slides {
		kind, ms = Free, nil
	}
	p := Patch{Tris: tris, Centroid: z.c, Kind: kind, Motions: ms, Slip: z.val}
	for _, t := range tris {
		p.Area += g.p.Area[t]
		p.Normal = add(p.Normal, scale(g.p.Area[t], g.p.Normal[t]))
	}
	if n, l := normed(p.Normal); l > 0 {
		p.Normal = n
	}
	return p
}

// Motions are those in which a set of facets slides on itself as a whole, with
// the six values of slippage.
func Motions(p *patch.Patches, tris []int32, opt Options) (kind Kind, motions []Motion, slip [6]float64) {
	g, err := newGround(context.Background(), p, tris, opt)
	if err != nil {
		panic("slide: " + err.Error()) // a background context has none
	}
	kind, motions, z := g.judge(g.tris, g.sum(g.tris))
	return kind, motions, z.val
}

// Nearest are the six motions in which a set of facets comes nearest to sliding on
// itself, whether it does or not, and their slippage, smallest first: a surface
// that slides on itself in none may still do for a short stroke. The first ones
// are those of Motions, where there are any.
func Nearest(p *patch.Patches, tris []int32) ([]Motion, [6]float64) {
	g, err := newGround(context.Background(), p, tris, Options{})
	if err != nil {
		panic("slide: " + err.Error())
	}
	_, ms, z := g.judge(g.tris, g.sum(g.tris))
	return z.nearest(ms)
}
