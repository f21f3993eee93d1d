package hold

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// What of a part's surface a jaw can bear on. Starting guesses, common practice.
const (
	// A wall that leans by more than 30° is pushed out of the jaws, not held.
	leastLean = 0.5
	// A wall that faces more than about 70° away from the clamping force is only
	// rubbed by the jaws.
	leastFacing = 0.3
	// There must be metal just outside the part, and still so far behind that: a
	// sliver of a wall bends away.
	justOutsideMM = 0.05
	backingMM     = 1
	// samplesWanted is about how many samples a surface gets where no spacing is
	// asked for.
	samplesWanted = 4000
)

// Grip is the part's surface that jaws can bear on, as samples.
type Grip struct{ Points []GripPoint }

// GripPoint is a piece of the surface in the vise's frame, with the part in the
// middle of the jaws (at shift 0).
type GripPoint struct {
	At     r3.Vec
	Normal r3.Vec // out of the part
	Area   float64
	Box    geom.Box // of the piece
}

// square is the piece's area square to the clamping force.
func (g GripPoint) square() float64 { return g.Area * math.Abs(g.Normal.Y) }

// Sample takes a part that lies as it will be held, with the jaws' top at z = 0 and
// its shift along the jaws left out, and gives the upright pieces of its surface
// below that: facets divided until none is longer than the spacing, and facets much
// smaller than it put together. A spacing of 0 is chosen to give a few thousand.
func Sample(m *mesh.Mesh, spacing float64) Grip {
	var facets []facet
	total := 0.0
	for t := range m.Tri {
		a, b, c := m.Corners(t)
		n, _ := m.Normal(t)
		if min(a.Z, b.Z, c.Z) >= 0 || n == (r3.Vec{}) || math.Abs(n.Z) >= leastLean {
			continue
		}
		for _, f := range belowTop(a, b, c) {
			_, area := geom.TriangleNormal(f[0], f[1], f[2])
			if area > 0 {
				facets = append(facets, facet{f, n})
				total += area
			}
		}
	}
	if spacing <= 0 {
		// A right triangle of half the spacing's square is the usual piece.
		spacing = max(0.05, math.Sqrt(4*total/samplesWanted))
	}
	g := Grip{Points: make([]GripPoint, 0, len(facets)+int(min(1e6, 3*total/(spacing*spacing))))}
	for _, f := range facets {
		f.divide(spacing, &g)
	}
	g.thin(spacing)
	return g
}

type facet struct {
	at     [3]r3.Vec
	normal r3.Vec
}

// belowTop is the part of a triangle at z ≤ 0, as none, one or two triangles.
func belowTop(a, b, c r3.Vec) [][3]r3.Vec {
	in := [3]r3.Vec{a, b, c}
	var poly []r3.Vec
	for i, p := range in {
		q := in[(i+1)%3]
		if p.Z <= 0 {
			poly = append(poly, p)
		}
		if (p.Z < 0) != (q.Z < 0) && p.Z != 0 && q.Z != 0 {
			poly = append(poly, r3.Add(p, r3.Scale(p.Z/(p.Z-q.Z), r3.Sub(q, p))))
		}
	}
	var out [][3]r3.Vec
	for i := 2; i < len(poly); i++ {
		out = append(out, [3]r3.Vec{poly[0], poly[i-1], poly[i]})
	}
	return out
}

// divide halves a facet across its longest side until that is short enough.
func (f facet) divide(spacing float64, g *Grip) {
	longest, long := 0, 0.0
	for i, p := range f.at {
		if d := r3.Norm2(r3.Sub(f.at[(i+1)%3], p)); d > long {
			longest, long = i, d
		}
	}
	a, b, c := f.at[longest], f.at[(longest+1)%3], f.at[(longest+2)%3]
	if long > spacing*spacing {
		mid := r3.Scale(0.5, r3.Add(a, b))
		facet{[3]r3.Vec{a, mid, c}, f.normal}.divide(spacing, g)
		facet{[3]r3.Vec{mid, b, c}, f.normal}.divide(spacing, g)
		return
	}
	_, area := geom.TriangleNormal(a, b, c)
	if area == 0 {
		return
	}
	g.Points = append(g.Points, GripPoint{
		At:     r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))),
		Normal: f.normal, Area: area,
		Box: geom.EmptyBox().Add(a).Add(b).Add(c),
	})
}

