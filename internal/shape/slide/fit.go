package slide

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// farAxis is the distance of an axis, in sizes of the patch, beyond which a turn
// is a straight motion: over the patch it differs from one by less than rounding.
const farAxis = 1e7

// bestStraight is the straight motion that slides best: the direction most nearly
// at right angles to all normals.
func (z *slips) bestStraight() (Motion, float64) {
	_, vec := geom.Eigen(z.nn)
	m := Motion{Axis: pointed(vec[0])}
	return m, z.of(m)
}

// bestTurn is the plain turn that slides best, begun from a twist. Turns are the
// twists with w·v = 0, a quadric; on its tangent space the best twist is an
// eigenvector again, which is put back onto the quadric by dropping the advance.
// ok is false where it runs away into a straight motion.
func (z *slips) bestTurn(from twist) (m Motion, s float64, ok bool) {
	t := from
	s = math.Inf(1)
	for range 40 {
		w2 := norm2(t.W)
		if w2 == 0 {
			break
		}
		t.V = sub(t.V, scale(r3.Dot(t.W, t.V)/w2, t.W))
		now := z.slip(t)
		gain := s - now
		if now < s {
			s = now
			m = t.screw(z.c, farAxis*z.size)
			m.Pitch = 0
			ok = m.Turns
		}
		if gain < 1e-9*s+1e-14 {
			break
		}
		// The gradient of w·v in y, where w = J^−½ y_w.
		gw := times(&z.half, t.V)
		g := [6]float64{gw.X, gw.Y, gw.Z, t.W.X, t.W.Y, t.W.Z}
		y, good := z.bestWithin(&g)
		if !good {
			break
		}
		t = z.twist(&y)
	}
	return m, s, ok
}

// bestWithin is the best y at right angles to g.
func (z *slips) bestWithin(g *[6]float64) (y [6]float64, ok bool) {
	// Five of the columns of a Householder reflection that takes g to the last.
	l := 0.0
	for _, v := range g {
		l += v * v
	}
	l = math.Sqrt(l)
	if l == 0 {
		return y, false
	}
	var u [6]float64
	for i := range 6 {
		u[i] = g[i] / l
	}
	if u[5] >= 0 {
		u[5]++
	} else {
		u[5]--
	}
	uu := 0.0
	for _, v := range u {
		uu += v * v
	}
	column := func(k int) (c [6]float64) {
		c[k] = 1
		for i := range 6 {
			c[i] -= 2 * u[k] * u[i] / uu
		}
		return c
	}
	var b [5][6]float64
	for k := range 5 {
		b[k] = column(k)
	}
	var a sym
	for i := range 5 {
		for k := range i + 1 {
			a[i][k] = z.a.quad(&b[i], &b[k])
			a[k][i] = a[i][k]
		}
	}
	_, vec := eigen(a, 5)
	for k := range 5 {
		for i := range 6 {
			y[i] += vec[0][k] * b[k][i]
		}
	}
	return y, true
}

// enough is the slippage at which a simpler motion is preferred to one with the
// slippage s: what the noise of the mesh explains, or what nobody asks about.
func (z *slips) enough(s, within float64) float64 {
	return max(1.1*s+0.1*z.noise+1e-7, min(within, leastSlip))
}

// clean turns a twist into the simplest motion that slides about as well, or within
// a limit: straight, turn or screw.
func (z *slips) clean(t twist, within float64) Motion {
	enough := z.enough(z.slip(t), within)
	if v, l := normed(t.V); l > 0 {
		if m := (Motion{Axis: pointed(v)}); z.of(m) <= enough {
			return m
		}
	}
	if w2 := norm2(t.W); w2 > 0 {
		flat := twist{t.W, sub(t.V, scale(r3.Dot(t.W, t.V)/w2, t.W))}
		if m := flat.screw(z.c, farAxis*z.size); z.of(m) <= enough {
			m.Pitch = 0
			return z.paced(m)
		}
	}
	return z.paced(t.screw(z.c, farAxis*z.size))
}

