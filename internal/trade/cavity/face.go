package cavity

import (
	"context"
	"math"
	"slices"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// facing is how straight a wall must look back, as minus the cosine between the
// normals of the two: those of a groove of 75° or less do.
const facing = 0.25

// chord is a straight way across the void between two walls.
type chord struct {
	from r3.Vec
	way  r3.Vec // unit
	long float64
	tri  [2]int32
	// hollow stands for a place that walls surround on all sides: from it they are
	// met whichever way one goes along the wall.
	hollow bool
}

// face looks across the void from every wall that the sphere does not reach, to
// walls that look back: straight out, and 35° off on four sides, for a wedge whose
// walls meet straight ways only near its bottom. What lies between is in an
// opening; an inside corner, a fillet or a cove leaves room behind the sphere
// too, but nothing stands opposite. Where either wall is a known opening's the
// cells between go to that one, otherwise they are marked. A place from which
// all eight ways along the wall end at the part lies in a hollow: the bottom of
// a bowl looks at nothing either.
func (f *finder) face(ctx context.Context) error {
	n := f.N
	found := make([][]chord, n[2])
	err := cores.Each(ctx, n[2], func(k int) {
		slot := int32(bvh.None)
		for j := range n[1] {
			for i := range n[0] {
				at := f.Index(i, j, k)
				d := float64(f.D[at])
				if f.state[at]&(left|shut) != left || f.of[at] >= 0 || d < 0.6*f.Cell || d > 1.7*f.Cell {
					continue
				}
				q := f.At(i, j, k)
				var near r3.Vec
				slot, near, _ = f.Tree.NearestBeside(q, slot, math.Inf(1))
				first, _, _ := f.Tree.Slot(slot, q)
				found[k] = f.look(found[k], q, near, int32(first))
			}
		}
	})
	if err != nil {
		return err
	}
	for _, c := range slices.Concat(found...) {
		if max(f.owner[c.tri[0]], f.owner[c.tri[1]]) < 0 {
			f.chords = append(f.chords, c)
		}
		f.mark(c)
	}
	return nil
}

// look appends the chords from a cell beside a wall.
func (f *finder) look(list []chord, q, near r3.Vec, first int32) []chord {
	way := r3.Unit(r3.Sub(q, near))
	d := r3.Norm(r3.Sub(q, near))
	x := geom.Perpendicular(way)
	y := r3.Cross(way, x)
	any := false
	for n := range 5 {
		to := way
		if n > 0 {
			sin, cos := math.Sincos(float64(n) * math.Pi / 2)
			to = r3.Unit(r3.Add(way, r3.Scale(aside, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y)))))
		}
		t, dist, _, _, ok := f.Tree.Ray(q, to, 0, 2*f.radius-d)
		if !ok {
			continue
		}
		if normal, _ := f.Mesh.Normal(t); r3.Dot(normal, way) > -facing {
			continue
		}
		list = append(list, chord{from: q, way: to, long: dist, tri: [2]int32{first, int32(t)}})
		any = true
	}
	if any {
		return list
	}
	least := math.Inf(1)
	var sum [8]float64
	for n := range 8 {
		// Opposite ways in turn: on most walls one of the first two is free.
		sin, cos := math.Sincos(float64(n/2)*math.Pi/4 + float64(n%2)*math.Pi)
		_, dist, _, _, ok := f.Tree.Ray(q, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y)), 0, 2*f.radius)
		if !ok {
			return list
		}
		sum[n] = dist
		if n%2 == 1 {
			least = min(least, sum[n]+sum[n-1])
		}
	}
	return append(list, chord{from: q, way: way, long: least, tri: [2]int32{first, first}, hollow: true})
}

// aside is the tangent of the ways that look beside the straight one.
const aside = 0.7

// mark walks along a chord. In the middle of a mouth it may pass where the sphere
// dips in; that lies between the walls all the same.
func (f *finder) mark(c chord) {
	own := max(f.owner[c.tri[0]], f.owner[c.tri[1]])
	long := c.long
	if c.hollow {
		long = f.Cell / 2
	}
	for s := 0.0; s < long; s += f.Cell / 2 {
		q := r3.Add(c.from, r3.Scale(s, c.way))
		i, j, k, in := f.Nearest(q)
		if !in {
			continue
		}
		at := f.Index(i, j, k)
		switch {
		case f.of[at] >= 0 || f.D[at] <= 0:
		case own < 0:
			f.state[at] |= between
		case f.places[own].near(f.At(i, j, k), 2*f.Cell):
			f.of[at] = own
		}
	}
}

// near reports whether a point lies within some distance of the place's range.
func (p *place) near(q r3.Vec, by float64) bool {
	u, v, h := p.local(q)
	for k, x := range [3]float64{u, v, h} {
		if x < p.lo[k]-by || x > p.hi[k]+by {
			return false
		}
	}
	return true
}
