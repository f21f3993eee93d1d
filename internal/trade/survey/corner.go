package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	leastCorner = 1e-3 // shortest inside corner that is told, as a share of the diagonal
	// A hollow that turns further than this is the end of a slot or a bore, not a
	// corner between two faces.
	fullestCorner = 150.0
	leastTurn     = 15.0 // degrees that a rounded corner turns at least
)

// corners lists the inside corners, the tightest first: sharp valleys between
// faces, and hollow fillets.
func (s *surveyor) corners(zones []fettle.Zone, openings []fettle.Opening) []fettle.Corner {
	var out []fettle.Corner
	for _, edges := range s.valleys() {
		if c, ok := s.valley(edges); ok {
			c.Zone, c.Opening = s.whose(edges, zones, openings)
			out = append(out, c)
		}
	}
	for f := range s.p.Faces {
		c, ok := s.fillet(int32(f))
		if !ok {
			continue
		}
		c.Zone = zones[s.zone[s.p.Faces[f].Tris[len(s.p.Faces[f].Tris)/2]]].ID
		if o := s.of[f]; o >= 0 {
			c.Opening = openings[o].ID
		}
		out = append(out, c)
	}
	grid := func(v float64) float64 { return math.Round(v * 1e3) }
	slices.SortStableFunc(out, func(a, b fettle.Corner) int {
		return cmp.Or(cmp.Compare(grid(a.RadiusMM), grid(b.RadiusMM)), cmp.Compare(grid(b.LengthMM), grid(a.LengthMM)),
			cmp.Compare(grid(b.At[0]), grid(a.At[0])), cmp.Compare(grid(b.At[1]), grid(a.At[1])), cmp.Compare(grid(b.At[2]), grid(a.At[2])))
	})
	for i := range out {
		out[i].ID = fmt.Sprintf("corner-%d", i+1)
	}
	return out
}

// valleys are the sharp inside edges, strung together where one runs on into the
// next without a corner along the same face: the edge round the floor of a
// pocket with rounded corners is one.
func (s *surveyor) valleys() [][]edge {
	type part struct{ face, edge int32 }
	var edges []edge
	at := map[uint32][]part{} // edges at a vertex, once for each of their two faces
	for _, b := range s.borders {
		for _, e := range b.edges {
			if !s.p.Sharp[e.tri][e.k] || s.p.Turn[e.tri][e.k] >= 0 {
				continue
			}
			v := s.m.Tri[e.tri]
			for _, w := range [2]uint32{v[e.k], v[(e.k+1)%3]} {
				at[w] = append(at[w], part{b.a, int32(len(edges))}, part{b.b, int32(len(edges))})
			}
			edges = append(edges, e)
		}
	}
	set := mesh.NewSets(len(edges))
	for v, parts := range at {
		for i, p := range parts {
			for _, q := range parts[:i] {
				if p.face == q.face && p.edge != q.edge && s.straightOn(edges[p.edge], edges[q.edge], v) {
					set.Join(p.edge, q.edge)
				}
			}
		}
	}
	where := map[int32]int{}
	var out [][]edge
	for i, e := range edges {
		root := set.Find(int32(i))
		k, ok := where[root]
		if !ok {
			k = len(out)
			where[root] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], e)
	}
	return out
}

// straightOn reports whether two edges at a vertex turn by no more than the
// facets of a curve may.
func (s *surveyor) straightOn(a, b edge, v uint32) bool {
	away := func(e edge) r3.Vec {
		t := s.m.Tri[e.tri]
		o := t[e.k]
		if o == v {
			o = t[(e.k+1)%3]
		}
		return r3.Unit(r3.Sub(s.m.Pos[o], s.m.Pos[v]))
	}
	return r3.Dot(away(a), away(b)) < -math.Cos(widestStep)
}

