package block

import (
	"context"
	"math"

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

// seen is a point of the part as the block sees it from a place on a motion.
func (n *nearby) seen(p r3.Vec, m slide.Motion, s float64) r3.Vec {
	return n.f.stand.pose.Back(m.Move(p, -s))
}

// bars reports whether a point that the block sees is in the way of a face there.
func (n *nearby) bars(q r3.Vec) bool {
	return q.Z > -tallMM && q.Z-n.f.rough(plan(q)) < 0.6*n.f.thick
}

// fit narrows and shortens a face, with the rounding of its edge, until nothing is in
// its way over travel to either side: of all pairs of length and width the one with
// the largest area.
func (n *nearby) fit(ctx context.Context, o outline, round, travel float64) (outline, error) {
	const poses = 9
	lists := make([][]r2.Vec, poses)
	half := r2.Vec{X: o.long/2 + round + besideMM, Y: o.wide/2 + round + besideMM}
	err := cores.Each(ctx, poses, func(i int) {
		s := travel * (2*float64(i)/(poses-1) - 1)
		for _, p := range n.pts {
			q := n.seen(p, n.motion, s)
			if math.Abs(q.X) < half.X && math.Abs(q.Y) < half.Y && n.bars(q) {
				lists[i] = append(lists[i], r2.Vec{X: math.Abs(q.X), Y: math.Abs(q.Y)})
			}
		}
	})
	if err != nil {
		return o, err
	}
	// For each length, in steps, the widest that goes.
	const steps = 200
	var nearest [steps + 1]float64
	for i := range nearest {
		nearest[i] = half.Y
	}
	for _, l := range lists {
		for _, p := range l {
			k := min(steps, int(p.X/half.X*steps))
			nearest[k] = min(nearest[k], p.Y)
		}
	}
	best, area := r2.Vec{}, 0.0
	wide := half.Y
	for k := range nearest { // half lengths up to the k-th step have only what lies before it
		if x := half.X * float64(k) / steps; (x-round-besideMM)*(wide-round-besideMM) > area && x > round+besideMM && wide > round+besideMM {
			best, area = r2.Vec{X: x, Y: wide}, (x-round-besideMM)*(wide-round-besideMM)
		}
		wide = min(wide, nearest[k])
	}
	if area == 0 {
		return outline{}, nil
	}
	return outline{2 * (best.X - round - besideMM), 2 * (best.Y - round - besideMM), o.round}, nil
}

// neck is how much longer the neck must be so that the grip stays clear over travel
// to either side. head is the height, from the stand, at which the grip begins.
func (n *nearby) neck(b *body, head, travel float64) float64 {
	g, h := b.grip(), b.head()
	need := 0.0
	for i := range 5 {
		s := travel * (float64(i)/2 - 1)
		for _, p := range n.pts {
			q := n.seen(p, n.motion, s)
			if d := g.depth(plan(q)); d < -underMM || q.Z < -tallMM {
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
	for _, p := range n.pts {
		q := n.seen(p, m, s)
		if q.Z < -tallMM {
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
	const poses = 5
	var least [poses]float64
	err := cores.Each(ctx, poses, func(i int) {
		s := reach * (2*float64(i)/(poses-1) - 1)
		best := float64(tallMM)
		look := func(g *ground, p r3.Vec) {
			// What is deeper within is looked for as far as what is clear.
			if f, ok := g.footWithin(p, max(math.Abs(best), 1)); ok {
				d := f.dist
				if !f.over { // at the rim, where the face was taken off, no side can be told
					d = math.Abs(d)
				}
				best = min(best, d)
			}
		}
		for _, p := range own.mesh.Pos {
			look(whole, motion.Move(pose.Point(p), s))
		}
		for _, p := range pts {
			look(own, pose.Back(motion.Move(p, -s)))
		}
		least[i] = best
	})
	best := math.Inf(1)
	for _, l := range least {
		best = min(best, l)
	}
	return best, err
}
