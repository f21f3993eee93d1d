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
	// tracedMM is how far the outlines to be cut may stray from the reckoned ones, and
	// spareMM what the room is wider for that and for the rounding of arcs.
	tracedMM = 0.004
	spareMM  = 0.01
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
	r = plainer(filled(r))
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

// plainMM is how far a shadow may be grown to leave corners out.
const plainMM = 0.003

// plainer grows a region by plainMM and then leaves out what corners lie closer than
// that to a straight line between others (D. H. Douglas and T. K. Peucker, The
// Canadian Cartographer 10 (1973) 112): every facet that a level cuts makes a corner,
// most of them of no use, and none of what the region held may be lost.
func plainer(r region.Region) region.Region {
	few := 0
	for _, l := range r.Loops {
		few = max(few, len(l))
	}
	if few < 300 {
		return r
	}
	var out [][]r2.Vec
	for _, l := range r.Offset(plainMM, plainMM/10).Loops {
		far := 0
		for i, p := range l {
			if r2.Norm2(r2.Sub(p, l[0])) > r2.Norm2(r2.Sub(l[far], l[0])) {
				far = i
			}
		}
		ring := append(chain(l[:far+1]), chain(append(slices.Clone(l[far:]), l[0]))...)
		if len(ring) >= 3 {
			out = append(out, ring)
		}
	}
	return region.Of(out...)
}

// chain is a line of corners without those that it does not need, and without its
// last one.
func chain(l []r2.Vec) []r2.Vec {
	a, b := l[0], l[len(l)-1]
	worst, deep := 0, plainMM
	d := r2.Sub(b, a)
	for i := 1; i < len(l)-1; i++ {
		q := r2.Sub(l[i], a)
		off := r2.Norm(q)
		if n := r2.Norm(d); n > 0 {
			off = math.Abs(r2.Cross(d, q)) / n
			if t := r2.Dot(d, q); t < 0 || t > n*n {
				off = min(r2.Norm(q), r2.Norm(r2.Sub(l[i], b)))
			}
		}
		if off > deep {
			worst, deep = i, off
		}
	}
	if worst == 0 {
		return []r2.Vec{a}
	}
	return append(chain(l[:worst+1]), chain(l[worst:])...)
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

// level is the shadow of the part up to a height, which begins at another. A stair
// is one of many under a curved or leaning side.
type level struct {
	low, high float64
	shadow    region.Region
	stair     bool
}

// slight reports whether nothing bears on a level to speak of: what is open over it
// may go down to its foot.
func (l level) slight() bool { return l.stair || l.high-l.low < 2*stairMM }

// levels cuts the gripped part into levels of one shadow each, the lowest first.
func (o *outline) levels() ([]level, error) {
	var out []level
	floors, err := o.floors()
	if err != nil {
		return nil, err
	}
	for i, low := range floors {
		high := 0.0
		if i+1 < len(floors) {
			high = floors[i+1]
		}
		if high-low < 2e-3 {
			continue
		}
		some, err := o.split(low, high)
		if err != nil {
			return nil, err
		}
		for _, l := range some {
			// A level face inside the outline, as of a counterbore, changes nothing.
			if n := len(out) - 1; n >= 0 && !l.stair && !out[n].stair && l.shadow.Area()-out[n].shadow.Area() < plainMM*around(l.shadow) {
				out[n].high, out[n].shadow = l.high, l.shadow
				continue
			}
			out = append(out, l)
		}
	}
	return out, nil
}

// split halves a stretch until its walls are upright, or as low as a stair.
func (o *outline) split(low, high float64) ([]level, error) {
	const aside = 5e-4 // clear of level faces at the ends
	first, err := o.below(low + aside)
	if err != nil {
		return nil, err
	}
	last, err := o.below(high - aside)
	if err != nil {
		return nil, err
	}
	grown := last.Area() - first.Area()
	switch border := around(last); {
	case grown <= breakMM*border/2 && high-low <= breakMM, grown <= 0.005*border:
		return []level{{low, high, last, false}}, nil
	case high-low <= stairMM:
		return []level{{low, high, last, true}}, nil
	}
	mid := (low + high) / 2
	below, err := o.split(low, mid)
	if err != nil {
		return nil, err
	}
	above, err := o.split(mid, high)
	return append(below, above...), err
}

// seat reports whether the part has level land to sit on that is worth it: a
// thirtieth of its plan, a starting guess.
func (o *outline) seat() bool {
	land := 0.0
	for t := range o.mesh.Tri {
		if n, a := o.mesh.Normal(t); n.Z < level0 {
			if p, _, _ := o.mesh.Corners(t); p.Z < -stairMM {
				land += a
			}
		}
	}
	whole, err := o.below(0)
	return err == nil && land > whole.Area()/30
}

// level0 is the upright part of a normal below which a face is level.
const level0 = -0.9999

// floors are the heights of the level faces that look down, below the jaws' top,
// the part's foot first.
func (o *outline) floors() ([]float64, error) {
	share := map[float64]float64{}
	for t := range o.mesh.Tri {
		n, a := o.mesh.Normal(t)
		if n.Z > level0 {
			continue
		}
		p, _, _ := o.mesh.Corners(t)
		if p.Z < -stairMM/4 {
			share[math.Round(p.Z*1000)/1000] += a
		}
	}
	whole, err := o.below(0)
	if err != nil {
		return nil, err
	}
	out := []float64{o.foot}
	for z, a := range share {
		// The few facets at the top of a dome are no level face.
		if a > whole.Area()/200 && z > o.foot+2e-3 {
			out = append(out, z)
		}
	}
	slices.Sort(out)
	return out, nil
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
