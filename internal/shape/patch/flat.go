package patch

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// flats are groups of triangles in one plane: a whole plane of the part, one
// strip of a cylinder, or a single facet of a face that bends both ways.
type flats struct {
	of     []int32 // flat of each triangle
	start  []int32 // triangles of flat f are tris[start[f]:start[f+1]]
	tris   []int32
	normal []r3.Vec
	area   []float64
}

func (f *flats) len() int           { return len(f.normal) }
func (f *flats) at(i int32) []int32 { return f.tris[f.start[i]:f.start[i+1]] }

// height is the smallest height of a triangle.
func (p *Patches) height(t int32) float64 {
	a, b, c := p.Mesh.Corners(int(t))
	long := max(norm2(r3.Sub(b, a)), norm2(r3.Sub(c, b)), norm2(r3.Sub(a, c)))
	if long == 0 {
		return 0
	}
	return 2 * p.Area[t] / math.Sqrt(long)
}

// findFlats groups the triangles, beginning from the tallest, whose planes are
// known best.
func (p *Patches) findFlats() *flats {
	n := len(p.Mesh.Tri)
	f := &flats{of: make([]int32, n), tris: make([]int32, 0, n)}
	for t := range f.of {
		f.of[t] = -1
	}
	g := planeGrower{p: p, f: f}
	for _, seed := range p.byHeight() {
		if f.of[seed] < 0 {
			g.grow(seed)
		}
	}
	f.start = append(f.start, int32(n))
	return f
}

// byHeight orders triangles by falling height, to within a quarter, and by
// number among alike: a counting sort.
func (p *Patches) byHeight() []int32 {
	n := len(p.Mesh.Tri)
	const classes = 256
	class := make([]uint8, n)
	spread(n, func(lo, hi int) {
		for t := lo; t < hi; t++ {
			c := classes / 2
			if h := p.height(int32(t)); h > 0 {
				c -= int(math.Round(3 * math.Log2(h)))
			} else {
				c = classes - 1
			}
			class[t] = uint8(max(0, min(classes-1, c)))
		}
	})
	var start [classes + 1]int
	for _, c := range class {
		start[int(c)+1]++
	}
	for c := range classes {
		start[c+1] += start[c]
	}
	order := make([]int32, n)
	for t, c := range class {
		order[start[c]] = int32(t)
		start[c]++
	}
	return order
}

// planeGrower grows one flat at a time. The plane is fitted anew each time the
// flat has doubled, because that of the first triangle is known only near it.
type planeGrower struct {
	p   *Patches
	f   *flats
	pts []r3.Vec
}

func (g *planeGrower) grow(seed int32) {
	p, f := g.p, g.f
	id := int32(f.len())
	begin := int32(len(f.tris))
	f.start = append(f.start, begin)
	a, b, c := p.Mesh.Corners(int(seed))
	at, normal := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), p.Normal[seed]
	f.normal = append(f.normal, normal)
	f.area = append(f.area, 0)
	reach := p.height(seed)
	f.of[seed] = id
	f.tris = append(f.tris, seed)
	refit := 4
	alike := math.Cos(2 * math.Pi / 180)
	for i := begin; int(i) < len(f.tris); i++ {
		t := f.tris[i]
		f.area[id] += p.Area[t]
		for _, u := range p.Topology.Across[t] {
			if u == mesh.NoTri || f.of[u] >= 0 {
				continue
			}
			if r3.Dot(p.Normal[u], normal) < alike && p.height(u) > 100*p.Rounding {
				continue
			}
			in := true
			for _, v := range p.Mesh.Tri[u] {
				q := r3.Sub(p.Mesh.Pos[v], at)
				away := norm(q)
				tol := 3*p.Rounding + min(4*p.Rounding*away/max(reach, 1e-300), 1e-3*away)
				in = in && math.Abs(r3.Dot(q, normal)) <= tol
			}
			if in {
				f.of[u] = id
				f.tris = append(f.tris, u)
			}
		}
		if n := len(f.tris) - int(begin); n >= refit && int(i)+1 < len(f.tris) {
			refit = 2 * n
			at, normal, reach = g.refit(f.tris[begin:], at, normal, reach)
		}
	}
	f.normal[id] = normal
	if n := len(f.tris) - int(begin); n > 2 {
		_, f.normal[id], _ = g.refit(f.tris[begin:], at, normal, reach)
	}
}

// refit fits the plane to the vertices of some of its triangles.
func (g *planeGrower) refit(tris []int32, at, normal r3.Vec, reach float64) (r3.Vec, r3.Vec, float64) {
	g.pts = g.pts[:0]
	step := max(1, len(tris)/300)
	for i := 0; i < len(tris); i += step {
		for _, v := range g.p.Mesh.Tri[tris[i]] {
			g.pts = append(g.pts, g.p.Mesh.Pos[v])
		}
	}
	s, ok := geom.FitPlane(g.pts, normal)
	if !ok || r3.Dot(s.Axis, normal) < 0.999 {
		return at, normal, reach
	}
	// The narrow extent of the points says how well the tilt is known.
	side := r3.Unit(r3.Cross(s.Axis, longWay(g.pts, s.At)))
	wide := 0.0
	for _, q := range g.pts {
		wide = max(wide, math.Abs(r3.Dot(r3.Sub(q, s.At), side)))
	}
	return s.At, s.Axis, max(reach, wide)
}

// longWay is the direction from c to the farthest point.
func longWay(pts []r3.Vec, c r3.Vec) r3.Vec {
	far, best := r3.Vec{X: 1}, 0.0
	for _, p := range pts {
		if d := norm2(r3.Sub(p, c)); d > best {
			far, best = r3.Sub(p, c), d
		}
	}
	return far
}
