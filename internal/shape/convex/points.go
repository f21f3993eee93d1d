package convex

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
)

// Point is a sample of a body's surface.
type Point struct {
	At r3.Vec
	// Normal is the outward unit normal on a face; zero on an edge or corner, where
	// any direction between those of the faces may be met.
	Normal r3.Vec
}

// bluntEdge is the angle between two faces' normals, radians, up to which the
// edge between them is a mere facet of a round side.
const bluntEdge = 0.3

// Points samples the surface, corners and edges too, no farther apart than about
// spacing mm. Points far from the centre, which are the first to touch
// something, come first.
func (b *Body) Points(spacing float64) []Point {
	var out []Point
	switch {
	case b.ball > 0:
		n := max(12, int(math.Ceil(4*math.Pi*b.ball*b.ball/(spacing*spacing))))
		for i := range n {
			z := 1 - (2*float64(i)+1)/float64(n)
			sin, cos := math.Sincos(float64(i) * goldenAngle)
			side := math.Sqrt(1 - z*z)
			u := r3.Vec{X: side * cos, Y: side * sin, Z: z}
			out = append(out, Point{r3.Scale(b.ball, u), u})
		}
	case b.verts == nil:
		out = b.ringPoints(spacing)
	default:
		out = b.facePoints(spacing)
	}
	slices.SortStableFunc(out, func(p, q Point) int {
		// Rounding must not decide the order of points equally far out.
		const same = 1e-9
		switch d := r3.Norm2(q.At) - r3.Norm2(p.At); {
		case d > same*b.out*b.out:
			return 1
		case d < -same*b.out*b.out:
			return -1
		}
		return 0
	})
	return out
}

// ringPoints goes round in rings.
func (b *Body) ringPoints(spacing float64) []Point {
	var out []Point
	ring := func(r, z float64, n [2]float64) {
		count := max(1, int(math.Ceil(2*math.Pi*r/spacing)))
		for i := range count {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(count))
			out = append(out, Point{r3.Vec{X: r * cos, Y: r * sin, Z: z}, r3.Vec{X: n[0] * cos, Y: n[0] * sin, Z: n[1]}})
		}
	}
	for i := 1; i < len(b.meridian); i++ {
		p, q := b.meridian[i-1], b.meridian[i]
		n, _ := meridianSide(p, q)
		l := math.Hypot(q[0]-p[0], q[1]-p[1])
		parts := max(1, int(math.Ceil(l/spacing)))
		for k := range parts {
			if k == 0 && p[0] > 0 {
				continue // the rim before belongs to the side before
			}
			t := float64(k) / float64(parts)
			ring(p[0]+t*(q[0]-p[0]), p[1]+t*(q[1]-p[1]), n)
		}
		if i+1 < len(b.meridian) || q[0] == 0 && n[0] != 0 {
			ring(q[0], q[1], [2]float64{}) // a rim, or the tip of a cone
		} else if q[0] == 0 {
			ring(0, q[1], n)
		}
	}
	return out
}

// facePoints lays a net over each face and pearls along the sharp edges.
func (b *Body) facePoints(spacing float64) []Point {
	var out []Point
	sharp := make([]bool, len(b.verts))
	for _, e := range b.edges() {
		if e.bend < bluntEdge {
			continue
		}
		p, q := b.verts[e.a], b.verts[e.b]
		parts := max(1, int(math.Ceil(r3.Norm(r3.Sub(q, p))/spacing)))
		for k := 1; k < parts; k++ {
			out = append(out, Point{At: r3.Add(p, r3.Scale(float64(k)/float64(parts), r3.Sub(q, p)))})
		}
		sharp[e.a], sharp[e.b] = true, true
	}
	for i, v := range b.verts {
		if sharp[i] {
			out = append(out, Point{At: v})
		}
	}
	for _, f := range b.faces {
		// Rows along the longest side, so that a narrow face gets one row in its
		// middle.
		var u r3.Vec
		for i, p := range f.loop {
			e := r3.Sub(b.verts[f.loop[(i+1)%len(f.loop)]], b.verts[p])
			if r3.Norm2(e) > r3.Norm2(u)*(1+1e-9) {
				u = e
			}
		}
		u = r3.Unit(u)
		v := r3.Cross(f.normal, u)
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, p := range f.loop {
			lo, hi = math.Min(lo, r3.Dot(b.verts[p], v)), math.Max(hi, r3.Dot(b.verts[p], v))
		}
		rows := max(1, int(math.Ceil((hi-lo)/spacing)))
		for k := range rows {
			y := lo + (hi-lo)*(float64(k)+0.5)/float64(rows)
			left, right := b.across(f, u, v, y)
			cols := max(1, int(math.Ceil((right-left)/spacing)))
			for j := range cols {
				x := left + (right-left)*(float64(j)+0.5)/float64(cols)
				at := r3.Add(r3.Scale(f.off, f.normal), r3.Add(r3.Scale(x, u), r3.Scale(y, v)))
				out = append(out, Point{at, f.normal})
			}
		}
	}
	return out
}

