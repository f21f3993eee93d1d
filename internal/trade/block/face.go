package block

import (
	"context"
	"math"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/slide"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// pass is a pose in which a place of the face lies over the patch: how far along
// which of the motions.
type pass struct {
	motion int8 // none below 0
	s      float64
}

// at0 is the pose at rest.
var at0 = pass{0, 0}

// face tells how high a block's face must stand under each place in plan: a paper's
// thickness off the patch, where it lies over it at rest; where it does not, over
// openings and past the borders, as high as where the stroke first brings that place
// over the patch; and smoothly on where none does.
type face struct {
	stand  stand
	whole  *ground // the part
	thick  float64
	slides []slide.Motion
	// A coarse net of places, wide of the face: how each is met, and what the smooth
	// surface through all misses there.
	lo     r2.Vec
	step   float64
	nx, ny int
	pass   []pass
	steep  []bool // met at rest, but leaning by more than the steepest
	rest   []float64
	poly   [15]float64
	scale  float64
	low    float64 // from where lines come
}

// newFace looks over the places within half and half of the middle. reach bounds how
// far along the stroke other poses are looked for.
func newFace(ctx context.Context, s stand, whole *ground, thick float64, slides []slide.Motion, half r2.Vec, reach float64) (*face, error) {
	f := &face{stand: s, whole: whole, thick: thick, slides: slides}
	f.step = max(0.25, min(1, max(half.X, half.Y)/20))
	f.nx, f.ny = 2*int(math.Ceil(half.X/f.step))+1, 2*int(math.Ceil(half.Y/f.step))+1
	f.lo = r2.Vec{X: -float64(f.nx/2) * f.step, Y: -float64(f.ny/2) * f.step}
	f.scale = max(half.X, half.Y)
	f.low = s.lo.Z - thick - 0.5
	n := f.nx * f.ny
	f.pass, f.steep, f.rest = make([]pass, n), make([]bool, n), make([]float64, n)
	z := make([]float64, len(f.pass))
	tries := f.tries(reach)
	err := cores.Each(ctx, f.ny, func(j int) {
		for i := range f.nx {
			at := j*f.nx + i
			p := f.node(i, j)
			f.pass[at].motion = -1
			if h, lean, ok := f.meetLeaning(p, at0); ok && lean < leastLean {
				f.steep[at], f.pass[at], z[at] = true, at0, h
				continue
			}
			for _, try := range tries {
				if h, ok := f.meet(p, try); ok {
					f.pass[at], z[at] = try, h
					break
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	f.smooth(z)
	return f, nil
}

func (f *face) node(i, j int) r2.Vec {
	return r2.Vec{X: f.lo.X + float64(i)*f.step, Y: f.lo.Y + float64(j)*f.step}
}

// tries are the poses to look from, the nearest first: all along one motion before
// the next.
func (f *face) tries(reach float64) []pass {
	list := []pass{at0}
	const most = 40
	step := max(1, 2*reach/most)
	for m := range min(2, len(f.slides)) { // a third brings nothing that two do not
		for s := step; s <= reach; s += step {
			list = append(list, pass{int8(m), s}, pass{int8(m), -s})
		}
	}
	return list
}

// meet is how high the face may stand at a place when the block is at a pose.
func (f *face) meet(p r2.Vec, at pass) (float64, bool) {
	z, _, ok := f.meetLeaning(p, at)
	return z, ok
}

// leastLean is the cosine of the steepest lean of a face against the press, with some
// to spare for facets.
var leastLean = math.Cos(steepest + 4*math.Pi/180)

// meetLeaning is meet with the cosine between press and normal.
func (f *face) meetLeaning(p r2.Vec, at pass) (z, lean float64, ok bool) {
	r := ray{f.stand.pose.Point(r3.Vec{X: p.X, Y: p.Y}), f.stand.pose.Z}
	if at.s != 0 {
		m := f.slides[at.motion]
		r = ray{m.Move(r.at, at.s), m.Turned(r.up, at.s)}
	}
	return f.stand.ground.meet(r, f.thick, f.low, f.stand.hi.Z+1, bvh.None)
}

// smooth fits a surface of the fourth order to the heights that are known and carries
// what it misses over to the places between: there it is harmonic (Laplace's equation
// on the net, by successive overrelaxation), without a slope at the net's border.
// Terms that the known heights say little of are held small.
func (f *face) smooth(z []float64) {
	const n = len(f.poly)
	var ata [n][n]float64
	var atb [n]float64
	known := 0
	for at, p := range f.pass {
		if p.motion < 0 {
			continue
		}
		known++
		t := f.terms(f.node(at%f.nx, at/f.nx))
		for i := range n {
			for j := range i + 1 {
				ata[i][j] += t[i] * t[j]
			}
			atb[i] += t[i] * z[at]
		}
	}
	if known == 0 {
		return
	}
	a := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i {
			a.SetSym(i, j, ata[i][j])
		}
		hold := 1e-9
		if i >= 6 {
			hold = 1e-5
		}
		a.SetSym(i, i, ata[i][i]+hold*float64(known))
	}
	var ch mat.Cholesky
	if ch.Factorize(a) {
		x := mat.NewVecDense(n, nil)
		// An error is only ever that of a badly conditioned matrix; what is missed stays in
		// rest.
		_ = ch.SolveVecTo(x, mat.NewVecDense(n, atb[:]))
		copy(f.poly[:], x.RawVector().Data)
	}
	for at, p := range f.pass {
		if p.motion >= 0 {
			f.rest[at] = z[at] - f.quartic(f.node(at%f.nx, at/f.nx))
		}
	}
	const over = 1.8
	for range 400 {
		most := 0.0
		for j := range f.ny {
			for i := range f.nx {
				at := j*f.nx + i
				if f.pass[at].motion >= 0 {
					continue
				}
				sum, n := 0.0, 0.0
				if i > 0 {
					sum, n = sum+f.rest[at-1], n+1
				}
				if i < f.nx-1 {
					sum, n = sum+f.rest[at+1], n+1
				}
				if j > 0 {
					sum, n = sum+f.rest[at-f.nx], n+1
				}
				if j < f.ny-1 {
					sum, n = sum+f.rest[at+f.nx], n+1
				}
				d := sum/n - f.rest[at]
				f.rest[at] += over * d
				most = max(most, math.Abs(d))
			}
		}
		if most < 1e-6 {
			break
		}
	}
}

func (f *face) terms(p r2.Vec) [15]float64 {
	x, y := p.X/f.scale, p.Y/f.scale
	return [15]float64{
		1, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y,
		x * x * x * x, x * x * x * y, x * x * y * y, x * y * y * y, y * y * y * y,
	}
}

func (f *face) quartic(p r2.Vec) float64 {
	z := 0.0
	for i, t := range f.terms(p) {
		z += t * f.poly[i]
	}
	return z
}

// cell is the cell of the net that a place lies in, and where in it.
func (f *face) cell(p r2.Vec) (at int, u, v float64) {
	x, y := (p.X-f.lo.X)/f.step, (p.Y-f.lo.Y)/f.step
	i := max(0, min(f.nx-2, int(x)))
	j := max(0, min(f.ny-2, int(y)))
	return j*f.nx + i, max(0, min(1, x-float64(i))), max(0, min(1, y-float64(j)))
}

// rough is the height from the net alone.
func (f *face) rough(p r2.Vec) float64 {
	at, u, v := f.cell(p)
	return f.quartic(p) + (1-v)*((1-u)*f.rest[at]+u*f.rest[at+1]) + v*((1-u)*f.rest[at+f.nx]+u*f.rest[at+f.nx+1])
}

// height is how high the face stands at a place, and how that was found.
func (f *face) height(p r2.Vec) (float64, pass) {
	if z, ok := f.meet(p, at0); ok {
		return z, at0
	}
	z, how := f.rough(p), pass{-1, 0}
	at, u, v := f.cell(p)
	// From the nearest corner of the cell on.
	order := [4]int{at, at + 1, at + f.nx, at + f.nx + 1}
	if u > 0.5 {
		order[0], order[1], order[2], order[3] = order[1], order[0], order[3], order[2]
	}
	if v > 0.5 {
		order[0], order[1], order[2], order[3] = order[2], order[3], order[0], order[1]
	}
	for _, k := range order {
		if t := f.pass[k]; t.motion >= 0 && t.s != 0 {
			if h, ok := f.meet(p, t); ok {
				z, how = h, t
				break
			}
		}
	}
	// Never into the part, nor nearer than the paper.
	r := ray{f.stand.pose.Point(r3.Vec{X: p.X, Y: p.Y}), f.stand.pose.Z}
	if h, _, _ := f.whole.meet(r, f.thick*(1-1e-6), z-3, z, bvh.None); h < z {
		z = h
	}
	return z, how
}

// bend is the curvature of the face along x and along y, as seen across it, of which
// 199 of 200 places have no more.
func (f *face) bend(ctx context.Context, o outline) (kx, ky float64, err error) {
	var at []r2.Vec
	for j := range f.ny {
		for i := range f.nx {
			if p := f.node(i, j); f.pass[j*f.nx+i] == at0 && o.holds(p) {
				at = append(at, p)
			}
		}
	}
	const most = 400
	stride := len(at)/most + 1
	n := (len(at) + stride - 1) / stride
	xs, ys := make([]float64, n), make([]float64, n)
	err = cores.Batches(ctx, n, 32, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			p := at[k*stride]
			z, ok := f.meet(p, at0)
			// Over several lengths: facets bend at their edges only, small roundings nowhere
			// else.
			for _, e := range []float64{0.12, 0.4, 1.2} {
				for axis, d := range []r2.Vec{{X: e}, {Y: e}} {
					a, oka := f.meet(r2.Sub(p, d), at0)
					b, okb := f.meet(r2.Add(p, d), at0)
					if !ok || !oka || !okb {
						continue
					}
					slope := (b - a) / (2 * e)
					bend := math.Abs(a+b-2*z) / (e * e * math.Sqrt(1+slope*slope))
					if axis == 0 {
						xs[k] = max(xs[k], bend)
					} else {
						ys[k] = max(ys[k], bend)
					}
				}
			}
		}
	})
	return quantile(xs, 0.995), quantile(ys, 0.995), err
}
