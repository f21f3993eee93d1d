package convex

import (
	"math"
	"sort"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// Turn is an orientation: where a body's own axes point.
type Turn struct{ X, Y, Z r3.Vec }

// Upright is the orientation in which a body is described.
var Upright = Turn{r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}}

// Of is where a vector of the body points.
func (t Turn) Of(v r3.Vec) r3.Vec {
	return r3.Vec{
		X: v.X*t.X.X + v.Y*t.Y.X + v.Z*t.Z.X,
		Y: v.X*t.X.Y + v.Y*t.Y.Y + v.Z*t.Z.Y,
		Z: v.X*t.X.Z + v.Y*t.Y.Z + v.Z*t.Z.Z,
	}
}

// Back is the vector of the body that points to v.
func (t Turn) Back(v r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(t.X, v), Y: r3.Dot(t.Y, v), Z: r3.Dot(t.Z, v)}
}

// Then is t followed by u.
func (t Turn) Then(u Turn) Turn { return Turn{u.Of(t.X), u.Of(t.Y), u.Of(t.Z)} }

// About is t turned on about an axis through the centre by |w| radians.
func (t Turn) About(w r3.Vec) Turn {
	angle := r3.Norm(w)
	if angle == 0 {
		return t
	}
	axis := r3.Scale(1/angle, w)
	sin, cos := math.Sincos(angle)
	spin := func(v r3.Vec) r3.Vec {
		along := r3.Scale(r3.Dot(axis, v)*(1-cos), axis)
		return r3.Add(r3.Add(r3.Scale(cos, v), r3.Scale(sin, r3.Cross(axis, v))), along)
	}
	return Turn{spin(t.X), spin(t.Y), spin(t.Z)}
}

// towards is the orientation with the axis Z along a unit vector.
func towards(z r3.Vec) Turn {
	x := geom.Perpendicular(z)
	return Turn{x, r3.Cross(z, x), z}
}

// quat is a unit quaternion, the real part first.
type quat [4]float64

func (p quat) times(q quat) quat {
	return quat{
		p[0]*q[0] - p[1]*q[1] - p[2]*q[2] - p[3]*q[3],
		p[0]*q[1] + p[1]*q[0] + p[2]*q[3] - p[3]*q[2],
		p[0]*q[2] - p[1]*q[3] + p[2]*q[0] + p[3]*q[1],
		p[0]*q[3] + p[1]*q[2] - p[2]*q[1] + p[3]*q[0],
	}
}

func (p quat) dot(q quat) float64 { return p[0]*q[0] + p[1]*q[1] + p[2]*q[2] + p[3]*q[3] }

func (p quat) turn() Turn {
	w, x, y, z := p[0], p[1], p[2], p[3]
	return Turn{
		X: r3.Vec{X: 1 - 2*(y*y+z*z), Y: 2 * (x*y + w*z), Z: 2 * (x*z - w*y)},
		Y: r3.Vec{X: 2 * (x*y - w*z), Y: 1 - 2*(x*x+z*z), Z: 2 * (y*z + w*x)},
		Z: r3.Vec{X: 2 * (x*z + w*y), Y: 2 * (y*z - w*x), Z: 1 - 2*(x*x+y*y)},
	}
}

const goldenAngle = 2.399963229728653 // π·(3 − √5)

// Turns are orientations of one body, spread evenly, no two of which look alike.
type Turns struct {
	List []Turn
	Near [][]int32 // for each, those next to it
	Step float64   // radians from one to the next, about
}

// Turns lists about n orientations in which the body looks different: for a
// round one, n directions of its axis along a spiral on the sphere, or the half
// sphere where both ends are alike, beginning with the upright one; else
// quaternions along a super-Fibonacci spiral (M. Alexa, Super-Fibonacci spirals,
// CVPR 2022), of which those that its symmetry repeats are left out.
func (b *Body) Turns(n int) Turns {
	switch {
	case b.ball > 0:
		return Turns{List: []Turn{Upright}, Near: [][]int32{nil}, Step: math.Pi}
	case b.verts == nil:
		return b.axes(n)
	}
	return b.spins(n)
}

func (b *Body) axes(n int) Turns {
	t := Turns{Step: math.Sqrt(4 * math.Pi / float64(n))}
	span := 2.0
	if b.endAlike {
		t.Step, span = math.Sqrt(2*math.Pi/float64(n)), 1
	}
	for i := range n {
		// The upright pose is the one in which most pieces enter most openings.
		z := 1 - span*float64(i)/(float64(n)-0.5)
		sin, cos := math.Sincos(float64(i) * goldenAngle)
		side := math.Sqrt(1 - z*z)
		t.List = append(t.List, towards(r3.Vec{X: side * cos, Y: side * sin, Z: z}))
	}
	t.near(6, func(i, j int) float64 {
		d := r3.Dot(t.List[i].Z, t.List[j].Z)
		if b.endAlike {
			d = math.Abs(d)
		}
		return d
	})
	return t
}

func (b *Body) spins(n int) Turns {
	total := n * len(b.symmetry)
	// SO(3), measured by angles of turning, holds 8π².
	t := Turns{Step: math.Cbrt(8 * math.Pi * math.Pi / float64(total))}
	var qs []quat
	for i := range total {
		s := float64(i) + 0.5
		const phi, psi = math.Sqrt2, 1.533751168755204288118041
		in, out := math.Sqrt(s/float64(total)), math.Sqrt(1-s/float64(total))
		sa, ca := math.Sincos(2 * math.Pi * s / phi)
		sb, cb := math.Sincos(2 * math.Pi * s / psi)
		q := quat{in * sa, in * ca, out * sb, out * cb}
		if b.first(q) {
			qs = append(qs, q)
			t.List = append(t.List, q.turn())
		}
	}
	t.near(10, func(i, j int) float64 {
		most := 0.0
		for _, g := range b.symmetry {
			most = math.Max(most, math.Abs(qs[i].dot(qs[j].times(g))))
		}
		return most
	})
	return t
}

// first reports whether, of the orientations that look like q, q is the one
// least turned.
func (b *Body) first(q quat) bool {
	for _, g := range b.symmetry[1:] {
		if math.Abs(q.times(g)[0]) > math.Abs(q[0]) {
			return false
		}
	}
	return true
}

// near links each orientation with the k that like gives the highest marks, both
// ways.
func (t *Turns) near(k int, like func(i, j int) float64) {
	n := len(t.List)
	linked := make([]bool, n*n)
	marks := make([]float64, n)
	order := make([]int, 0, n)
	for i := range n {
		order = order[:0]
		for j := range n {
			if j != i {
				marks[j] = like(i, j)
				order = append(order, j)
			}
		}
		sort.SliceStable(order, func(a, b int) bool { return marks[order[a]] > marks[order[b]] })
		for _, j := range order[:min(k, len(order))] {
			linked[i*n+j], linked[j*n+i] = true, true
		}
	}
	t.Near = make([][]int32, n)
	for i := range n {
		for j := range n {
			if linked[i*n+j] {
				t.Near[i] = append(t.Near[i], int32(j))
			}
		}
	}
}
