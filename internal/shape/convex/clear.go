package convex

import (
	"math"

	"fettle/internal/shape/field"

	"gonum.org/v1/gonum/spatial/r3"
)

// Pose is where a body's centre stands and how the body is turned.
type Pose struct {
	At   r3.Vec
	Turn Turn
}

// Clear reports whether a body, so placed, reaches no deeper than tol mm into
// the material of a field. It is as good as the field and as the probe's
// spacing.
func (p *Probe) Clear(f *field.Field, pose Pose, tol float64) bool {
	v := f.Value(pose.At)
	if v >= p.Body.out-tol {
		return true
	}
	if v < p.Body.in-tol {
		return false
	}
	_, _, worst := p.deepest(f, pose, tol, tol)
	return worst >= -tol
}

// deepest looks for the point of the surface that lies deepest in the material,
// more than tol: its index, its place, and the distance there, −tol where there
// is none. It gives up, with −Inf, once it knows that the body reaches deeper
// than most.
//
// The distance changes by no more than one mm in a mm, so that of a ball's
// middle tells whether any point in the ball can be deeper than what is known;
// and where it is less than the middle's own depth in the body, by how much the
// material reaches into the body at least.
func (p *Probe) deepest(f *field.Field, pose Pose, tol, most float64) (int, r3.Vec, float64) {
	worst, which, where := -tol, -1, r3.Vec{}
	for i := 0; i < len(p.nodes); {
		n := &p.nodes[i]
		q := r3.Add(pose.At, pose.Turn.Of(n.at))
		v := f.Value(q)
		switch {
		case v < n.depth-most:
			return which, where, math.Inf(-1)
		case v-n.reach >= worst:
			i = int(n.skip)
		case n.point >= 0:
			which, where, worst = int(n.point), q, v
			i++
		default:
			i++
		}
	}
	return which, where, worst
}

// Room is how far Settle may move a body: mm and radians.
type Room struct{ Shift, Turn float64 }

// settleSteps bounds the pushes; each goes from one contact to the next.
const settleSteps = 5

// Settle moves a body, by no more than room, until it touches no material deeper
// than tol: each time the deepest point is pushed out along the field, the body
// giving way by shifting and turning as a free one would. It reports whether it
// came free, and where.
func (p *Probe) Settle(f *field.Field, pose Pose, tol float64, room Room) (Pose, bool) {
	v := f.Value(pose.At)
	if v >= p.Body.out-tol {
		return pose, true
	}
	if v < p.Body.in-tol-room.Shift {
		return pose, false
	}
	most := tol + room.Shift + room.Turn*p.Body.out
	k2 := 0.4 * p.Body.in * p.Body.out // about the square of its radius of gyration
	at, turned := pose.At, 0.0
	for range settleSteps {
		which, q, worst := p.deepest(f, pose, tol, most)
		if which < 0 && worst >= -tol {
			return pose, true
		}
		if math.IsInf(worst, -1) {
			return pose, false
		}
		n := f.Gradient(q)
		l := r3.Norm(n)
		if l < 0.1 {
			return pose, false // the middle of a wall: no way out of it
		}
		n = r3.Scale(1/l, n)
		arm := r3.Cross(r3.Sub(q, pose.At), n)
		if p.Body.ball > 0 || room.Turn == 0 {
			arm = r3.Vec{}
		}
		push := (-worst - 0.8*tol) / (1 + r3.Norm2(arm)/k2)
		pose.At = r3.Add(pose.At, r3.Scale(push, n))
		spin := r3.Scale(push/k2, arm)
		pose.Turn = pose.Turn.About(spin)
		turned += r3.Norm(spin)
		if r3.Norm(r3.Sub(pose.At, at)) > room.Shift || turned > room.Turn {
			return pose, false
		}
	}
	return pose, false
}

// Contact is a point of a body that touches the material.
type Contact struct {
	At r3.Vec
	// Normal is the direction, a unit vector, in which the material pushes: square
	// to the body's face, or along the field where an edge or corner touches.
	Normal r3.Vec
}

// Contacts lists the points of the surface that lie within band mm of the
// material, or in it.
func (p *Probe) Contacts(f *field.Field, pose Pose, band float64) []Contact {
	var out []Contact
	for i := 0; i < len(p.nodes); {
		n := &p.nodes[i]
		q := r3.Add(pose.At, pose.Turn.Of(n.at))
		v := f.Value(q)
		switch {
		case v-n.reach >= band:
			i = int(n.skip)
			continue
		case n.point >= 0:
			push := r3.Scale(-1, pose.Turn.Of(p.Points[n.point].Normal))
			if push == (r3.Vec{}) {
				push = f.Gradient(q)
				if l := r3.Norm(push); l > 0.1 {
					push = r3.Scale(1/l, push)
				}
			}
			out = append(out, Contact{q, push})
		}
		i++
	}
	return out
}
