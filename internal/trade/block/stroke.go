package block

import (
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/slide"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// quantile is the value that a share of the values does not pass; 0 for none. The
// values are put in order.
func quantile(v []float64, share float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[min(len(v)-1, int(math.Ceil(share*float64(len(v))))-1)]
}

// stroker tries how a block's face lies along motions: points of the face as they
// lie on the part at rest.
type stroker struct {
	ground *ground
	thick  float64
	pts    []r3.Vec
	rest   float64 // share of them that lies over the patch at rest
}

// lies is how the face lies when the block is s along a motion and has settled: it
// is turned and shifted a little, to the least sum of squared distances along the
// normals of the patch (Y. Chen and G. Medioni, "Object modelling by registration of
// multiple range images", Image and Vision Computing 10 (1992) 145), then stands on
// what sticks out. Of the points that lie over the patch, the half per cent farthest
// to either side is left out: there the patch's border begins.
func (k *stroker) lies(m slide.Motion, s float64) fettle.StrokeError {
	out := fettle.StrokeError{AtMM: s}
	pts := make([]r3.Vec, len(k.pts))
	for i, p := range k.pts {
		pts[i] = m.Move(p, s)
	}
	slots := make([]int32, len(pts))
	for i := range slots {
		slots[i] = bvh.None
	}
	var off []float64
	var at, n []r3.Vec
	for round := range 3 {
		off, at, n = off[:0], at[:0], n[:0]
		for i, p := range pts {
			f := k.ground.foot(p, slots[i])
			slots[i] = f.slot
			if !f.over || f.dist == 0 {
				continue
			}
			dir := r3.Scale(1/f.dist, r3.Sub(p, f.at))
			off, at, n = append(off, f.dist-k.thick), append(at, p), append(n, dir)
		}
		if len(off) < 6 {
			return out
		}
		if round == 2 {
			break
		}
		w, v, c := settle(at, n, off, m)
		l := r3.Norm(w)
		for i, p := range pts {
			q := r3.Sub(p, c)
			if l > 0 {
				q = r3.NewRotation(l, w).Rotate(q)
			}
			pts[i] = r3.Add(c, r3.Add(q, v))
		}
	}
	sum := 0.0
	for _, o := range off {
		sum += o * o
	}
	out.RMSUM = 1000 * math.Sqrt(sum/float64(len(off)))
	out.Share = float64(len(off)) / float64(len(pts))
	hi := quantile(off, 0.995)
	out.MaxUM = 1000 * (hi - off[int(0.005*float64(len(off)))])
	return out
}

// settle is the small turn w about c and the shift v that bring points best to where
// their distances are none, in the directions n. Left out is the stroke itself, which
// the hand holds: a block that fits in one place only must not slip back there; and
// motions that hardly change the distances.
func settle(at, n []r3.Vec, off []float64, m slide.Motion) (w, v, c r3.Vec) {
	for _, p := range at {
		c = r3.Add(c, p)
	}
	c = r3.Scale(1/float64(len(at)), c)
	size := 0.0
	for _, p := range at {
		size += r3.Norm2(r3.Sub(p, c))
	}
	size = math.Sqrt(size / float64(len(at)))
	if size == 0 {
		return
	}
	var a [6][6]float64
	var b [6]float64
	for i, p := range at {
		m := r3.Scale(1/size, r3.Cross(r3.Sub(p, c), n[i]))
		row := [6]float64{m.X, m.Y, m.Z, n[i].X, n[i].Y, n[i].Z}
		for r := range 6 {
			for q := range 6 {
				a[r][q] += row[r] * row[q]
			}
			b[r] -= row[r] * off[i]
		}
	}
	var held [6]float64
	d := m.Velocity(c)
	held[3], held[4], held[5] = d.X, d.Y, d.Z
	if m.Turns {
		held[0], held[1], held[2] = size*m.PerMM*m.Axis.X, size*m.PerMM*m.Axis.Y, size*m.PerMM*m.Axis.Z
	}
	without(&a, &b, held)
	sym := mat.NewSymDense(6, nil)
	for r := range 6 {
		for q := range r + 1 {
			sym.SetSym(r, q, a[r][q])
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(sym, true) {
		return
	}
	val := eig.Values(nil)
	var vec mat.Dense
	eig.VectorsTo(&vec)
	var x [6]float64
	for e := range 6 {
		if val[e] < 1e-4*val[5] {
			continue
		}
		d := 0.0
		for r := range 6 {
			d += vec.At(r, e) * b[r]
		}
		for r := range 6 {
			x[r] += vec.At(r, e) * d / val[e]
		}
	}
	return r3.Scale(1/size, r3.Vec{X: x[0], Y: x[1], Z: x[2]}), r3.Vec{X: x[3], Y: x[4], Z: x[5]}, c
}

// without takes a direction out of the normal equations: a becomes (1 − ddᵀ) a (1 − ddᵀ).
func without(a *[6][6]float64, b *[6]float64, d [6]float64) {
	l := 0.0
	for _, x := range d {
		l += x * x
	}
	if l == 0 {
		return
	}
	for i := range d {
		d[i] /= math.Sqrt(l)
	}
	for range 2 { // rows, then columns: transposed in between
		for q := range 6 {
			s := 0.0
			for r := range 6 {
				s += d[r] * a[r][q]
			}
			for r := range 6 {
				a[r][q] -= d[r] * s
			}
		}
		for r := range 6 {
			for q := range r {
				a[r][q], a[q][r] = a[q][r], a[r][q]
			}
		}
	}
	s := 0.0
	for r := range 6 {
		s += d[r] * b[r]
	}
	for r := range 6 {
		b[r] -= d[r] * s
	}
}

// leavesAt is the share of what lies over the patch at rest that must stay over it.
const leavesAt = 0.5

// reach is how far to either side of rest a block may go along a motion; most bounds
// it, free says whether the rest of the block is clear of the part there. Why it
// ends there is "limit", "border", "body" or "round".
func (k *stroker) reach(ctx context.Context, m slide.Motion, most, limit float64, free func(s float64) bool) (s float64, why string, err error) {
	bad := func(s float64) string {
		for _, t := range []float64{s, -s} {
			e := k.lies(m, t)
			switch {
			case e.Share < leavesAt*k.rest:
				return "border"
			case e.MaxUM > limit:
				return "limit"
			case !free(t):
				return "body"
			}
		}
		return ""
	}
	const steps = 16
	worst := make([]string, steps+1)
	if err := cores.Each(ctx, steps, func(i int) { worst[i+1] = bad(most * float64(i+1) / steps) }); err != nil {
		return 0, "", err
	}
	i := 1
	for i <= steps && worst[i] == "" {
		i++
	}
	if i > steps {
		return most, "round", nil
	}
	lo, hi, why := most*float64(i-1)/steps, most*float64(i)/steps, worst[i]
	for hi-lo > max(0.05, 0.005*hi) {
		mid := (lo + hi) / 2
		if w := bad(mid); w == "" {
			lo = mid
		} else {
			hi, why = mid, w
		}
	}
	return lo, why, ctx.Err()
}

// stroke describes a motion within its reach.
func (k *stroker) stroke(m slide.Motion, mid r3.Vec, reach float64) fettle.Stroke {
	out := fettle.Stroke{Kind: "straight", Axis: geom.Array(m.Axis), ReachMM: reach}
	if m.Turns {
		out.Kind = "round an axis"
		out.At = geom.Array(m.At)
		d := r3.Sub(mid, m.At)
		out.RadiusMM = r3.Norm(r3.Sub(d, r3.Scale(r3.Dot(d, m.Axis), m.Axis)))
		if m.Pitch != 0 {
			out.Kind, out.PitchMM = "screw", m.Pitch
		}
	}
	// The places within the reach, and one on either side past it.
	for i := -5; i <= 5; i++ {
		e := k.lies(m, reach*float64(i)/4)
		if i == 5 || i == -5 {
			if reach == 0 || e.Share == 0 {
				continue
			}
		} else {
			out.ErrorUM = max(out.ErrorUM, e.MaxUM)
		}
		out.Errors = append(out.Errors, e)
	}
	return out
}
