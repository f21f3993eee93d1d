package cavity

import (
	"math"
	"slices"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// grow adds to a hollow what the sphere leaves over its walls.
func (f *finder) grow(p *part, mark map[int32]int32, n int32) {
	front := p.cells
	for range int(math.Ceil(p.chord / f.Cell)) {
		var next []int32
		for _, c := range front {
			eachBeside(&f.Grid, int(c), func(at, _ int) {
				if f.state[at]&(left|seen) == left && f.of[at] < 0 && f.state[at]&between == 0 {
					f.state[at] |= seen
					mark[int32(at)] = n
					next = append(next, int32(at))
				}
			})
		}
		p.cells = append(p.cells, next...)
		front = next
	}
}

// wallsOut is the way out of a hollow: its walls and its mouth close, so that
// the sum of the walls' normals by area is the mouth's.
func (f *finder) wallsOut(p *part, rough r3.Vec) r3.Vec {
	pl := &place{axis: rough}
	f.ways(pl)
	f.settle(p, pl)
	slot := int32(bvh.None)
	for _, c := range p.cells {
		q := f.At(f.Split(int(c)))
		// Nearest to what is surely below the mouth are walls and floor only.
		if _, _, h := pl.local(q); float64(f.D[c]) > 1.7*f.Cell || h > -1.5*f.Cell {
			continue
		}
		slot, _, _ = f.Tree.NearestBeside(q, slot, math.Inf(1))
		t, _, _ := f.Tree.Slot(slot, q)
		p.tris = append(p.tris, int32(t))
	}
	slices.Sort(p.tris)
	p.tris = slices.Compact(p.tris)
	f.toRim(p, pl)
	var sum r3.Vec
	for _, t := range p.tris {
		n, area := f.Mesh.Normal(int(t))
		sum = r3.Add(sum, r3.Scale(area, n))
	}
	if r3.Dot(sum, rough) <= 0 {
		return rough
	}
	return r3.Unit(sum)
}

// toRim adds to a hollow's facets those that hang together with them below its
// rim: where the surface turns over a sharp edge, or leaves the hollow's bounds.
func (f *finder) toRim(p *part, pl *place) {
	if f.Detail == nil || f.Detail.Patches == nil {
		return
	}
	has := map[int32]bool{}
	for _, t := range p.tris {
		has[t] = true
	}
	patches := f.Detail.Patches
	for next := 0; next < len(p.tris); next++ {
		t := p.tris[next]
		for k, o := range patches.Topology.Across[t] {
			if o < 0 || has[o] || patches.Sharp[t][k] && patches.Turn[t][k] > 0 {
				continue
			}
			a, b, c := f.Mesh.Corners(int(o))
			if pl.near(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), 2*f.Cell) {
				has[o] = true
				p.tris = append(p.tris, o)
			}
		}
	}
	slices.Sort(p.tris)
}

// fill adds to a hollow where the sphere dips in below its mouth.
func (f *finder) fill(p *part, pl *place, in map[int32]bool) {
	for next := 0; next < len(p.cells); next++ {
		eachBeside(&f.Grid, int(p.cells[next]), func(at, _ int) {
			if f.D[at] <= 0 || f.of[at] >= 0 || in[int32(at)] {
				return
			}
			u, v, h := pl.local(f.At(f.Split(at)))
			if h > 0 || u < pl.lo[0] || u > pl.hi[0] || v < pl.lo[1] || v > pl.hi[1] {
				return
			}
			in[int32(at)] = true
			p.cells = append(p.cells, int32(at))
		})
	}
}

// walledIn reports whether from the roomiest place half-way down a part walls are
// met in nearly all directions at right angles to the way out.
func (f *finder) walledIn(p *part, out r3.Vec) bool {
	pl := &place{axis: out, at: f.Origin, u: geom.Perpendicular(out)}
	pl.v = r3.Cross(out, pl.u)
	f.extent(p, pl)
	best := int32(-1)
	for _, c := range p.cells {
		_, _, h := pl.local(f.At(f.Split(int(c))))
		if share := (h - pl.lo[2]) / (pl.hi[2] - pl.lo[2]); share < 0.3 || share > 0.7 {
			continue
		}
		if best < 0 || f.D[c] > f.D[best] {
			best = c
		}
	}
	return best >= 0 && f.walls(f.At(f.Split(int(best))), out) >= walled*looks
}

// walls counts the directions across an axis in which the part is met within
// the sphere's width.
func (f *finder) walls(from, axis r3.Vec) float64 {
	x := geom.Perpendicular(axis)
	y := r3.Cross(axis, x)
	met := 0.0
	for a := range looks {
		sin, cos := math.Sincos(2 * math.Pi * float64(a) / looks)
		if f.Tree.RayAny(from, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y)), 0, 2*f.radius) {
			met++
		}
	}
	return met
}