// valley describes a string of sharp inside edges. Their angle is that between
// the faces' own surfaces where those are known.
func (s *surveyor) valley(edges []edge) (fettle.Corner, bool) {
	var length, turn float64
	var mid r3.Vec
	for _, e := range edges {
		v := s.m.Tri[e.tri]
		p, q := s.m.Pos[v[e.k]], s.m.Pos[v[(e.k+1)%3]]
		l := s.arc(e.tri, e.k)
		c := r3.Scale(0.5, r3.Add(p, q))
		a, b := s.p.Face[e.tri], s.p.Face[s.tp.Across[e.tri][e.k]]
		na, nb := s.p.Faces[a].Normal(c), s.p.Faces[b].Normal(c)
		angle := -float64(s.p.Turn[e.tri][e.k])
		if r3.Norm2(na) > 0 && r3.Norm2(nb) > 0 {
			angle = math.Atan2(r3.Norm(r3.Cross(na, nb)), r3.Dot(na, nb))
		}
		length += l
		turn += l * angle
		mid = r3.Add(mid, r3.Scale(l, c))
	}
	if length < leastCorner*s.diag {
		return fettle.Corner{}, false
	}
	return fettle.Corner{
		LengthMM: length, AngleDeg: 180 - degrees(turn/length), At: geom.Array(s.onEdge(edges, r3.Scale(1/length, mid))),
	}, true
}

// onEdge is the middle of the edge nearest to a point: the mean of a closed
// string lies on none.
func (s *surveyor) onEdge(edges []edge, p r3.Vec) r3.Vec {
	best, at := math.Inf(1), p
	for _, e := range edges {
		c := s.middle(e)
		if d := r3.Norm2(r3.Sub(c, p)); d < best-1e-12 {
			best, at = d, c
		}
	}
	return at
}

// fillet describes a hollow face that rounds the corner between its neighbours:
// a piece of a cylinder or of a ball, of a tube as the fillet round a boss is, or a
// free-form strip of nearly one radius.
func (s *surveyor) fillet(f int32) (fettle.Corner, bool) {
	p := &s.p.Faces[f]
	var radius, turn float64
	switch {
	case p.Kind == geom.Cylinder && p.Hollow:
		radius, turn = p.Radius, s.turn(f)
	case p.Kind == geom.Torus && p.Hollow:
		radius, turn = p.Radius, degrees(s.arcsOf(f, s.aroundTube(f)).turn())
	case p.Kind == geom.Sphere && p.Hollow:
		radius = p.Radius
		turn = s.reach(f)
	case p.Kind == geom.Free:
		var ok bool
		if radius, ok = s.evenHollow(f); !ok {
			return fettle.Corner{}, false
		}
		turn = s.borderTurn(f)
	default:
		return fettle.Corner{}, false
	}
	if turn < leastTurn || turn > fullestCorner || radius > 0.25*s.diag || s.smoothSides(f) < 0.3 {
		return fettle.Corner{}, false
	}
	width := radius * turn * math.Pi / 180
	length := s.areaOf(f) / width
	if p.Kind == geom.Sphere {
		length = 0 // a corner of corners has no length worth telling
	}
	t, _ := s.place(p, 0, 1)
	a, b, c := s.m.Corners(int(t))
	at := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
	if s.known(f) {
		at = r3.Sub(at, r3.Scale(p.Distance(at), p.Surface.Normal(at)))
	}
	return fettle.Corner{RadiusMM: radius, LengthMM: length, AngleDeg: 180 - turn, At: geom.Array(at)}, true
}

// smoothSides is the share of a face's border that runs smoothly into
// neighbours.
func (s *surveyor) smoothSides(f int32) float64 {
	smooth, sum := 0.0, 0.0
	for _, i := range s.beside[f] {
		smooth += s.borders[i].smooth
		sum += s.borders[i].length()
	}
	if sum == 0 {
		return 0
	}
	return smooth / sum
}

// reach is the largest angle between normals of a face and their mean, doubled.
func (s *surveyor) reach(f int32) float64 {
	p := &s.p.Faces[f]
	l := r3.Norm(p.Mean)
	if l < 1e-6 {
		return 360
	}
	most := 0.0
	for _, t := range p.Tris {
		most = max(most, math.Acos(max(-1, min(1, r3.Dot(s.p.Normal[t], p.Mean)/l))))
	}
	return 2 * degrees(most)
}

