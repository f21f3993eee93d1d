package reach

import (
	"cmp"
	"context"
	"math"
	"slices"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	directions = 64
	// rung is the factor between the radii that exposure is worked out for, at most.
	rung = 1.6
	// longRay ends a way that leads nowhere, in steps.
	longRay = 96
)

// fan are directions over the hemisphere round +Z, each standing for the same
// share of it by cosine: points spread evenly over a disc on a spiral by the
// golden angle, lifted to the sphere.
var fan = func() (out [directions]r3.Vec) {
	golden := math.Pi * (3 - math.Sqrt(5))
	for i := range out {
		u := (float64(i) + 0.5) / directions
		sin, cos := math.Sincos(golden * float64(i))
		out[i] = r3.Vec{X: math.Sqrt(u) * cos, Y: math.Sqrt(u) * sin, Z: math.Sqrt(1 - u)}
	}
	return out
}()

// sites are places of the skin where exposure is worked out, about a spacing
// apart; facets take theirs from those near them.
type sites struct {
	ladder []float64 // radii that exposure is known for, in even steps of the logarithm
	facet  []int32   // that stands for each site
	open   []float32 // for each site, its exposure at the rungs
	// near lists the sites that facet f takes from and how much of each:
	// start[f] to start[f+1].
	start []int32
	near  []int32
	share []float32
}

// expose finds the exposure of the sites to spheres of all sizes in use.
func (r *reacher) expose(ctx context.Context) error {
	lo, hi := math.Inf(1), 0.0
	for _, p := range r.pieces {
		lo, hi = min(lo, p[0].equal, p[1].equal), max(hi, p[0].equal)
	}
	st := &sites{}
	r.sites = st
	steps := math.Ceil(math.Log(hi/lo)/math.Log(rung) - 1e-9)
	st.ladder = []float64{lo}
	for i := 1.0; i <= steps; i++ {
		st.ladder = append(st.ladder, lo*math.Pow(hi/lo, i/steps))
	}
	r.gather(st)
	n := len(st.ladder)
	st.open = make([]float32, n*len(st.facet))
	return cores.Batches(ctx, len(st.facet), 64, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			f, open := st.facet[i], st.open[n*i:n*i+n]
			last := -1.0
			for k, radius := range st.ladder {
				// A piece that is larger than the place touches it with an edge: the
				// largest sphere that fits stands for that.
				radius = min(radius, float64(r.skin.touch[f]))
				if radius == last {
					open[k] = open[k-1]
					continue
				}
				open[k] = float32(r.openness(f, radius))
				last = radius
			}
		}
	})
}

// openness is the share of directions, weighted by the cosine to the normal, from
// which a sphere can come in a straight line to touch a facet: 1 where no
// direction is closed.
func (r *reacher) openness(f int32, radius float64) float64 {
	n := r.smooth.at(r.skin.from[f], r.skin.at[f])
	x := geom.Perpendicular(n)
	y := r3.Cross(n, x)
	c := r3.Add(r.skin.at[f], r3.Scale(radius, n))
	free := 0
	for _, d := range fan {
		dir := r3.Add(r3.Scale(d.X, x), r3.Add(r3.Scale(d.Y, y), r3.Scale(d.Z, n)))
		if r.free(c, dir, radius) {
			free++
		}
	}
	return float64(free) / directions
}

// free reports whether a sphere can go from c straight on to far away. Through
// the void it steps as far as the distance there allows (J. C. Hart, "Sphere
// tracing", The Visual Computer 12, 1996), with a quarter of a cell for the grid's error
// and never less than half a cell at a time. Without a void only the middle is
// asked.
func (r *reacher) free(c, dir r3.Vec, radius float64) bool {
	v := r.in.Void
	if v == nil {
		return !r.in.Detail.Tree.RayAny(c, dir, 0, math.Inf(1))
	}
	tol := 0.25*v.Cell + 0.01*radius
	hi := r3.Add(v.Origin, r3.Scale(v.Cell, r3.Vec{X: float64(v.N[0] - 1), Y: float64(v.N[1] - 1), Z: float64(v.N[2] - 1)}))
	p := c
	// The sphere touches its own place to begin with, and so cannot step by what is
	// clear.
	step := 0.5 * v.Cell
	for range longRay {
		p = r3.Add(p, r3.Scale(step, dir))
		if p.X < v.Origin.X || p.Y < v.Origin.Y || p.Z < v.Origin.Z || p.X > hi.X || p.Y > hi.Y || p.Z > hi.Z {
			return true
		}
		gap := v.Value(p) - radius
		if gap < -tol {
			return false
		}
		step = max(gap, 0.5*v.Cell)
	}
	return false
}

// cell is a cube of the lattice that sites are shared out by, within one smooth
// piece of the surface.
type cell struct {
	x, y, z int32
	region  int32
}

