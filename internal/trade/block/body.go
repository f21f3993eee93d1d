package block

import (
	"context"
	"math"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Measures of a block that is held in one hand, mm: starting guesses.
const (
	gripLong, gripWide   = 45.0, 22.0 // least
	gripLongest          = 70.0
	gripWidest           = 34.0
	gripHigh             = 25.0
	gripRound            = 6.0  // of its upright edges
	footChamfer          = 1.2  // at 45°, where it stands on the printer's bed
	footRound            = 4.0  // from there into the upright
	neckRound            = 5.0  // where grip and head run into each other
	headLow              = 1.5  // upright stretch under the slot
	slotDeep             = 8.0  // along the slot
	slotRoom             = 1.0  // besides two thicknesses of paper
	lipHigh              = 2.5  // least material over the slot
	letterRaised         = 0.6  // of the text
	leastSlotted         = 24.0 // length of a head below which it gets no slot
	letterHigh, letterLo = 5.5, 2.5
)

// body is a block as a solid: a face that is a height over the plan, on a head with
// upright sides, on a grip. It is printed as it stands, grip down; nothing but the
// text leans out by more than 45°.
type body struct {
	face         outline // without the rounding of its edge
	round        float64 // of the edge, all round
	stepX, stepY float64 // of the face's vertices
	// z is the height of the face over a place in plan, from any level; it is asked on
	// several cores at once.
	z    func(p r2.Vec) float64
	slot float64 // room between the slot's walls; 0 for none
	neck float64 // more height between grip and head
	text [2][]string
	like *made // a build of the same face, whose heights need not be found again
}

// made is a body's mesh and what is where in it.
type made struct {
	mesh *mesh.Mesh
	// raise is how far the heights of z were raised.
	raise float64
	// face0 to face1 are the vertices of the face, of which the first rim lie on its
	// border; tri0 to tri1 its facets.
	face0, face1, rim, tri0, tri1 int
	// edge1 is where the vertices of the rounded edge end that begin at face1.
	edge1    int
	z, slope []float64 // of the face, as they were found
	// head is the height at which the head begins; grip the outline below, bare whether
	// text was left out for want of room.
	head, top float64
	grip      outline
	bare      bool
}

// head is the outline of the block under its face.
func (b *body) head() outline { return b.face.inset(-b.round) }

// grip is what is held: as long and wide as the head where a hand can span that.
func (b *body) grip() outline {
	h := b.head()
	g := outline{min(max(h.long, gripLong), gripLongest), min(max(h.wide, gripWide), gripWidest), gripRound}
	if h.wide > h.long {
		g.long, g.wide = min(max(h.long, gripWide), gripWidest), min(max(h.wide, gripLong), gripLongest)
	}
	return g
}

// build puts the solid together from the top down: face, rounded edge, slot, neck,
// grip. Errors are the context's and those of the triangulation.
func (b *body) build(ctx context.Context, write letters) (*made, error) {
	s := &solid{}
	m := &made{grip: b.grip()}
	head := b.head()
	sx := head.long/2 - slotDeep/math.Sqrt2 // where the slot ends
	var marks []float64
	if b.slot > 0 {
		marks = []float64{sx}
	}
	corner := max(6, int(math.Ceil(head.round*math.Pi/2/min(b.stepX, b.stepY))))
	at := b.face.stations(b.stepX, b.stepY, min(corner, 24), marks...)

	rim, err := b.faceAndEdge(ctx, s, m, at)
	if err != nil {
		return nil, err
	}
	// Heights from here on are final: the lowest places of the top decide.
	low := math.Inf(1) // the highest that the slot's inner end, or the head's foot, may be
	gap := b.slot * math.Sqrt2
	for v, p := range s.Pos {
		if v < m.face1 && v >= m.face0+m.rim { // the inside of the face
			low = min(low, p.Z-headLow)
		} else {
			low = min(low, p.Z-lipHigh)
		}
		if x := math.Abs(p.X); b.slot > 0 {
			if x >= sx {
				low = min(low, p.Z-(x-sx)-gap-lipHigh)
			}
			if v >= m.face1 {
				low = min(low, p.Z-gap-0.5)
			}
		}
	}
	foot := footChamfer + footRound*math.Sqrt2/2
	shape := b.neckShape(m.grip, head)
	neckTop := gripHigh + shape[len(shape)-1][1] + b.neck
	m.head = neckTop
	lift := headLow
	if b.slot == 0 {
		lift = 0.5
	}
	m.raise = neckTop + lift - low
	for v := range s.Pos {
		s.Pos[v].Z += m.raise
		m.top = max(m.top, s.Pos[v].Z)
	}
	below := rim
	if b.slot > 0 {
		if below, err = b.cutSlot(s, rim, at, sx, neckTop+lift, gap); err != nil {
			return nil, err
		}
		// A level ring with the same stations, because the slot's leans.
		r := s.ring(head.loop(at), func(int) float64 { return neckTop + lift/2 })
		s.wall(r, below, nil)
		below = r
	}

	// Neck and grip on fewer stations.
	coarse := m.grip.stations(3, 3, 8)
	rings := func(o outline, z float64) ring {
		return s.ring(o.loop(coarse), func(int) float64 { return z })
	}
	last := rings(head, neckTop)
	s.zip(last, below, coarse, at)
	if b.neck > 0 {
		r := rings(head, neckTop-b.neck)
		s.wall(r, last, nil)
		last = r
	}
	for i := len(shape) - 2; i >= 0; i-- {
		r := rings(m.grip.blend(head, shape[i][0]), gripHigh+shape[i][1])
		s.wall(r, last, nil)
		last = r
	}
	base := rings(m.grip, foot)
	if m.bare, err = b.sides(s, m.grip, base, last, coarse, write); err != nil {
		return nil, err
	}
	last = base
	const n = 5
	for i := 1; i <= n; i++ {
		a := math.Pi / 4 * float64(i) / n
		r := rings(m.grip.inset(footRound*(1-math.Cos(a))), foot-footRound*math.Sin(a))
		s.wall(r, last, nil)
		last = r
	}
	r := rings(m.grip.inset(footRound*(1-math.Sqrt2/2)+footChamfer), 0)
	s.wall(r, last, nil)
	if err := s.fill(level(false), nil, r); err != nil {
		return nil, err
	}
	m.mesh = &s.Mesh
	return m, nil
}

// neckShape is the profile between grip and head, from the grip up. At the corners
// outlines move farther than at the sides, unless their radius grows as well.
func (b *body) neckShape(grip, head outline) [][2]float64 {
	dx, dy, dr := (head.long-grip.long)/2, (head.wide-grip.wide)/2, head.round-grip.round
	d := 0.0
	for i := range 17 {
		a := math.Pi / 2 * float64(i) / 16
		d = max(d, math.Abs((dx-dr)*math.Cos(a)+(dy-dr)*math.Sin(a)+dr))
	}
	if d < 1e-3 {
		return [][2]float64{{0, 0}, {1, 1}}
	}
	shape := stroke45(d, neckRound, 5)
	for i := range shape {
		shape[i][1] *= 1.08 // facets at the corners lean a little more than what they stand for
	}
	return shape
}

// faceAndEdge makes the face and its rounded edge; it gives the lowest ring of the
// edge.
func (b *body) faceAndEdge(ctx context.Context, s *solid, m *made, at []station) (ring, error) {
	type spot struct{ p, n r2.Vec }
	rim := make([]spot, len(at))
	for i, t := range at {
		rim[i].p, rim[i].n = b.face.at(t)
	}
	inner := b.grid()
	z := make([]float64, len(rim)+len(inner))
	slope := make([]float64, len(rim))
	if b.like != nil && len(b.like.z) == len(z) {
		z, slope = b.like.z, b.like.slope
		return b.edge(s, m, at, inner, z, slope)
	}
	err := cores.Batches(ctx, len(z), 256, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			if i >= len(rim) {
				z[i] = b.z(inner[i-len(rim)])
				continue
			}
			const e = 0.25
			r := rim[i]
			z[i] = b.z(r.p)
			in, deep := b.z(r2.Sub(r.p, r2.Scale(e, r.n))), b.z(r2.Sub(r.p, r2.Scale(2*e, r.n)))
			slope[i] = max(-1.2, min(1.2, (3*z[i]-4*in+deep)/(2*e)))
		}
	})
	if err != nil {
		return nil, err
	}
	return b.edge(s, m, at, inner, z, slope)
}

