package bvh

import (
	"cmp"
	"context"
	"math"
	"math/big"
	"slices"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// MostCrossings is how many pairs [Crossings] lists at most.
const MostCrossings = 1000

// epsilon is half the gap between 1 and the next float64.
const epsilon = 1.0 / (1 << 53)

// touch is the share of the mesh's diagonal within which triangles touch and do
// not cross.
const touch = 1e-9

// Triangles are looked at in batches of crossBatch, crossRound batches at a
// time; the search ends after a round that filled the list. Neither depends on
// the number of cores, so the list does not.
const (
	crossBatch = 512
	crossRound = 32
)

// Crossings lists the pairs of triangles that meet other than at their rims: the
// lower number first, sorted, at most [MostCrossings] of them; none where the
// surface is embedded. Two triangles in different planes meet along a straight
// piece (Möller, "A Fast Triangle-Triangle Intersection Test", Journal of
// Graphics Tools 2(2), 1997). They cross when the middle of it lies inside at
// least one of them: one goes through the other, or stands on it with an edge.
// Two in one plane cross when their insides overlap: faces folded onto each
// other, or listed twice. What only touches does not cross: an edge or a corner
// in common, by index or by place, a corner on a face. All lengths up to 1e-9 of
// the mesh's diagonal count as touching, and so do triangles no higher than
// that.
//
// Indices must be in range and positions finite.
func Crossings(m *mesh.Mesh) [][2]int32 {
	t := Build(m)
	n := len(t.tri)
	if n == 0 {
		return nil
	}
	tol := touch * t.box.Diagonal()
	var list [][2]int32
	batches := (n + crossBatch - 1) / crossBatch
	for from := 0; from < batches && len(list) < MostCrossings; from += crossRound {
		found := make([][][2]int32, min(crossRound, batches-from))
		// The background never ends, so there is no error to look at.
		_ = cores.Each(context.Background(), len(found), func(i int) {
			lo := (from + i) * crossBatch
			found[i] = t.crossings(m, tol, lo, min(n, lo+crossBatch))
		})
		for _, f := range found {
			list = append(list, f...)
		}
	}
	list = list[:min(len(list), MostCrossings)]
	slices.SortFunc(list, func(a, b [2]int32) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	})
	return list
}

// crossings are those of the triangles in the slots lo to hi with the ones in
// later slots.
func (t *Tree) crossings(m *mesh.Mesh, tol float64, lo, hi int) [][2]int32 {
	var list [][2]int32
	var stack [stackSize]int32
	for slot := lo; slot < hi; slot++ {
		a, sound := newFacet(&t.tri[slot], tol)
		if !sound {
			continue
		}
		var boxLo, boxHi [3]float32
		for k := range 3 {
			c := &t.tri[slot]
			boxLo[k] = down(min(c[0][k], c[1][k], c[2][k]))
			boxHi[k] = up(max(c[0][k], c[1][k], c[2][k]))
		}
		stack[0] = 0
		for top := 1; top > 0; {
			top--
			nd := &t.nodes[stack[top]]
			for k := range width {
				if nd.lo[0][k] > boxHi[0] || nd.hi[0][k] < boxLo[0] ||
					nd.lo[1][k] > boxHi[1] || nd.hi[1][k] < boxLo[1] ||
					nd.lo[2][k] > boxHi[2] || nd.hi[2][k] < boxLo[2] {
					continue
				}
				if nd.count[k] == 0 {
					stack[top] = nd.kid[k]
					top++
					continue
				}
				for other := max(int(nd.kid[k]), slot+1); other < int(nd.kid[k]+nd.count[k]); other++ {
					if apart(&t.tri[slot], &t.tri[other]) {
						continue
					}
					i, j := t.id[slot], t.id[other]
					b, sound := newFacet(&t.tri[other], tol)
					if !sound || !crosses(&a, &b, shared(m.Tri[i], m.Tri[j]), tol) {
						continue
					}
					list = append(list, [2]int32{min(i, j), max(i, j)})
					if len(list) == MostCrossings {
						return list
					}
				}
			}
		}
	}
	return list
}