// single is the one motion of a patch that has one: the first of the best straight
// one, the best turn and the best screw that fits about as well as the last, or
// within a limit. Each is its own least-squares fit.
func (z *slips) single(within float64) Motion {
	t := z.twist(&z.vec[0])
	enough := z.enough(z.val[0], within)
	if m, s := z.bestStraight(); s <= enough {
		return m
	}
	if m, s, ok := z.bestTurn(t); ok && s <= enough {
		return z.paced(m)
	}
	return z.paced(t.screw(z.c, farAxis*z.size))
}

// long are the direction in which the patch is longest at right angles to the
// unit normal n, and the one across.
func (z *slips) long(n r3.Vec) (u, v r3.Vec) {
	for _, d := range z.ahead {
		d = sub(d, scale(r3.Dot(d, n), n))
		if l := math.Sqrt(norm2(d)); l > 0.5 {
			u = pointed(scale(1/l, d))
			return u, pointed(r3.Cross(n, u))
		}
	}
	u = pointed(geom.Perpendicular(n))
	return u, pointed(r3.Cross(n, u))
}

// middle is the patch's middle normal; for a patch that closes on itself, where
// normals cancel, the direction in which it is thinnest.
func (z *slips) middle() r3.Vec {
	if n, l := normed(z.n); l > 0.05 {
		return n
	}
	return pointed(z.ahead[2])
}

// plane are the motions of a plane with the unit normal n.
func (z *slips) plane(n r3.Vec) []Motion {
	u, v := z.long(n)
	return []Motion{{Axis: u}, {Axis: v}, z.paced(Motion{Axis: pointed(n), At: z.c, Turns: true})}
}

// sphere are the turns about a centre.
func (z *slips) sphere(centre r3.Vec) []Motion {
	n := z.middle()
	u, v := z.long(n)
	turn := func(a r3.Vec) Motion { return z.paced(Motion{Axis: pointed(a), At: centre, Turns: true}) }
	return []Motion{turn(v), turn(u), turn(n)}
}

// cylinder are the straight motion along an axis and the turn about it.
func (z *slips) cylinder(axis, at r3.Vec) []Motion {
	axis = pointed(axis)
	foot := sub(at, scale(r3.Dot(sub(at, z.c), axis), axis))
	return []Motion{{Axis: axis}, z.paced(Motion{Axis: axis, At: foot, Turns: true})}
}

// centre is the point nearest to all the normals' lines: the least of
// Σ |(p − c)×n|², for which Σ(I − nnᵀ) c = Σ n×(p×n).
func (z *slips) centre() (r3.Vec, bool) {
	mn := z.mn()
	// n×m from (m nᵀ): component i is Σ ε n_j m_k.
	r := r3.Vec{X: mn[2][1] - mn[1][2], Y: mn[0][2] - mn[2][0], Z: mn[1][0] - mn[0][1]}
	a := z.nn
	for i := range 3 {
		for j := range 3 {
			a[i][j] = -a[i][j]
		}
		a[i][i]++
	}
	val, vec := geom.Eigen(a)
	if val[0] < 1e-14 {
		return r3.Vec{}, false
	}
	var c r3.Vec
	for i := range 3 {
		c = add(c, scale(r3.Dot(vec[i], r)/val[i], vec[i]))
	}
	return add(z.c, c), true
}

// mn is mean((p×n)nᵀ) about the centroid.
func (z *slips) mn() [3][3]float64 {
	var wv [3][3]float64
	for i := range 3 {
		for k := range 3 {
			wv[i][k] = z.a[i][k+3]
		}
	}
	// wv = half·mn, and half⁻¹ = J half.
	return product(product(z.j, z.half), wv)
}

// axis is the line of a given direction about which the patch turns best: linear
// least squares in the plane across it.
func (z *slips) axis(d r3.Vec) (r3.Vec, bool) {
	e := [2]r3.Vec{geom.Perpendicular(d)}
	e[1] = r3.Cross(d, e[0])
	base := z.y(turning(d, z.c, z.c))
	var g [2][6]float64
	for i := range 2 {
		g[i] = z.y(twist{V: r3.Cross(e[i], d)}) // about e_i from c: v = d×(c−at) = e_i×d
	}
	a, b, c := z.a.quad(&g[0], &g[0]), z.a.quad(&g[0], &g[1]), z.a.quad(&g[1], &g[1])
	p, q := -z.a.quad(&g[0], &base), -z.a.quad(&g[1], &base)
	det := a*c - b*b
	if !(det > 1e-14*(a+c)*(a+c)) {
		return r3.Vec{}, false
	}
	x, y := (c*p-b*q)/det, (a*q-b*p)/det
	return add(z.c, add(scale(x, e[0]), scale(y, e[1]))), true
}