// thin puts the points of each cell of half the spacing that face one way together,
// with the area that they have square to the clamping force. They stand at their
// middle where they lie in one plane, and at the one nearest to it on a round
// surface, which the middle would lie under.
func (g *Grip) thin(spacing float64) {
	cell := spacing / 2
	type key [5]int32
	keyOf := func(p GripPoint) key {
		f := func(x float64) int32 { return int32(math.Floor(x / cell)) }
		// Normals within about 15° in plan.
		return key{
			f(p.At.Z), f(p.At.X), f(p.At.Y), int32(math.Round(math.Atan2(p.Normal.Y, p.Normal.X) * 12 / math.Pi)),
			int32(math.Round(p.Normal.Z * 4)),
		}
	}
	// Cells in the order in which they are first met.
	cellOf := make(map[key]int32, len(g.Points)/2)
	of := make([]int32, len(g.Points))
	var starts []int32
	for i, p := range g.Points {
		k := keyOf(p)
		c, ok := cellOf[k]
		if !ok {
			c = int32(len(starts))
			cellOf[k] = c
			starts = append(starts, 0)
		}
		of[i] = c
		starts[c]++
	}
	sum := int32(0)
	for c, n := range starts {
		starts[c] = sum
		sum += n
	}
	order, next := make([]int32, len(of)), slices.Clone(starts)
	for i, c := range of {
		order[next[c]] = int32(i)
		next[c]++
	}
	out := make([]GripPoint, len(starts))
	for c := range starts {
		out[c] = g.together(order[starts[c]:next[c]])
	}
	g.Points = out
}

func (g *Grip) together(of []int32) GripPoint {
	if len(of) == 1 {
		return g.Points[of[0]]
	}
	var middle r3.Vec
	area, square, box := 0.0, 0.0, geom.EmptyBox()
	for _, i := range of {
		p := g.Points[i]
		middle = r3.Add(middle, r3.Scale(p.Area, p.At))
		area, square, box = area+p.Area, square+p.square(), box.Join(p.Box)
	}
	middle = r3.Scale(1/area, middle)
	best, near := int32(0), math.Inf(1)
	for _, i := range of {
		if d := r3.Norm2(r3.Sub(g.Points[i].At, middle)); d < near {
			best, near = i, d
		}
	}
	p, level := g.Points[best], true
	for _, i := range of {
		level = level && math.Abs(r3.Dot(p.Normal, r3.Sub(g.Points[i].At, middle))) < 1e-6
	}
	if level {
		p.At = middle
	}
	if y := math.Abs(p.Normal.Y); y > leastFacing/2 {
		area = square / y
	}
	p.Area, p.Box = area, box
	return p
}

// offers reports whether a jaw could bear on a point, on which side that jaw
// stands, and where its metal would have to be: just outside the part, and behind.
func (p GripPoint) offers(gap, clearance float64) (at Side, near, behind r3.Vec, ok bool) {
	if math.Abs(p.Normal.Y) <= leastFacing {
		return 0, near, behind, false
	}
	near = r3.Add(p.At, r3.Scale(clearance+justOutsideMM, p.Normal))
	behind = r3.Add(near, r3.Scale(backingMM, p.Normal))
	if p.Normal.Y > 0 {
		return FixedSide, near, behind, near.Y > gap/2
	}
	return MovingSide, near, behind, near.Y < -gap/2
}

// Bearings is what each jaw bears on with the part at the pose's shift, by side.
// relieved reports for a point just outside the part, at shift 0, whether the new
// pocket takes the metal away there; it may be nil. Surface between the jaws' faces,
// where no jaw is, is no loss. ReachMM is that of samples.
func (g Grip) Bearings(fixed, moving *Metal, pose fettle.PocketPose, relieved func(r3.Vec) bool, clearance float64) [2]fettle.Bearing {
	metal := [2]*Metal{fixed, moving}
	var out [2]fettle.Bearing
	var borne [2][]GripPoint
	shift := r3.Vec{X: pose.ShiftMM}
	for _, p := range g.Points {
		at, near, behind, ok := p.offers(pose.GapMM, clearance)
		if !ok {
			continue
		}
		if relieved != nil && relieved(near) ||
			!metal[at].Holds(r3.Add(near, shift)) || !metal[at].Holds(r3.Add(behind, shift)) {
			out[at].LostMM2 += p.square()
			continue
		}
		borne[at] = append(borne[at], p)
	}
	for i := range out {
		bearing(&out[i], borne[i], shift)
		out[i].Jaw = metal[i].Jaw
		if f := metal[i].jaws.ClampN.Value; out[i].AreaMM2 > 0 {
			out[i].PressureMPa = f / out[i].AreaMM2
		}
	}
	return out
}

func bearing(b *fettle.Bearing, borne []GripPoint, shift r3.Vec) {
	var centre r3.Vec
	box := geom.EmptyBox()
	for _, p := range borne {
		b.AreaMM2 += p.square()
		centre = r3.Add(centre, r3.Scale(p.square(), p.At))
		box = box.Join(p.Box)
	}
	if b.AreaMM2 == 0 {
		return
	}
	centre = r3.Scale(1/b.AreaMM2, centre)
	for _, p := range borne {
		b.ReachMM += p.square() * math.Hypot(p.At.X-centre.X, p.At.Z-centre.Z)
	}
	b.ReachMM /= b.AreaMM2
	b.WideMM, b.HighMM = box.Size().X, box.Size().Z
	b.Centre = geom.Array(r3.Add(centre, shift))
}