// apart reports whether the boxes of two triangles do not meet.
func apart(a, b *[3]corner) bool {
	for k := range 3 {
		if min(a[0][k], a[1][k], a[2][k]) > max(b[0][k], b[1][k], b[2][k]) ||
			max(a[0][k], a[1][k], a[2][k]) < min(b[0][k], b[1][k], b[2][k]) {
			return true
		}
	}
	return false
}

// shared counts the vertices that two triangles have in common.
func shared(a, b [3]uint32) int {
	n := 0
	for _, v := range a {
		if v == b[0] || v == b[1] || v == b[2] {
			n++
		}
	}
	return n
}

// facet is a triangle made ready for the test.
type facet struct {
	p    [3]r3.Vec
	n    r3.Vec  // unit normal
	long float64 // a bound on its edges
	// slim is the product of two edges over twice the area: by how much rounding
	// in the normal is worse than in a square corner.
	slim float64
}

// newFacet fails for a triangle that is no higher than tol.
func newFacet(c *[3]corner, tol float64) (f facet, ok bool) {
	for k := range 3 {
		f.p[k] = r3.Vec{X: c[k][0], Y: c[k][1], Z: c[k][2]}
	}
	u, v := r3.Sub(f.p[1], f.p[0]), r3.Sub(f.p[2], f.p[0])
	n := r3.Cross(u, v)
	area := r3.Norm(n)
	lu, lv := r3.Norm(u), r3.Norm(v)
	f.long = lu + lv
	if !(area > tol*f.long) {
		return f, false
	}
	f.n = r3.Scale(1/area, n)
	f.slim = lu * lv / area
	return f, true
}

// above is how far q stands above the plane of f, 0 where that is within tol. It
// is first reckoned in double precision; where the bound on rounding (as
// Shewchuk, "Adaptive Precision Floating-Point Arithmetic and Fast Robust
// Geometric Predicates", 1997, counts it, rounded up) comes near tol, in long
// numbers.
func (f *facet) above(q r3.Vec, tol float64) float64 {
	w := r3.Sub(q, f.p[0])
	d := r3.Dot(f.n, w)
	off := 32 * epsilon * f.slim * (math.Abs(w.X) + math.Abs(w.Y) + math.Abs(w.Z))
	if off > tol/8 && math.Abs(d) < tol+off {
		d = longAbove(f.p[0], f.p[1], f.p[2], q)
	}
	if math.Abs(d) <= tol {
		return 0
	}
	return d
}

// inside is how far q, a point in the plane of f, is from the nearest edge of f:
// negative outside.
func (f *facet) inside(q r3.Vec) float64 {
	least := math.Inf(1)
	for k := range 3 {
		least = min(least, f.beside(k, q))
	}
	return least
}

// beside is how far q lies on the inner side of the edge from corner k.
func (f *facet) beside(k int, q r3.Vec) float64 {
	a, b := f.p[k], f.p[(k+1)%3]
	e := r3.Sub(b, a)
	return r3.Dot(r3.Cross(f.n, e), r3.Sub(q, a)) / r3.Norm(e)
}

// crosses is the test proper.
func crosses(a, b *facet, shared int, tol float64) bool {
	var db, da [3]float64 // of b's corners above a, of a's above b
	for k, q := range b.p {
		db[k] = a.above(q, tol)
	}
	if oneSide(db) {
		return false
	}
	if db == ([3]float64{}) {
		return overlap(a, b, tol)
	}
	for k, q := range a.p {
		da[k] = b.above(q, tol)
	}
	if oneSide(da) {
		return false
	}
	if da == ([3]float64{}) {
		return overlap(b, a, tol)
	}
	if shared >= 2 {
		return false // they meet on the line of that edge and nowhere else
	}
	// The piece where one of them goes through the plane of the other: of the two
	// ways to reckon it the better conditioned.
	p, q, blur := b.trace(db)
	if p2, q2, blur2 := a.trace(da); blur2 < blur {
		p, q, blur, a, b = p2, q2, blur2, b, a
	}
	// What of that piece lies in a?
	t0, t1 := 0.0, 1.0
	for k := range 3 {
		h0, h1 := a.beside(k, p), a.beside(k, q)
		switch {
		case h0 < 0 && h1 < 0:
			return false
		case h0 < 0:
			t0 = max(t0, h0/(h0-h1))
		case h1 < 0:
			t1 = min(t1, h0/(h0-h1))
		}
	}
	if !((t1-t0)*r3.Norm(r3.Sub(q, p)) > tol) {
		return false
	}
	mid := r3.Add(p, r3.Scale((t0+t1)/2, r3.Sub(q, p)))
	return a.inside(mid) > tol+blur || b.inside(mid) > tol+blur
}

