package block

import (
	"context"
	"math"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/slide"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Room that a block keeps from what it is not made for, mm.
const (
	besideMM = 0.3 // between its sides and a wall
	underMM  = 1.0 // between its grip and what stands up beside the patch
	tallMM   = 90  // no block is taller
	longNeck = 35.0
)

// scatter are points on the facets of a part that are not the patch's, no farther
// than about gap apart, which a block must not touch.
func scatter(m *mesh.Mesh, patch []int32, gap float64) []r3.Vec {
	own := make([]bool, len(m.Tri))
	corner := make([]bool, len(m.Pos))
	for _, t := range patch {
		own[t] = true
		for _, v := range m.Tri[t] {
			corner[v] = true
		}
	}
	var pts []r3.Vec
	seen := make([]bool, len(m.Pos))
	for t, tri := range m.Tri {
		if own[t] {
			continue
		}
		for _, v := range tri {
			if !seen[v] && !corner[v] {
				seen[v] = true
				pts = append(pts, m.Pos[v])
			}
		}
		a, b, c := m.Corners(t)
		long := math.Sqrt(max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c))))
		n := min(400, int(math.Ceil(long/gap)))
		for i := range n + 1 {
			for j := range n + 1 - i {
				if k := n - i - j; max(i, j, k) == n {
					continue // a corner
				}
				u, v := float64(i)/float64(n), float64(j)/float64(n)
				pts = append(pts, r3.Add(r3.Scale(1-u-v, a), r3.Add(r3.Scale(u, b), r3.Scale(v, c))))
			}
		}
	}
	return pts
}

// about are the points that may come near a block of some reach round a pose.
func about(pts []r3.Vec, p Pose, reach float64) []r3.Vec {
	var in []r3.Vec
	for _, q := range pts {
		if b := p.Back(q); math.Hypot(b.X, b.Y) < reach && math.Abs(b.Z) < reach {
			in = append(in, q)
		}
	}
	return in
}

// nearby is what stands round a block on its stroke.
type nearby struct {
	f      *face
	motion slide.Motion
	pts    []r3.Vec
}

// along is where a block at a pose comes when it is moved.
func (p Pose) along(m slide.Motion, s float64) Pose {
	return Pose{m.Turned(p.X, s), m.Turned(p.Y, s), m.Turned(p.Z, s), m.Move(p.At, s)}
}

// apart is how far a point that the block sees must stay out of a face with an edge
// rounded so: 0 where it is no hindrance. The edge falls away as a quarter round.
func (n *nearby) apart(q r3.Vec, round float64) float64 {
	if q.Z < -tallMM {
		return 0
	}
	low := 0.6*n.f.thick - (q.Z - n.f.rough(plan(q)))
	switch {
	case low <= 0:
		return 0
	case low < 0.8*round:
		return math.Sqrt(round*round - (round-low)*(round-low))
	}
	return round + besideMM
}

// fit narrows and shortens a face, with the rounding of its edge, until nothing is in
// its way over travel to either side and it leans nowhere too much against the press:
// of all pairs of length and width the one with the largest area over the patch.
func (n *nearby) fit(ctx context.Context, o outline, round, travel float64, fixed [2]bool) (outline, error) {
	const poses = 9
	lists := make([][]r2.Vec, poses+1)
	half := r2.Vec{X: o.long / 2, Y: o.wide / 2}
	room := round + besideMM
	err := cores.Each(ctx, poses, func(i int) {
		pose := n.f.stand.pose.along(n.motion, travel*(2*float64(i)/(poses-1)-1))
		for _, p := range n.pts {
			q := pose.Back(p)
			if math.Abs(q.X) < half.X+room && math.Abs(q.Y) < half.Y+room {
				if e := n.apart(q, round); e > 0 {
					lists[i] = append(lists[i], r2.Vec{X: max(0, math.Abs(q.X)-e), Y: max(0, math.Abs(q.Y)-e)})
				}
			}
		}
	})
	if err != nil {
		return o, err
	}
	// Over how much of the patch each place of the net lies: wholly at rest, by half
	// when stroked.
	const steps = 60
	var some, all [steps + 1][steps + 1]float64
	bin := func(p r2.Vec) (i, j int) {
		return int(math.Ceil(math.Abs(p.X)/half.X*steps - 1e-9)), int(math.Ceil(math.Abs(p.Y)/half.Y*steps - 1e-9))
	}
	for k, pass := range n.f.pass {
		p := n.f.node(k%n.f.nx, k/n.f.nx)
		i, j := bin(p)
		if i > steps || j > steps {
			continue
		}
		all[i][j]++
		switch {
		case pass == at0:
			some[i][j]++
		case pass.motion >= 0:
			some[i][j] += 0.5
		}
		if n.f.steep[k] {
			lists[poses] = append(lists[poses], r2.Vec{X: math.Abs(p.X), Y: math.Abs(p.Y)})
		}
	}
	var widest [steps + 1]float64
	for i := range widest {
		widest[i] = half.Y
	}
	for _, l := range lists {
		for _, p := range l {
			// In the way of all lengths that go past it.
			for k := int(p.X/half.X*steps) + 1; k <= steps; k++ {
				widest[k] = min(widest[k], p.Y)
			}
		}
	}
	for i := range steps + 1 { // sums over rectangles round the middle
		for j := range steps + 1 {
			for _, t := range []*[steps + 1][steps + 1]float64{&some, &all} {
				if i > 0 {
					t[i][j] += t[i-1][j]
				}
				if j > 0 {
					t[i][j] += t[i][j-1]
				}
				if i > 0 && j > 0 {
					t[i][j] -= t[i-1][j-1]
				}
			}
		}
	}
	best, most := outline{}, 0.0
	for i := 1; i <= steps; i++ {
		if fixed[0] && i < steps {
			continue
		}
		for j := 1; j <= steps; j++ {
			x, y := half.X*float64(i)/steps, half.Y*float64(j)/steps
			if y > widest[i]+1e-9 {
				break
			}
			if fixed[1] && j < steps {
				continue
			}
			share := some[i][j] / max(1, all[i][j])
			if v := x * y * share * share; v > most*(1+1e-6) {
				most, best = v, outline{2 * x, 2 * y, o.round}
			}
		}
	}
	return best, nil
}

