package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// sameMoment is how near, relative to the trace, two principal moments must be
// to count as equal. A tessellated round part is within it, a part with a
// recognisable direction is not.
const sameMoment = 1e-6

// principalAxes are the eigenvectors of an inertia tensor in order of rising
// moment, a right-handed set that is the same for the same tensor.
func principalAxes(in [3][3]float64) [3]r3.Vec {
	val, vec := jacobi(in)
	trace := math.Abs(val[0] + val[1] + val[2])
	if trace == 0 {
		return [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	}
	same := func(i, j int) bool { return math.Abs(val[i]-val[j]) <= sameMoment*trace }
	switch {
	case same(0, 1) && same(1, 2):
		vec = [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	case same(0, 1):
		vec[0], vec[1] = plainPair(vec[2])
	case same(1, 2):
		vec[1], vec[2] = plainPair(vec[0])
	}
	return rightHanded(vec)
}

// plainPair are two unit vectors at right angles to n and each other, the
// first as near to a coordinate axis as can be.
func plainPair(n r3.Vec) (r3.Vec, r3.Vec) {
	var best r3.Vec
	for _, a := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		// A margin, so that rounding does not choose between equals.
		if p := r3.Sub(a, r3.Scale(r3.Dot(a, n), n)); r3.Norm(p) > r3.Norm(best)+1e-9 {
			best = p
		}
	}
	best = r3.Unit(best)
	return best, r3.Unit(r3.Cross(n, best))
}

// rightHanded fixes the signs: the greatest component of the first two axes is
// positive, the third is their cross product.
func rightHanded(v [3]r3.Vec) [3]r3.Vec {
	for i := range 2 {
		c := [3]float64{v[i].X, v[i].Y, v[i].Z}
		k := 0
		for j := range c {
			if math.Abs(c[j]) > math.Abs(c[k])+1e-9 {
				k = j
			}
		}
		if c[k] < 0 {
			v[i] = r3.Scale(-1, v[i])
		}
	}
	v[2] = r3.Cross(v[0], v[1])
	return v
}

// jacobi is the cyclic Jacobi eigenvalue method for a symmetric matrix (Golub
// and Van Loan, Matrix Computations, section 8.5), values rising.
func jacobi(a [3][3]float64) (val [3]float64, vec [3]r3.Vec) {
	v := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for range 50 {
		off := a[0][1]*a[0][1] + a[0][2]*a[0][2] + a[1][2]*a[1][2]
		diag := a[0][0]*a[0][0] + a[1][1]*a[1][1] + a[2][2]*a[2][2]
		if off <= 1e-32*diag {
			break
		}
		for _, pq := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
			p, q := pq[0], pq[1]
			if a[p][q] == 0 {
				continue
			}
			tau := (a[q][q] - a[p][p]) / (2 * a[p][q])
			t := 1 / (math.Abs(tau) + math.Hypot(1, tau))
			if tau < 0 {
				t = -t
			}
			c := 1 / math.Hypot(1, t)
			s := t * c
			for k := range 3 {
				a[k][p], a[k][q] = c*a[k][p]-s*a[k][q], s*a[k][p]+c*a[k][q]
			}
			for k := range 3 {
				a[p][k], a[q][k] = c*a[p][k]-s*a[q][k], s*a[p][k]+c*a[q][k]
				v[k][p], v[k][q] = c*v[k][p]-s*v[k][q], s*v[k][p]+c*v[k][q]
			}
		}
	}
	order := [3]int{0, 1, 2}
	for i := range 3 {
		for j := i; j > 0 && a[order[j]][order[j]] < a[order[j-1]][order[j-1]]; j-- {
			order[j], order[j-1] = order[j-1], order[j]
		}
	}
	for i, k := range order {
		val[i] = a[k][k]
		vec[i] = r3.Vec{X: v[0][k], Y: v[1][k], Z: v[2][k]}
	}
	return val, vec
}

// extents are the lengths of the mesh along the axes, and the axes ordered by
// them, longest first.
func extents(m *Mesh, origin r3.Vec, axes [3]r3.Vec) ([3]r3.Vec, [3]float64) {
	part := make([][6]float64, (len(m.Tri)+chunk-1)/chunk)
	chunks(len(m.Tri), func(i, lo, hi int) {
		var r [6]float64
		for k := range 3 {
			r[k], r[k+3] = math.Inf(1), math.Inf(-1)
		}
		for _, t := range m.Tri[lo:hi] {
			for _, v := range t {
				p := r3.Sub(m.Pos[v], origin)
				for k, a := range axes {
					x := r3.Dot(p, a)
					r[k], r[k+3] = min(r[k], x), max(r[k+3], x)
				}
			}
		}
		part[i] = r
	})
	var size [3]float64
	for k := range 3 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, r := range part {
			lo, hi = min(lo, r[k]), max(hi, r[k+3])
		}
		size[k] = hi - lo
	}
	longer := func(i, j int) bool { return size[i] > size[j]*(1+1e-12) }
	for i := range 3 {
		for j := i; j > 0 && longer(j, j-1); j-- {
			size[j], size[j-1] = size[j-1], size[j]
			axes[j], axes[j-1] = axes[j-1], axes[j]
		}
	}
	return rightHanded(axes), size
}
