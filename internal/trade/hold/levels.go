package hold

import (
	"context"
	"math"
	"slices"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// Starting guesses about what a machinist cuts.
const (
	// breakMM is how far a wall may lean or round over and still be cut upright: the
	// pocket is then wider at its foot by so much.
	breakMM = 0.3
	// stairMM is the step in which curved undersides are cut.
	stairMM = 0.2
	// thinMM is the thinnest wall of a jaw that is left standing inside a pocket.
	thinMM = 1.2
	// arcMM is how far a drawn arc may stray from the true one.
	arcMM = 0.001
)

// sunk is what is cut away from a height up to the jaws' top: regions are in plan,
// in the vise's frame. As a part comes in from above, what is open at one height is
// open at all heights over it.
type sunk struct {
	low    float64
	region region.Region
	relief bool // for the burr, not for the part
}

// outline asks for the shadows of a laid part below the jaws' top.
type outline struct {
	ctx   context.Context
	mesh  *mesh.Mesh
	tree  *bvh.Tree
	foot  float64 // of the part
	known map[float64]region.Region
}

// below is the shadow of all that lies lower than z: what passes through that
// height on the way in. Openings in it are cut away too: a post of the jaw's metal
// that stands in a hole holds nothing.
func (o *outline) below(z float64) (region.Region, error) {
	if r, ok := o.known[z]; ok {
		return r, nil
	}
	r, err := region.Shadow(o.ctx, o.mesh, o.tree, o.foot-1, z)
	if err != nil {
		return region.Region{}, err
	}
	r = filled(r)
	o.known[z] = r
	return r, nil
}

// filled is a region without the holes in it.
func filled(r region.Region) region.Region {
	var outer [][]r2.Vec
	for _, l := range r.Loops {
		if area(l) > 0 {
			outer = append(outer, l)
		}
	}
	return region.Of(outer...)
}

func area(l []r2.Vec) float64 {
	a := 0.0
	for i, p := range l {
		a += r2.Cross(p, l[(i+1)%len(l)])
	}
	return a / 2
}

func around(r region.Region) float64 {
	sum := 0.0
	for _, l := range r.Loops {
		for i, p := range l {
			sum += r2.Norm(r2.Sub(l[(i+1)%len(l)], p))
		}
	}
	return sum
}

// level is the shadow of the part up to a height, which begins at another.
type level struct {
	low, high float64
	shadow    region.Region
}

// levels cuts the gripped part into levels of one shadow each, the lowest first.
// stepped is false where walls lean by more than an edge's break, so that levels
// are stairs under a curved side.
func (o *outline) levels() (out []level, stepped bool, err error) {
	stepped = true
	floors := o.floors()
	for i, low := range floors {
		high := 0.0
		if i+1 < len(floors) {
			high = floors[i+1]
		}
		if high-low < 2e-3 {
			continue
		}
		some, upright, err := o.split(low, high)
		if err != nil {
			return nil, false, err
		}
		out = append(out, some...)
		stepped = stepped && upright
	}
	return out, stepped, nil
}

// split halves a stretch until its walls are upright, or as low as a stair.
func (o *outline) split(low, high float64) (out []level, upright bool, err error) {
	const aside = 5e-4 // clear of level faces at the ends
	first, err := o.below(low + aside)
	if err != nil {
		return nil, false, err
	}
	last, err := o.below(high - aside)
	if err != nil {
		return nil, false, err
	}
	grown := last.Area() - first.Area()
	switch {
	case grown <= breakMM*around(last)/2 && high-low <= breakMM, grown <= 0.005*around(last):
		return []level{{low, high, last}}, true, nil
	case high-low <= stairMM:
		return []level{{low, high, last}}, false, nil
	}
	mid := (low + high) / 2
	below, a, err := o.split(low, mid)
	if err != nil {
		return nil, false, err
	}
	above, b, err := o.split(mid, high)
	return append(below, above...), a && b, err
}

// floors are the heights of the level faces that look down, below the jaws' top,
// the part's foot first.
func (o *outline) floors() []float64 {
	share := map[float64]float64{}
	for t := range o.mesh.Tri {
		n, a := o.mesh.Normal(t)
		if n.Z > -0.9999 {
			continue
		}
		p, _, _ := o.mesh.Corners(t)
		if p.Z < -stairMM/4 {
			share[math.Round(p.Z*1000)/1000] += a
		}
	}
	out := []float64{o.foot}
	for z, a := range share {
		if a > 0.05 && z > o.foot+2e-3 {
			out = append(out, z)
		}
	}
	slices.Sort(out)
	return out
}

// roomFor is what must be open for a shadow with the clearance round it: no thin
// walls of the jaw are left standing in it, and the jaw's own corners that stick
// into the part's hollows are rounded over.
func roomFor(shadow region.Region, clearance float64) region.Region {
	r := shadow.Offset(clearance, arcMM)
	lo, hi := r.Box()
	pad := r2.Vec{X: 4 * thinMM, Y: 4 * thinMM}
	metal := region.Rect(r2.Sub(lo, pad), r2.Add(hi, pad)).Minus(r)
	return r.Union(filled(region.Rect(r2.Sub(lo, r2.Scale(0.5, pad)), r2.Add(hi, r2.Scale(0.5, pad))).Minus(metal.Opened(thinMM/2, arcMM))))
}