// neck is how much longer the neck must be so that the grip stays clear over travel
// to either side. head is the height, from the stand, at which the grip begins.
func (n *nearby) neck(b *body, head, travel float64) float64 {
	g, h := b.grip(), b.head()
	need := 0.0
	for i := range 5 {
		pose := n.f.stand.pose.along(n.motion, travel*(float64(i)/2-1))
		for _, p := range n.pts {
			q := pose.Back(p)
			if q.Z < -tallMM || !g.beside(q, underMM) || g.depth(plan(q)) < -underMM {
				continue
			}
			out := -h.depth(plan(q))
			if out < besideMM { // under the face: the face's own matter
				continue
			}
			need = max(need, head-0.8*out+underMM-q.Z)
		}
	}
	return need
}

// free reports whether the block, as made, clears everything at a place on a motion.
func (n *nearby) free(b *body, head float64, m slide.Motion, s float64) bool {
	g, h := b.grip(), b.head()
	pose := n.f.stand.pose.along(m, s)
	for _, p := range n.pts {
		q := pose.Back(p)
		if q.Z < -tallMM || !g.beside(q, 0) && !h.beside(q, 1) {
			continue
		}
		at := plan(q)
		if d := h.depth(at); d > -besideMM/2 {
			top := n.f.rough(at)
			if d < b.round {
				e := b.round - max(0, d)
				top -= b.round - math.Sqrt(max(0, b.round*b.round-e*e))
			}
			if q.Z-top < 0.3*n.f.thick {
				return false
			}
		} else if g.depth(at) > 0 && q.Z < head+0.8*d {
			return false
		}
	}
	return true
}

// clearance is the least distance between the part and all of a block but its face
// and the rounding of its edge, at places on its stroke; below 0 where they run into
// each other. The block's mesh lies in its own frame, pose is where that is at rest.
func clearance(ctx context.Context, m *made, pose Pose, whole *ground, pts []r3.Vec, motion slide.Motion, reach float64) (float64, error) {
	var rest []int32
	for t, tri := range m.mesh.Tri {
		if t >= m.tri1 && min(tri[0], tri[1], tri[2]) >= uint32(m.edge1-m.rim) {
			rest = append(rest, int32(t))
		}
	}
	own := newGround(m.mesh, rest)
	all := groundOf(m.mesh, mesh.NewTopology(m.mesh), bvh.Build(m.mesh))
	const poses = 5
	var least [poses]float64
	err := cores.Each(ctx, poses, func(i int) {
		s := reach * (2*float64(i)/(poses-1) - 1)
		best := float64(tallMM)
		there := pose.along(motion, s)
		for _, p := range own.mesh.Pos {
			// What is deeper within is looked for as far as what is clear.
			if f, ok := whole.footWithin(there.Point(p), max(math.Abs(best), 1)); ok {
				best = min(best, f.dist)
			}
		}
		for _, p := range pts {
			q := there.Back(p)
			f, ok := all.footWithin(q, max(math.Abs(best), 1))
			switch {
			case !ok:
			case f.dist < 0:
				best = min(best, f.dist)
			default: // outside: its distance from the face does not count
				if f, ok := own.footWithin(q, max(best, 1e-9)); ok {
					best = min(best, math.Abs(f.dist))
				}
			}
		}
		least[i] = best
	})
	best := math.Inf(1)
	for _, l := range least {
		best = min(best, l)
	}
	return best, err
}
