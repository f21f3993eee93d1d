package field

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// place sets the vertices of layer k of cells.
func (n *net) place(k int) {
	f := n.f
	nx, nxy := f.N[0], f.N[0]*f.N[1]
	pos := n.pos[k]
	level := n.level
	for _, c := range n.list[k] {
		i, j := int(c.i), int(c.j)
		at := k*nxy + j*nx + i
		d := f.D[at:]
		e := f.D[at+nxy:]
		e = e[:nx+2]
		d = d[:nx+2]
		v := [8]float64{
			float64(d[0]) - level, float64(d[1]) - level, float64(d[nx]) - level, float64(d[nx+1]) - level,
			float64(e[0]) - level, float64(e[1]) - level, float64(e[nx]) - level, float64(e[nx+1]) - level,
		}
		sheets := nets.variant[c.variant].sheets
		for s := range sheets {
			if n.opt.Normals != nil {
				pos[s] = n.sharp(&sheets[s], &v, f.At(i, j, k))
				continue
			}
			m := sheets[s].mean(&v)
			pos[s] = r3.Vec{
				X: f.Origin.X + (float64(i)+m[0])*f.Cell,
				Y: f.Origin.Y + (float64(j)+m[1])*f.Cell,
				Z: f.Origin.Z + (float64(k)+m[2])*f.Cell,
			}
		}
		pos = pos[len(sheets):]
	}
}

// mean is the mean of a sheet's crossings, in cells from corner 0.
func (s *sheet) mean(v *[8]float64) [3]float64 {
	var sum [4]float64
	for _, e := range s.edges {
		sum[e.axis&3] += along(v[e.from&7], v[e.to&7])
	}
	return [3]float64{(s.base[0] + sum[0]) * s.scale, (s.base[1] + sum[1]) * s.scale, (s.base[2] + sum[2]) * s.scale}
}

// along is how far along an edge the value is 0, given those at its ends; half
// way where both are infinite.
func along(a, b float64) float64 {
	t := a / (a - b)
	if !(t >= 0) {
		return 0.5
	}
	return t
}

// Crossings whose normals agree to within this cosine (6°) lie on a smooth
// piece, whose vertex is the mean; directions in which the planes hold the point
// less than this, against the strongest, are left to the mean as well.
const (
	smoothCos = 0.995
	leastHold = 0.02
)

// sharp is the vertex of a sheet where the planes through its crossings meet,
// as nearly as they do. corner is the cell's corner 0 in mm.
func (n *net) sharp(s *sheet, v *[8]float64, corner r3.Vec) r3.Vec {
	var at, dir [12]r3.Vec
	var sum r3.Vec
	for i, e := range s.edges {
		at[i] = n.cross(e, v[e.from], v[e.to], corner)
		dir[i] = n.opt.Normals(at[i])
		sum = r3.Add(sum, at[i])
	}
	k := len(s.edges)
	mean := r3.Scale(s.scale, sum)
	spread := false
	for i := range k {
		for j := range i {
			spread = spread || r3.Dot(dir[i], dir[j]) < smoothCos
		}
	}
	if !spread {
		return mean
	}
	// Least Σ (n·(x − p))² round the mean, without the weak directions.
	var m [3][3]float64
	var right r3.Vec
	for i := range k {
		d := geom.Array(dir[i])
		for p := range 3 {
			for q := range 3 {
				m[p][q] += d[p] * d[q]
			}
		}
		right = r3.Add(right, r3.Scale(r3.Dot(dir[i], r3.Sub(at[i], mean)), dir[i]))
	}
	val, vec := geom.Eigen(m)
	x := mean
	for a := range 3 {
		if val[a] > leastHold*val[2] {
			x = r3.Add(x, r3.Scale(r3.Dot(vec[a], right)/val[a], vec[a]))
		}
	}
	if math.IsNaN(x.X + x.Y + x.Z) {
		return mean
	}
	return n.hold(x, corner)
}

// overshoot is how far past its cell a vertex may go, in cells.
const overshoot = 0.6

// hold keeps a vertex to its cell and a little round it: where the surface's
// edge only grazes the cell and runs on in the next, the planes meet there, and
// a vertex held to the cell itself would dent the edge.
func (n *net) hold(x, corner r3.Vec) r3.Vec {
	more := overshoot * n.f.Cell
	lo, hi := -more, n.f.Cell+more
	return r3.Vec{
		X: corner.X + math.Min(math.Max(x.X-corner.X, lo), hi),
		Y: corner.Y + math.Min(math.Max(x.Y-corner.Y, lo), hi),
		Z: corner.Z + math.Min(math.Max(x.Z-corner.Z, lo), hi),
	}
}

// secants is how often a crossing is sought again with the model's distance.
const secants = 8

// cross is where an edge of a cell is crossed, in mm, a and b being the values
// at its ends.
func (n *net) cross(e cellEdge, a, b float64, corner r3.Vec) r3.Vec {
	cell := n.f.Cell
	from := r3.Add(corner, r3.Scale(cell, r3.Vec{X: float64(e.from & 1), Y: float64(e.from >> 1 & 1), Z: float64(e.from >> 2)}))
	way := r3.Vec{X: cell}
	switch e.axis {
	case 1:
		way = r3.Vec{Y: cell}
	case 2:
		way = r3.Vec{Z: cell}
	}
	t := along(a, b)
	if n.opt.Distance == nil {
		return r3.Add(from, r3.Scale(t, way))
	}
	// Regula falsi; the end that stays twice running counts half (Dowell and
	// Jarratt, BIT 11 (1971) 168).
	lo, hi, last := 0.0, 1.0, 0
	for range secants {
		p := r3.Add(from, r3.Scale(t, way))
		d := n.opt.Distance(p) - n.level
		switch {
		case math.Abs(d) < 1e-4*cell || math.IsNaN(d):
			return p
		case (d < 0) == (a < 0):
			lo, a = t, d
			if last == 1 {
				b /= 2
			}
			last = 1
		default:
			hi, b = t, d
			if last == 2 {
				a /= 2
			}
			last = 2
		}
		t = lo + (hi-lo)*along(a, b)
	}
	return r3.Add(from, r3.Scale(t, way))
}
