package bvh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// dipole is what the four children of a node look like from far away: each as
// one oriented patch.
type dipole struct {
	mid   [3][width]float32 // centre of its area
	area  [3][width]float32 // sum of its vector areas
	near2 [width]float32    // square of the distance below which it is looked into
}

// faraway is how many times its own radius a cluster must be away to be taken
// as one patch. At 3 every sheet of surface adds an error of 0.02 at most.
const faraway = 3

// Inside reports whether p is inside the solid that the mesh encloses, seen
// counter-clockwise from outside: whether the winding number is above one
// half. It tolerates small holes, overlapping bodies and cavities. On the
// surface itself either answer may come.
func (t *Tree) Inside(p r3.Vec) bool {
	q := r3.Sub(p, t.origin)
	if len(t.nodes) == 0 || q.X < t.box.Min.X || q.Y < t.box.Min.Y || q.Z < t.box.Min.Z ||
		q.X > t.box.Max.X || q.Y > t.box.Max.Y || q.Z > t.box.Max.Z {
		return false
	}
	return t.Winding(p) > 0.5
}

// Winding is the generalised winding number of the surface about p: 1 inside a
// closed mesh, 0 outside, and between where it has holes (Jacobson, Kavan and
// Sorkine-Hornung, "Robust Inside-Outside Segmentation using Generalized
// Winding Numbers", ACM Transactions on Graphics 32(4), 2013). Clusters far
// away count as dipoles (Barill, Dickson, Schmidt, Levin and Jacobson, "Fast
// Winding Numbers for Soups and Clouds", ACM Transactions on Graphics 37(4),
// 2018). The first call prepares them.
func (t *Tree) Winding(p r3.Vec) float64 {
	if len(t.nodes) == 0 {
		return 0
	}
	t.windingOnce.Do(t.makeDipoles)
	p = r3.Sub(p, t.origin)
	q := [3]float64{p.X, p.Y, p.Z}
	x, y, z := float32(p.X), float32(p.Y), float32(p.Z)

	var angle, spread float64 // of triangles, and of dipoles
	var stack [stackSize]int32
	top := 1
	for top > 0 {
		top--
		at := stack[top]
		n, d := &t.nodes[at], &t.dipoles[at]
		for k := range width {
			dx, dy, dz := d.mid[0][k]-x, d.mid[1][k]-y, d.mid[2][k]-z
			r2 := dx*dx + dy*dy + dz*dz
			switch {
			case r2 > d.near2[k]:
				s := dx*d.area[0][k] + dy*d.area[1][k] + dz*d.area[2][k]
				spread += float64(s) / (float64(r2) * math.Sqrt(float64(r2)))
			case n.count[k] == 0:
				stack[top] = n.kid[k]
				top++
			default:
				for i := n.kid[k]; i < n.kid[k]+n.count[k]; i++ {
					angle += solidAngle(&t.tri[i], q)
				}
			}
		}
	}
	return (angle + spread) / (4 * math.Pi)
}

// solidAngle is the signed solid angle of a triangle seen from q, positive from
// behind (Van Oosterom and Strackee, "The Solid Angle of a Plane Triangle",
// IEEE Transactions on Biomedical Engineering 30(2), 1983).
func solidAngle(t *[3]corner, q [3]float64) float64 {
	ax, ay, az := t[0][0]-q[0], t[0][1]-q[1], t[0][2]-q[2]
	bx, by, bz := t[1][0]-q[0], t[1][1]-q[1], t[1][2]-q[2]
	cx, cy, cz := t[2][0]-q[0], t[2][1]-q[1], t[2][2]-q[2]
	a := math.Sqrt(ax*ax + ay*ay + az*az)
	b := math.Sqrt(bx*bx + by*by + bz*bz)
	c := math.Sqrt(cx*cx + cy*cy + cz*cz)
	det := ax*(by*cz-bz*cy) + ay*(bz*cx-bx*cz) + az*(bx*cy-by*cx)
	den := a*b*c + (ax*bx+ay*by+az*bz)*c + (bx*cx+by*cy+bz*cz)*a + (cx*ax+cy*ay+cz*az)*b
	return 2 * math.Atan2(det, den)
}

// cluster is the area of a subtree and its first moment.
type cluster struct {
	size float64
	sum  [3]float64 // of size times centre
	area [3]float64 // vector area
}

func (c *cluster) add(d cluster) {
	c.size += d.size
	for k := range 3 {
		c.sum[k] += d.sum[k]
		c.area[k] += d.area[k]
	}
}

// makeDipoles works from the last node to the first, as children come after
// their parents.
func (t *Tree) makeDipoles() {
	t.dipoles = make([]dipole, len(t.nodes))
	whole := make([]cluster, len(t.nodes))
	for i := len(t.nodes) - 1; i >= 0; i-- {
		n, d := &t.nodes[i], &t.dipoles[i]
		for k := range width {
			var c cluster
			if n.count[k] == 0 {
				if n.lo[0][k] > n.hi[0][k] {
					for a := range 3 {
						d.mid[a][k] = 1e18 // no child: no area, very far away
					}
					continue
				}
				c = whole[n.kid[k]]
			}
			for j := n.kid[k]; j < n.kid[k]+n.count[k]; j++ {
				c.add(patch(&t.tri[j]))
			}
			whole[i].add(c)
			var r2 float64
			for a := range 3 {
				mid := (float64(n.lo[a][k]) + float64(n.hi[a][k])) / 2
				if c.size > 0 {
					mid = c.sum[a] / c.size
				}
				d.mid[a][k] = float32(mid)
				d.area[a][k] = float32(c.area[a])
				r := max(mid-float64(n.lo[a][k]), float64(n.hi[a][k])-mid)
				r2 += r * r
			}
			d.near2[k] = up(faraway * faraway * r2)
		}
	}
}

// patch is the cluster of one triangle.
func patch(t *[3]corner) cluster {
	a, b, c := t[0], t[1], t[2]
	var u, v [3]float64
	for k := range 3 {
		u[k], v[k] = b[k]-a[k], c[k]-a[k]
	}
	n := [3]float64{(u[1]*v[2] - u[2]*v[1]) / 2, (u[2]*v[0] - u[0]*v[2]) / 2, (u[0]*v[1] - u[1]*v[0]) / 2}
	out := cluster{size: math.Sqrt(n[0]*n[0] + n[1]*n[1] + n[2]*n[2]), area: n}
	for k := range 3 {
		out.sum[k] = out.size * (a[k] + b[k] + c[k]) / 3
	}
	return out
}
