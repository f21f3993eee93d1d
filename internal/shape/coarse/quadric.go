package coarse

import "gonum.org/v1/gonum/spatial/r3"

// quadric is the sum of squared distances to weighted planes, as a function of the place:
// p·A·p + 2 b·p + c with the upper half of A.
type quadric struct{ xx, xy, xz, yy, yz, zz, bx, by, bz, c float64 }

// plane adds a plane through p with a unit normal.
func (q *quadric) plane(n, p r3.Vec, weight float64) {
	d := -r3.Dot(n, p)
	q.xx += weight * n.X * n.X
	q.xy += weight * n.X * n.Y
	q.xz += weight * n.X * n.Z
	q.yy += weight * n.Y * n.Y
	q.yz += weight * n.Y * n.Z
	q.zz += weight * n.Z * n.Z
	q.bx += weight * n.X * d
	q.by += weight * n.Y * d
	q.bz += weight * n.Z * d
	q.c += weight * d * d
}

func (q *quadric) add(o *quadric) {
	q.xx += o.xx
	q.xy += o.xy
	q.xz += o.xz
	q.yy += o.yy
	q.yz += o.yz
	q.zz += o.zz
	q.bx += o.bx
	q.by += o.by
	q.bz += o.bz
	q.c += o.c
}

func (q *quadric) at(p r3.Vec) float64 {
	return p.X*(q.xx*p.X+2*(q.xy*p.Y+q.xz*p.Z+q.bx)) + p.Y*(q.yy*p.Y+2*(q.yz*p.Z+q.by)) + p.Z*(q.zz*p.Z+2*q.bz) + q.c
}
