package block

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// FacePoint is a place of a block's face as it lies on the part at rest.
type FacePoint struct {
	At    r3.Vec  // in the block's frame
	Part  r3.Vec  // in the part's
	OffUM float64 // how much farther from the patch than wanted; below 0 nearer
	Over  bool    // over the patch; else over an opening or past its border
}

// fitOf measures a face against the patch's own facets: at its vertices, along its
// edges and within its facets, where a face made of facets is worst.
func fitOf(ctx context.Context, m *made, pose Pose, g *ground, thick float64) (fettle.BlockFit, []FacePoint, error) {
	at := func(i uint32) r3.Vec { return m.mesh.Pos[i] }
	type spot struct {
		p r3.Vec
		w float64 // share of area in plan, for the bridged share
	}
	var list []spot
	for v := m.face0; v < m.face1; v++ {
		list = append(list, spot{p: m.mesh.Pos[v]})
	}
	for t := m.tri0; t < m.tri1; t++ {
		tri := m.mesh.Tri[t]
		a, b, c := at(tri[0]), at(tri[1]), at(tri[2])
		w := math.Abs(r2.Cross(r2.Sub(plan(b), plan(a)), r2.Sub(plan(c), plan(a)))) / 2
		list = append(list, spot{r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), w})
		for k := range 3 {
			if tri[k] < tri[(k+1)%3] { // each edge once
				list = append(list, spot{p: r3.Scale(0.5, r3.Add(at(tri[k]), at(tri[(k+1)%3])))})
			}
		}
	}
	pts := make([]FacePoint, len(list))
	err := cores.Batches(ctx, len(list), 512, func(lo, hi int) {
		slot := int32(bvh.None)
		for i := lo; i < hi; i++ {
			p := pose.Point(list[i].p)
			f := g.foot(p, slot)
			slot = f.slot
			pts[i] = FacePoint{list[i].p, p, 1000 * (f.dist - thick), f.over}
		}
	})
	fit := fettle.BlockFit{OffsetMM: thick}
	var off []float64
	sum, all, out := 0.0, 0.0, 0.0
	for i, p := range pts {
		all += list[i].w
		if !p.Over {
			out += list[i].w
			continue
		}
		off = append(off, math.Abs(p.OffUM))
		sum += p.OffUM * p.OffUM
	}
	if len(off) > 0 {
		fit.WorstUM, fit.RMSUM = quantile(off, 0.99), math.Sqrt(sum/float64(len(off)))
		fit.MaxUM = off[len(off)-1]
	}
	if all > 0 {
		fit.BridgedShare = out / all
	}
	return fit, pts, err
}

// facetUM is how far the patch's facets lie off the smooth surface that they stand
// for, at the middle of their edges: κl²/8, with the surface's curvature κ along the
// edge (Euler's formula), of which 95 of 100 edges have no more.
func facetUM(p *patch.Patches, c *patch.Curvature, tris []int32) float64 {
	var v []float64
	for _, t := range tris {
		tri := p.Mesh.Tri[t]
		for k := range 3 {
			i, j := tri[k], tri[(k+1)%3]
			e := r3.Sub(p.Mesh.Pos[j], p.Mesh.Pos[i])
			l2 := r3.Norm2(e)
			if l2 == 0 || p.Sharp[t][k] {
				continue
			}
			kappa := math.Inf(1)
			for _, at := range []uint32{i, j} { // of the two ends the calmer: at borders it is badly known
				b := c.Vertex[at]
				d := r3.Vec{X: float64(b.MaxDir[0]), Y: float64(b.MaxDir[1]), Z: float64(b.MaxDir[2])}
				cos2 := math.Pow(r3.Dot(d, e), 2) / l2
				kappa = min(kappa, math.Abs(float64(b.Max)*cos2+float64(b.Min)*(1-cos2)))
			}
			v = append(v, 1000*kappa*l2/8)
		}
	}
	return quantile(v, 0.95)
}

// covered is the share of a patch that a face goes over within its reach.
func covered(g *ground, f *face, o outline, reach float64) float64 {
	const most, n = 1500, 13
	var poses [n]Pose
	for i := range poses {
		poses[i] = f.stand.pose.along(f.stand.motion, reach*(2*float64(i)/(n-1)-1))
	}
	stride := max(1, len(g.of)/most)
	hit, all := 0.0, 0.0
	for t := 0; t < len(g.of); t += stride {
		c := g.middle(int32(t))
		all += g.area[t]
		for i := range poses {
			q := poses[i].Back(c)
			if o.holds(plan(q)) && math.Abs(q.Z-f.rough(plan(q))-f.thick) < 0.3+f.thick {
				hit += g.area[t]
				break
			}
		}
	}
	if all == 0 {
		return 0
	}
	return hit / all
}