// worst is the largest slippage of some motions.
func (z *slips) worst(ms []Motion) float64 {
	s := 0.0
	for _, m := range ms {
		s = max(s, z.of(m))
	}
	return s
}

// kind tells what a patch is that slides within a limit. Patches with two or three
// sliding motions have a space of them, in which eigenvectors are arbitrary
// mixtures; the motions that a person would name are found as the fit of the
// surface that has such a space, and every one of them must slide.
func (z *slips) kind(limit float64) (Kind, []Motion) {
	k := z.count(limit)
	if k >= 3 {
		_, axes := geom.Eigen(z.nn)
		n := axes[2]
		best, kind := z.plane(n), Plane
		if c, ok := z.centre(); ok {
			if s := z.sphere(c); z.worst(s) < z.worst(best) {
				best, kind = s, Sphere
			}
		}
		if z.worst(best) <= limit {
			return kind, best
		}
	}
	if k >= 2 {
		s, _ := z.bestStraight()
		if at, ok := z.axis(s.Axis); ok {
			if c := z.cylinder(s.Axis, at); z.worst(c) <= limit {
				return Cylinder, c
			}
		}
		if ms := z.pair(limit); z.worst(ms) <= limit {
			return named(ms[0]), ms
		}
	}
	if k >= 1 {
		m := z.single(limit)
		if z.of(m) > limit {
			m = z.paced(z.twist(&z.vec[0]).screw(z.c, farAxis*z.size))
		}
		return named(m), []Motion{m}
	}
	return Free, nil
}

// named is the kind of a surface with one motion.
func named(m Motion) Kind {
	switch {
	case !m.Turns:
		return Extruded
	case m.Pitch == 0:
		return Revolved
	}
	return Helix
}

// pair are the two simplest motions among the mixtures of the two best: those
// without advance, if there are any. A small piece of any dome has two rolls.
func (z *slips) pair(within float64) []Motion {
	s, t := z.twist(&z.vec[0]), z.twist(&z.vec[1])
	a, b, c := r3.Dot(s.W, s.V), (r3.Dot(s.W, t.V)+r3.Dot(t.W, s.V))/2, r3.Dot(t.W, t.V)
	mix := func(x, y float64) Motion {
		l := math.Hypot(x, y)
		x, y = x/l, y/l
		return z.clean(twist{add(scale(x, s.W), scale(y, t.W)), add(scale(x, s.V), scale(y, t.V))}, within)
	}
	ms := []Motion{mix(1, 0), mix(0, 1)}
	// a x² + 2b xy + c y² = 0, solved so that neither root loses figures.
	if d := b*b - a*c; d > 0 {
		if q := -(b + math.Copysign(math.Sqrt(d), b)); q != 0 {
			ms = []Motion{mix(q, a), mix(c, q)}
		}
	}
	slices.SortStableFunc(ms, func(p, q Motion) int { return cmp.Compare(z.of(p), z.of(q)) })
	return ms
}

// nearest goes on from the motions that slide with the eigenvectors.
func (z *slips) nearest(ms []Motion) (all []Motion, slip [6]float64) {
	all = slices.Clone(ms)
	if z.size == 0 {
		return all, slip
	}
	for i := len(all); i < 6; i++ {
		t := z.twist(&z.vec[i])
		m := z.clean(t, 0)
		if i == 0 {
			m = z.single(0)
		}
		all = append(all, m)
	}
	slices.SortStableFunc(all[len(ms):], func(p, q Motion) int { return cmp.Compare(z.of(p), z.of(q)) })
	for i, m := range all {
		slip[i] = z.of(m)
	}
	return all, slip
}