// edge puts the face together from its heights, the rim's first, and rounds its edge.
func (b *body) edge(s *solid, m *made, at []station, inner []r2.Vec, z, slope []float64) (ring, error) {
	m.z, m.slope = z, slope
	rim := b.face.loop(at)
	outer := make(ring, len(rim))
	for i, p := range rim {
		outer[i] = s.point(r3.Vec{X: p.X, Y: p.Y, Z: z[i]})
	}
	ids := make([]uint32, len(inner))
	for i, p := range inner {
		ids[i] = s.point(r3.Vec{X: p.X, Y: p.Y, Z: z[len(rim)+i]})
	}
	m.face0, m.face1, m.rim = 0, len(s.Pos), len(rim)
	// Seen so that its steps are alike, or a face that bends one way only would be cut
	// into facets across several of its rows.
	seen := level(true)
	seen.x.X = b.stepY / b.stepX
	if err := s.fill(seen, ids, outer); err != nil {
		return nil, err
	}
	m.tri1 = len(s.Tri)

	// The edge goes on as the face does at its rim, less a quarter round.
	last := outer
	const n = 6
	for k := 1; k <= n; k++ {
		a := math.Pi / 2 * float64(k) / n
		out, drop := b.round*math.Sin(a), b.round*(1-math.Cos(a))
		o := b.face.inset(-out)
		r := s.ring(o.loop(at), func(i int) float64 { return z[i] + slope[i]*out - drop })
		s.wall(r, last, nil)
		last = r
	}
	m.edge1 = len(s.Pos)
	return last, nil
}