// across is where a row at y enters and leaves a face.
func (b *Body) across(f face, u, v r3.Vec, y float64) (left, right float64) {
	left, right = math.Inf(1), math.Inf(-1)
	for i, p := range f.loop {
		q := f.loop[(i+1)%len(f.loop)]
		yp, yq := r3.Dot(b.verts[p], v)-y, r3.Dot(b.verts[q], v)-y
		if (yp < 0) == (yq < 0) {
			continue
		}
		t := yp / (yp - yq)
		x := (1-t)*r3.Dot(b.verts[p], u) + t*r3.Dot(b.verts[q], u)
		left, right = math.Min(left, x), math.Max(right, x)
	}
	return left, right
}

// Probe is a body's surface as a tree of balls, to be laid into a field. It is
// immutable and any number of goroutines may use it.
type Probe struct {
	Body   *Body
	Points []Point
	nodes  []node
}

// node is a ball about a group of points.
type node struct {
	at    r3.Vec
	reach float64 // radius of the ball
	depth float64 // of its middle below the surface
	skip  int32   // the next node that is not below this one
	point int32   // index of the point of a leaf, else −1
}

// Probe samples the surface no farther apart than about spacing mm; what pokes
// between the points by less than half of it may be missed.
func (b *Body) Probe(spacing float64) *Probe {
	p := &Probe{Body: b, Points: b.Points(spacing)}
	index := make([]int, len(p.Points))
	for i := range index {
		index[i] = i
	}
	p.split(index)
	return p
}

func (p *Probe) split(index []int) {
	at := len(p.nodes)
	p.nodes = append(p.nodes, node{point: -1})
	if len(index) == 1 {
		p.nodes[at] = node{at: p.Points[index[0]].At, skip: int32(at + 1), point: int32(index[0])}
		return
	}
	lo, hi := p.Points[index[0]].At, p.Points[index[0]].At
	for _, i := range index {
		q := p.Points[i].At
		lo = r3.Vec{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y), Z: math.Min(lo.Z, q.Z)}
		hi = r3.Vec{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y), Z: math.Max(hi.Z, q.Z)}
	}
	size := r3.Sub(hi, lo)
	key := func(i int) float64 { return p.Points[i].At.X }
	if size.Y > size.X && size.Y >= size.Z {
		key = func(i int) float64 { return p.Points[i].At.Y }
	} else if size.Z > size.X {
		key = func(i int) float64 { return p.Points[i].At.Z }
	}
	sort.SliceStable(index, func(a, b int) bool { return key(index[a]) < key(index[b]) })
	mid := r3.Scale(0.5, r3.Add(lo, hi))
	reach := 0.0
	for _, i := range index {
		reach = math.Max(reach, r3.Norm(r3.Sub(p.Points[i].At, mid)))
	}
	p.split(index[:len(index)/2])
	p.split(index[len(index)/2:])
	// The middle of a box about points of a convex surface may lie just outside.
	p.nodes[at] = node{mid, reach, math.Max(0, p.Body.depth(mid)), int32(len(p.nodes)), -1}
}
