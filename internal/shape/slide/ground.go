package slide

import (
	"context"
	"math"
	"slices"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// leastSlip is the slippage below which nobody asks: 2 µm of stand-off for each
	// mm of stroke.
	leastSlip = 0.002
	// mostSlip bounds what a noisy mesh excuses.
	mostSlip = 0.03
	// leastShare of the area, below which a patch is not worth a block.
	leastShare = 0.02
	// noiseFactor is how many times the error of its normals a surface may stray.
	noiseFactor = 3
)

// ground is a set of facets with the normals of the surface at their corners.
type ground struct {
	p      *patch.Patches
	opt    Options
	tris   []int32 // ascending
	slot   []int32 // of each facet of the mesh, its index in tris or −1
	origin r3.Vec
	area   float64
	// corner and err are normals and their errors at the corners of free-form
	// facets; nil where there are none.
	corner [][3]r3.Vec
	err    [][3]float32
}

func newGround(ctx context.Context, p *patch.Patches, tris []int32, opt Options) (*ground, error) {
	g := &ground{p: p, opt: opt, tris: slices.Clone(tris)}
	slices.Sort(g.tris)
	g.tris = slices.Compact(g.tris)
	g.slot = make([]int32, len(p.Mesh.Tri))
	for t := range g.slot {
		g.slot[t] = -1
	}
	box := geom.EmptyBox()
	free := false
	for i, t := range g.tris {
		g.slot[t] = int32(i)
		g.area += p.Area[t]
		for _, v := range p.Mesh.Tri[t] {
			box = box.Add(p.Mesh.Pos[v])
		}
		free = free || p.Faces[p.Face[t]].Kind == geom.Free
	}
	if len(g.tris) > 0 {
		g.origin = box.Centre()
	}
	if free {
		if err := g.normals(ctx); err != nil {
			return nil, err
		}
	}
	return g, ctx.Err()
}

// normals fills corner and err. A vertex is worked out once for each smooth fan
// round it, at the fan's first facet.
func (g *ground) normals(ctx context.Context) error {
	p := g.p
	g.corner, g.err = make([][3]r3.Vec, len(g.tris)), make([][3]float32, len(g.tris))
	return cores.Batches(ctx, len(g.tris), 1<<10, func(lo, hi int) {
		j := jets{p: p}
		var fan []int32
		for i := lo; i < hi; i++ {
			t := g.tris[i]
			if p.Faces[p.Face[t]].Kind != geom.Free {
				continue
			}
			for k := range 3 {
				v := p.Mesh.Tri[t][k]
				j.fan(t, v)
				first := t
				for _, u := range j.tris {
					if g.slot[u] >= 0 {
						first = min(first, u)
					}
				}
				if first != t {
					continue
				}
				fan = append(fan[:0], j.tris...)
				n, e := j.normal(t, k)
				for _, u := range fan {
					s := g.slot[u]
					if s < 0 {
						continue
					}
					for c := range 3 {
						if p.Mesh.Tri[u][c] == v {
							g.corner[s][c], g.err[s][c] = n, float32(e)
						}
					}
				}
			}
		}
	})
}

// samples calls f for places on facet t with their normals, areas and the errors
// of the normals. A free-form surface is known at its vertices only; on an
// elementary one any place will do, and a rule of six is exact enough. What a facet
// stands off the surface it does along the normal, which p×n does not feel.
func (g *ground) samples(t int32, f func(p, n r3.Vec, w, err float64)) {
	p := g.p
	face := &p.Faces[p.Face[t]]
	a, b, c := p.Mesh.Corners(int(t))
	area := p.Area[t]
	if face.Kind == geom.Free {
		i := g.slot[t]
		for k, q := range [3]r3.Vec{a, b, c} {
			f(q, g.corner[i][k], area/3, float64(g.err[i][k]))
		}
		return
	}
	// A fit is as good as its points, over the extent of the face.
	err := 0.1
	if face.Area > 0 {
		err = min(err, 2*max(face.RMS, p.Rounding)/math.Sqrt(face.Area))
	}
	for _, r := range quadrature {
		for k := range 3 {
			w := [3]float64{r.off, r.off, r.off}
			w[k] = r.near
			q := add(scale(w[0], a), add(scale(w[1], b), scale(w[2], c)))
			f(q, face.Normal(q), r.weight*area, err)
		}
	}
}

// The rule with six points that is exact for polynomials of the fourth degree on
// a triangle: twice three points, each with its weight (D. A. Dunavant, "High
// degree efficient symmetrical Gaussian quadrature rules for the triangle", Int.
// J. Numer. Meth. Engng 21, 1985). (p×n)² is of the fourth degree where the
// normal turns evenly.
var quadrature = [2]struct{ near, off, weight float64 }{
	{0.108103018168070, 0.445948490915965, 0.223381589678011},
	{0.816847572980459, 0.091576213509771, 0.109951743655322},
}

// strays is the slippage of one facet under a motion, and the error of its normals.
func (g *ground) strays(t int32, m Motion) (slip, err float64) {
	var off, way, noise, area float64
	g.samples(t, func(p, n r3.Vec, w, e float64) {
		v := m.Velocity(p)
		d := r3.Dot(v, n)
		off += w * d * d
		way += w * norm2(v)
		noise += w * e * e
		area += w
	})
	if way <= 0 || area <= 0 {
		return 0, 0
	}
	return math.Sqrt(off / way), math.Sqrt(noise / area)
}

// sum are the moments of some facets.
func (g *ground) sum(tris []int32) *moments {
	s := &moments{}
	for _, t := range tris {
		g.samples(t, func(p, n r3.Vec, w, err float64) { s.sample(sub(p, g.origin), n, w, err) })
	}
	return s
}

// limit is the largest slippage that counts as sliding.
func (g *ground) limit(noise float64) float64 {
	if g.opt.Slip > 0 {
		return g.opt.Slip
	}
	return min(mostSlip, max(leastSlip, noiseFactor*noise))
}

// judge tells what a set of facets is.
func (g *ground) judge(tris []int32, s *moments) (Kind, []Motion, *slips) {
	z := newSlips(s, g.origin)
	if len(tris) == 0 || s.area <= 0 {
		return Free, nil, z
	}
	if kind, ms := g.elementary(tris, z); kind != "" {
		return kind, ms, z
	}
	kind, ms := z.kind(g.limit(z.noise))
	return kind, ms, z
}

// elementary are the motions of a part of one elementary face, which are those of
// its surface; "" for anything else.
func (g *ground) elementary(tris []int32, z *slips) (Kind, []Motion) {
	f := &g.p.Faces[g.p.Face[tris[0]]]
	for _, t := range tris {
		if g.p.Face[t] != g.p.Face[tris[0]] {
			return "", nil
		}
	}
	switch f.Kind {
	case geom.Plane:
		return Plane, z.plane(f.Axis)
	case geom.Sphere:
		return Sphere, z.sphere(f.At)
	case geom.Cylinder:
		return Cylinder, z.cylinder(f.Axis, f.At)
	case geom.Cone, geom.Torus:
		return Revolved, z.cylinder(f.Axis, f.At)[1:]
	}
	return "", nil
}