// grid is the places of the face's vertices inside its rim, row by row to and fro.
func (b *body) grid() []r2.Vec {
	nx, ny := max(1, int(math.Ceil(b.face.long/b.stepX))), max(1, int(math.Ceil(b.face.wide/b.stepY)))
	dx, dy := b.face.long/float64(nx), b.face.wide/float64(ny)
	clear := 0.35 * min(dx, dy)
	var list []r2.Vec
	for j := 1; j < ny; j++ {
		for i := 1; i < nx; i++ {
			x := i
			if j%2 == 0 {
				x = nx - i
			}
			p := r2.Vec{X: -b.face.long/2 + float64(x)*dx, Y: -b.face.wide/2 + float64(j)*dy}
			if b.face.depth(p) > clear {
				list = append(list, p)
			}
		}
	}
	return list
}

// cutSlot makes the head's sides from the rim down to under the slot at both ends:
// it leans inwards and down at 45°, so that its roof is printed without support and
// paper bends round its mouth by no more than it must. It gives the ring under it.
func (b *body) cutSlot(s *solid, rim ring, at []station, sx, z, gap float64) (ring, error) {
	loop := b.head().loop(at)
	// Where |x| is more than sx by rounding only, the ring must not lean yet.
	lean := func(i int) float64 { return max(0, math.Abs(loop[i].X)-sx) }
	upper := s.ring(loop, func(i int) float64 { return z + gap + lean(i) })
	lower := s.ring(loop, func(i int) float64 { return z + lean(i) })
	s.wall(upper, rim, nil)

	// ends[0] is the run of stations round the end at +x, from mark to mark, ends[1]
	// that at −x.
	n := len(at)
	var ends [2][]int
	for e, sign := range [2]float64{1, -1} {
		first := -1
		for i := range n {
			if h := (i + n - 1) % n; sign*loop[i].X > sx-1e-9 && sign*loop[h].X <= sx-1e-9 {
				first = i
			}
		}
		for i := first; sign*loop[i%n].X > sx-1e-9; i++ {
			ends[e] = append(ends[e], i%n)
		}
	}
	pieces := max(1, int(math.Round(b.head().wide/2)))
	// across are the vertices between the marks of an end, from the first mark to the
	// last.
	across := func(e int, r ring, height float64) ring {
		a, c := loop[ends[e][0]], loop[ends[e][len(ends[e])-1]]
		list := ring{r[ends[e][0]]}
		for k := 1; k < pieces; k++ {
			p := r2.Add(a, r2.Scale(float64(k)/float64(pieces), r2.Sub(c, a)))
			list = append(list, s.point(r3.Vec{X: p.X, Y: p.Y, Z: height}))
		}
		return append(list, r[ends[e][len(ends[e])-1]])
	}
	web := [2]ring{}
	for k, r := range []ring{lower, upper} {
		height := z + float64(k)*gap
		for e := range ends {
			chord := across(e, r, height)
			shelf := ring{}
			for _, i := range ends[e] {
				shelf = append(shelf, r[i])
			}
			for i := len(chord) - 2; i > 0; i-- {
				shelf = append(shelf, chord[i])
			}
			if err := s.fill(level(k == 0), nil, shelf); err != nil {
				return nil, err
			}
			web[k] = append(web[k], chord...)
			from, to := ends[e][len(ends[e])-1], ends[1-e][0]
			for i := (from + 1) % n; i != to; i = (i + 1) % n {
				web[k] = append(web[k], r[i])
			}
		}
	}
	s.wall(web[0], web[1], nil)
	return lower, nil
}
