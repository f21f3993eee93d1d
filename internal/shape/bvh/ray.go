package bvh

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Hit is where a ray meets a triangle: at o + T d, which is
// (1−U−V) a + U b + V c of its corners.
type Hit struct {
	Tri     int
	T, U, V float64
}

// Ray is the first triangle that the ray o + t d meets with tmin ≤ t ≤ tmax,
// from either side. d need not be a unit vector; t counts in its lengths. u and
// v weigh the second and third corner. ok is false where nothing is met.
//
// The test never leaks: a ray through an edge or a vertex meets at least one of
// the triangles that share it (Woop, Benthin and Wald, "Watertight Ray/Triangle
// Intersection", Journal of Computer Graphics Techniques 2(1), 2013). A ray in
// the plane of a triangle does not meet that triangle, only its neighbours.
func (t *Tree) Ray(o, d r3.Vec, tmin, tmax float64) (tri int, at, u, v float64, ok bool) {
	best := Hit{Tri: None}
	r, enters := t.aim(o, d, tmin, tmax)
	if enters {
		t.shoot(&r, func(h Hit) bool {
			if best.Tri == None || h.T < best.T {
				best = h
				r.limit(h.T)
			}
			return true
		})
	}
	if best.Tri == None {
		return None, 0, 0, 0, false
	}
	return int(t.id[best.Tri]), best.T, best.U, best.V, true
}

// RayAny reports whether the ray meets anything with tmin ≤ t ≤ tmax: is the
// way blocked?
func (t *Tree) RayAny(o, d r3.Vec, tmin, tmax float64) bool {
	hit := false
	if r, enters := t.aim(o, d, tmin, tmax); enters {
		t.shoot(&r, func(Hit) bool {
			hit = true
			return false
		})
	}
	return hit
}

// RayAll appends every hit with tmin ≤ t ≤ tmax to list, in order of t and
// triangle. A ray through an edge or a vertex may meet several of the triangles
// there; they are all listed.
func (t *Tree) RayAll(list []Hit, o, d r3.Vec, tmin, tmax float64) []Hit {
	r, enters := t.aim(o, d, tmin, tmax)
	if !enters {
		return list
	}
	from := len(list)
	t.shoot(&r, func(h Hit) bool {
		h.Tri = int(t.id[h.Tri])
		list = append(list, h)
		return true
	})
	slices.SortFunc(list[from:], func(a, b Hit) int {
		return cmp.Or(cmp.Compare(a.T, b.T), cmp.Compare(a.Tri, b.Tri))
	})
	return list
}

// ray is a ray made ready for the tree.
type ray struct {
	tmin, tmax float64
	o          [3]float64
	kx, ky, kz int        // the axis kz along which it runs most, and the others
	sx, sy, sz float64    // shear that turns it into the z axis
	unit       float64    // scaled t of one t
	start      float64    // scaled t at which it enters the box of the tree
	pad        float64    // what single precision may be off by
	from, inv  [3]float32 // the entry, and 1/d, for the boxes
	end        float32    // of the search, counted from the entry
}

// limit ends the search at t, that is, at a hit already found.
func (r *ray) limit(t float64) {
	r.tmax = t
	r.end = up((t*r.unit-r.start)*(1+1e-6) + r.pad)
}

// aim makes a ray ready, or reports that it misses the box of the tree.
//
// Boxes are tested in single precision from the point where the ray enters the
// tree's own box, so that coordinates, and with them rounding errors, are no
// larger than reach: rounding the entry costs 2⁻²⁴ reach, subtracting it from
// a face 2⁻²³ reach, and every box was made larger by 4·2⁻²⁴ reach when it was
// built. What rounding 1/d and the product costs is relative to t and is
// covered by widening the far end (Ize, "Robust BVH Ray Traversal", Journal of
// Computer Graphics Techniques 2(2), 2013).
func (t *Tree) aim(o, d r3.Vec, tmin, tmax float64) (ray, bool) {
	o = r3.Sub(o, t.origin)
	dir := [3]float64{d.X, d.Y, d.Z}
	r := ray{o: [3]float64{o.X, o.Y, o.Z}, tmin: tmin, tmax: tmax}
	for k := range 3 {
		if math.Abs(dir[k]) > math.Abs(dir[r.kz]) {
			r.kz = k
		}
	}
	r.unit = math.Abs(dir[r.kz])
	if len(t.nodes) == 0 || !(r.unit > 0) || math.IsInf(r.unit, 0) {
		return r, false
	}
	r.kx, r.ky = (r.kz+1)%3, (r.kz+2)%3
	r.sx, r.sy, r.sz = dir[r.kx]/dir[r.kz], dir[r.ky]/dir[r.kz], 1/dir[r.kz]
	r.pad = 8 * t.reach * (1.0 / (1 << 24))

	// Clip to the box of the tree, in t scaled so that the greatest component of
	// the direction is one.
	lo, hi := [3]float64{t.box.Min.X, t.box.Min.Y, t.box.Min.Z}, [3]float64{t.box.Max.X, t.box.Max.Y, t.box.Max.Z}
	t0, t1 := tmin*r.unit, tmax*r.unit
	for k := range 3 {
		dk := dir[k] / r.unit
		if math.Abs(dk) < 1e-18 {
			dk = math.Copysign(1e-18, dk)
		}
		a, b := (lo[k]-r.pad-r.o[k])/dk, (hi[k]+r.pad-r.o[k])/dk
		t0, t1 = max(t0, min(a, b)), min(t1, max(a, b))
		r.inv[k] = float32(1 / dk)
	}
	if !(t0 <= t1) {
		return r, false
	}
	r.start = t0
	for k := range 3 {
		r.from[k] = float32(r.o[k] + t0*dir[k]/r.unit)
	}
	r.end = up((t1-t0)*(1+1e-6) + r.pad)
	return r, true
}