// evenHollow is the radius of a free-form face that is hollow throughout with
// about one radius in its tighter direction.
func (s *surveyor) evenHollow(f int32) (float64, bool) {
	p := &s.p.Faces[f]
	ws := make([]weighted, 0, len(p.Tris))
	for _, t := range p.Tris {
		hi, lo := float64(s.c.Facet[t][0]), float64(s.c.Facet[t][1])
		if lo >= -flattest || -lo < 1.2*hi {
			lo = 0
		}
		ws = append(ws, weighted{-lo, s.p.Area[t]})
	}
	low, mid, high := quantile(ws, 0.1), quantile(ws, 0.5), quantile(ws, 0.9)
	if mid <= 0 || low < 0.7*mid || high > 1.4*mid {
		return 0, false
	}
	return 1 / mid, true
}

// borderTurn is the angle that a strip turns through, in degrees: the largest
// between the normals of two faces that it runs into, where they are nearest to
// each other.
func (s *surveyor) borderTurn(f int32) float64 {
	var bs []*border
	for _, i := range s.beside[f] {
		if b := s.borders[i]; b.smooth > 0.5*b.length() {
			bs = append(bs, b)
		}
	}
	slices.SortStableFunc(bs, func(a, b *border) int { return cmp.Compare(b.length(), a.length()) })
	most := 0.0
	for i, p := range bs[:min(len(bs), 4)] {
		e := p.edges[len(p.edges)/2]
		at := s.middle(e)
		n := s.normalOf(p.other(f), e, at)
		for _, q := range bs[:i] {
			best := q.edges[0]
			for _, o := range q.edges {
				if r3.Norm2(r3.Sub(s.middle(o), at)) < r3.Norm2(r3.Sub(s.middle(best), at)) {
					best = o
				}
			}
			m := s.normalOf(q.other(f), best, s.middle(best))
			most = max(most, degrees(math.Atan2(r3.Norm(r3.Cross(n, m)), r3.Dot(n, m))))
		}
	}
	return most
}

func (s *surveyor) middle(e edge) r3.Vec {
	v := s.m.Tri[e.tri]
	return r3.Scale(0.5, r3.Add(s.m.Pos[v[e.k]], s.m.Pos[v[(e.k+1)%3]]))
}

// normalOf is the normal of a face at one of its edges.
func (s *surveyor) normalOf(f int32, e edge, at r3.Vec) r3.Vec {
	if n := s.p.Faces[f].Normal(at); r3.Norm2(n) > 0 {
		return n
	}
	if s.p.Face[e.tri] == f {
		return s.p.Normal[e.tri]
	}
	return s.p.Normal[s.tp.Across[e.tri][e.k]]
}

// whose zone and opening an edge is told with: that of the side that is looked
// at most.
func (s *surveyor) whose(edges []edge, zones []fettle.Zone, openings []fettle.Opening) (zone, opening string) {
	best := int32(math.MaxInt32)
	for _, e := range edges {
		for _, t := range [2]int32{e.tri, s.tp.Across[e.tri][e.k]} {
			best = min(best, s.zone[t])
			if o := s.of[s.p.Face[t]]; o >= 0 && opening == "" {
				opening = openings[o].ID
			}
		}
	}
	if best < int32(len(zones)) {
		zone = zones[best].ID
	}
	return zone, opening
}

// zoneCorners tells each zone the tightest of its inside corners.
func (s *surveyor) zoneCorners(zones []fettle.Zone, corners []fettle.Corner) {
	for i := range zones {
		z := &zones[i]
		for _, c := range corners {
			if c.Zone != z.ID {
				continue
			}
			if c.RadiusMM == 0 {
				z.SharpInside = true
			} else if z.InsideCornerMM == 0 || c.RadiusMM < z.InsideCornerMM {
				z.InsideCornerMM = c.RadiusMM
			}
		}
	}
}