// longAbove is how far q stands above the plane of a, b, c, the determinant
// without rounding: 512 bits hold the products of differences of any coordinates
// that a part can have.
func longAbove(a, b, c, q r3.Vec) float64 {
	big3 := func(p r3.Vec) (v [3]*big.Float) {
		for k, x := range [3][2]float64{{p.X, a.X}, {p.Y, a.Y}, {p.Z, a.Z}} {
			v[k] = long(x[0])
			v[k].Sub(v[k], long(x[1]))
		}
		return v
	}
	u, v, w := big3(b), big3(c), big3(q)
	det := long(0)
	var n [3]float64
	for k := range 3 {
		i, j := (k+1)%3, (k+2)%3
		minor := long(0).Mul(u[i], v[j])
		minor.Sub(minor, long(0).Mul(u[j], v[i]))
		n[k], _ = minor.Float64()
		det.Add(det, minor.Mul(minor, w[k]))
	}
	d, _ := det.Float64()
	return d / r3.Norm(r3.Vec{X: n[0], Y: n[1], Z: n[2]})
}

func long(x float64) *big.Float { return new(big.Float).SetPrec(512).SetFloat64(x) }

// oneSide reports whether a triangle keeps to one side of a plane, or has but a
// corner in it.
func oneSide(d [3]float64) bool {
	pos, neg, zero := 0, 0, 0
	for _, x := range d {
		switch {
		case x > 0:
			pos++
		case x < 0:
			neg++
		default:
			zero++
		}
	}
	return (pos == 0 || neg == 0) && zero < 2
}

// trace is where f, whose corners stand d above a plane, cuts that plane: an
// edge, or a piece between two edges or a corner and an edge. blur bounds what
// rounding may shift its ends by.
func (f *facet) trace(d [3]float64) (p, q r3.Vec, blur float64) {
	var ends [3]r3.Vec
	n := 0
	least := math.Inf(1)
	for k := range 3 {
		if d[k] == 0 {
			ends[n] = f.p[k]
			n++
			continue
		}
		least = min(least, math.Abs(d[k]))
	}
	for k := range 3 {
		j := (k + 1) % 3
		if d[k]*d[j] < 0 {
			ends[n] = r3.Add(f.p[k], r3.Scale(d[k]/(d[k]-d[j]), r3.Sub(f.p[j], f.p[k])))
			n++
		}
	}
	return ends[0], ends[1], 32 * epsilon * f.long * f.long / least
}

// overlap reports whether two triangles in the plane of a have more than tol in
// common every way: no edge of either has all of the other on its outer side
// (the separating axes of Gottschalk, Lin and Manocha, "OBBTree", SIGGRAPH 1996,
// in the plane).
func overlap(a, b *facet, tol float64) bool {
	flat := *b
	flat.n = a.n
	if r3.Dot(a.n, b.n) < 0 {
		flat.p[1], flat.p[2] = flat.p[2], flat.p[1]
	}
	for _, pair := range [2][2]*facet{{a, &flat}, {&flat, a}} {
		for k := range 3 {
			deepest := math.Inf(-1)
			for _, q := range pair[1].p {
				deepest = max(deepest, pair[0].beside(k, q))
			}
			if deepest <= tol {
				return false
			}
		}
	}
	return true
}