// shoot calls f for every triangle that r meets, in no order but nearly from
// near to far, until f returns false. f may shorten the ray. Hit.Tri is in the
// order of the leaves.
func (t *Tree) shoot(r *ray, f func(Hit) bool) {
	var stack [stackSize]entry
	top := 1
	for top > 0 {
		top--
		e := stack[top]
		if e.key > r.end {
			continue
		}
		if e.size > 0 {
			for i := e.kid; i < e.kid+e.size; i++ {
				if h, ok := r.meets(&t.tri[i]); ok {
					h.Tri = int(i)
					if !f(h) {
						return
					}
				}
			}
			continue
		}
		n := &t.nodes[e.kid]
		nx, fx, ny, fy, nz, fz := &n.lo[0], &n.hi[0], &n.lo[1], &n.hi[1], &n.lo[2], &n.hi[2]
		if r.inv[0] < 0 {
			nx, fx = fx, nx
		}
		if r.inv[1] < 0 {
			ny, fy = fy, ny
		}
		if r.inv[2] < 0 {
			nz, fz = fz, nz
		}
		first := top
		for k := range width {
			near := max((nx[k]-r.from[0])*r.inv[0], (ny[k]-r.from[1])*r.inv[1], (nz[k]-r.from[2])*r.inv[2], 0)
			far := min((fx[k]-r.from[0])*r.inv[0], (fy[k]-r.from[1])*r.inv[1], (fz[k]-r.from[2])*r.inv[2])
			if !(near <= far*(1+1e-6)) || near > r.end {
				continue
			}
			i := top
			for i > first && stack[i-1].key < near {
				stack[i] = stack[i-1]
				i--
			}
			stack[i] = entry{near, n.kid[k], n.count[k]}
			top++
		}
	}
}

// meets is the watertight test. An edge's sign comes from two products that
// are the same numbers, the other way round, in the triangle across it; they
// are rounded one by one (the conversions forbid fusing them), so the two
// triangles never disagree on which side the ray passes.
func (r *ray) meets(tri *[3]corner) (Hit, bool) {
	kx, ky, kz := r.kx, r.ky, r.kz
	az, bz, cz := tri[0][kz]-r.o[kz], tri[1][kz]-r.o[kz], tri[2][kz]-r.o[kz]
	ax, ay := tri[0][kx]-r.o[kx]-float64(r.sx*az), tri[0][ky]-r.o[ky]-float64(r.sy*az)
	bx, by := tri[1][kx]-r.o[kx]-float64(r.sx*bz), tri[1][ky]-r.o[ky]-float64(r.sy*bz)
	cx, cy := tri[2][kx]-r.o[kx]-float64(r.sx*cz), tri[2][ky]-r.o[ky]-float64(r.sy*cz)
	u := float64(cx*by) - float64(cy*bx)
	v := float64(ax*cy) - float64(ay*cx)
	w := float64(bx*ay) - float64(by*ax)
	if (u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0) {
		return Hit{}, false
	}
	det := u + v + w
	if det == 0 {
		return Hit{}, false
	}
	t := r.sz * (u*az + v*bz + w*cz) / det
	if !(t >= r.tmin && t <= r.tmax) {
		return Hit{}, false
	}
	return Hit{T: t, U: v / det, V: w / det}, true
}