// gather picks the sites: in each cube of the lattice, and for each smooth piece
// and octant of the normal, the facet nearest to the middle of what lies in it.
func (r *reacher) gather(st *sites) {
	s := r.skin
	spacing := r.spacing()
	where := func(p r3.Vec, region int32) cell {
		return cell{int32(math.Floor(p.X / spacing)), int32(math.Floor(p.Y / spacing)), int32(math.Floor(p.Z / spacing)), region}
	}
	type key struct {
		cell
		side int8
	}
	id := map[key]int32{}
	of := make([]int32, len(s.tri))
	var mid []r3.Vec
	var area []float64
	for f := range s.tri {
		t := s.from[f]
		k := key{where(s.at[f], r.smooth.region[t]), octant(r.in.Detail.Patches.Normal[t])}
		i, ok := id[k]
		if !ok {
			i = int32(len(mid))
			id[k] = i
			mid, area = append(mid, r3.Vec{}), append(area, 0)
		}
		of[f] = i
		mid[i] = r3.Add(mid[i], r3.Scale(s.area[f], s.at[f]))
		area[i] += s.area[f]
	}
	st.facet = nearest(s, of, mid, area)
	lattice := map[cell][]int32{}
	for i, f := range st.facet {
		c := where(s.at[f], r.smooth.region[s.from[f]])
		lattice[c] = append(lattice[c], int32(i))
	}
	r.share(st, of, lattice, where, spacing)
}

// spacing of sites.
func (r *reacher) spacing() float64 { return max(r.diag/70, r.finest) }

// level is the part of a normal that counts as none, so that rounding does not
// tell level facets apart.
const level = 1e-6

// octant tells normals apart that look different ways, eight of them.
func octant(n r3.Vec) int8 {
	o := int8(0)
	if n.X > level {
		o |= 1
	}
	if n.Y > level {
		o |= 2
	}
	if n.Z > level {
		o |= 4
	}
	return o
}

// mostNear is how many sites a facet takes from at most.
const mostNear = 6

// share lets each facet take from the sites of its smooth piece within two
// spacings that look the same way.
func (r *reacher) share(st *sites, of []int32, lattice map[cell][]int32, where func(r3.Vec, int32) cell, spacing float64) {
	s := r.skin
	n := len(s.tri)
	type part struct {
		site int32
		w    float32
	}
	all := make([][mostNear]part, n)
	_ = cores.Batches(context.Background(), n, 512, func(lo, hi int) {
		var found []part
		for f := lo; f < hi; f++ {
			found = found[:0]
			t := s.from[f]
			normal := r.in.Detail.Patches.Normal[t]
			c := where(s.at[f], r.smooth.region[t])
			for k := range int32(27) {
				d := c
				d.x, d.y, d.z = c.x+k%3-1, c.y+k/3%3-1, c.z+k/9-1
				for _, i := range lattice[d] {
					g := st.facet[i]
					w := 1 - r3.Norm2(r3.Sub(s.at[f], s.at[g]))/(2.25*spacing*spacing)
					turn := r3.Dot(normal, r.in.Detail.Patches.Normal[s.from[g]]) - 0.5
					if w > 0 && turn > 0 {
						found = append(found, part{i, float32(w * w * turn * turn)})
					}
				}
			}
			if len(found) == 0 {
				found = append(found, part{of[f], 1})
			}
			slices.SortFunc(found, func(a, b part) int { return cmp.Or(cmp.Compare(b.w, a.w), cmp.Compare(a.site, b.site)) })
			sum := float32(0)
			found = found[:min(len(found), mostNear)]
			for _, p := range found {
				sum += p.w
			}
			for k, p := range found {
				all[f][k] = part{p.site, p.w / sum}
			}
		}
	})
	st.start = make([]int32, n+1)
	for f := range n {
		for _, p := range all[f] {
			if p.w > 0 {
				st.near, st.share = append(st.near, p.site), append(st.share, p.w)
			}
		}
		st.start[f+1] = int32(len(st.near))
	}
}

// exposed is the exposure of a facet to spheres of a radius, interpolated
// between the rungs by the logarithm of the radius.
func (st *sites) exposed(f int, radius float64) float64 {
	n := len(st.ladder)
	top, x := float64(n-1), 0.0
	if n > 1 {
		x = top * math.Log(radius/st.ladder[0]) / math.Log(st.ladder[n-1]/st.ladder[0])
	}
	x = min(max(x, 0), top)
	k := min(int(x), max(n-2, 0))
	next := min(k+1, n-1)
	w := float32(x - float64(k))
	var sum float32
	for i := st.start[f]; i < st.start[f+1]; i++ {
		o := st.open[n*int(st.near[i]):]
		sum += st.share[i] * (o[k] + w*(o[next]-o[k]))
	}
	return min(float64(sum), 1) // the shares add up to 1 but for rounding
}
