package block

import "gonum.org/v1/gonum/spatial/r3"

// Pose says how a block lies on the part: X, Y and Z are the directions of the
// block's frame in the part's, At its origin. The block's Z runs from its grip
// through its face into the part, X along the stroke, Y across.
type Pose struct{ X, Y, Z, At r3.Vec }

// Point is a point of the block's frame in the part's.
func (p Pose) Point(v r3.Vec) r3.Vec { return r3.Add(p.At, p.Direction(v)) }

// Direction is a direction of the block's frame in the part's.
func (p Pose) Direction(v r3.Vec) r3.Vec {
	return r3.Add(r3.Scale(v.X, p.X), r3.Add(r3.Scale(v.Y, p.Y), r3.Scale(v.Z, p.Z)))
}

// Back is a point of the part's frame in the block's.
func (p Pose) Back(v r3.Vec) r3.Vec {
	d := r3.Sub(v, p.At)
	return r3.Vec{X: r3.Dot(d, p.X), Y: r3.Dot(d, p.Y), Z: r3.Dot(d, p.Z)}
}
