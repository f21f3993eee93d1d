package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// The zones, in the survey's order.
const (
	show = iota
	sides
	back
	inner
	zoneCount
)

// showCos is the cosine of the slope up to which a facet counts as seen from
// above, or from below for the back.
var showCos = math.Cos(55 * math.Pi / 180)

const (
	mostly   = 0.8  // of a face's area decides for all of it
	tightest = 0.02 // of a zone's area that a curvature must cover
	flattest = 5e-4 // curvature that counts as none, 1/mm: radius 2 m
)

// zones shares out the facets: each belongs to exactly one zone. Empty zones are
// left out.
func (s *surveyor) zones() []fettle.Zone {
	s.zone = make([]int32, len(s.m.Tri))
	for f := range s.p.Faces {
		s.settle(int32(f))
	}
	lists := make([][]int32, zoneCount)
	for t, z := range s.zone {
		lists[z] = append(lists[z], int32(t))
	}
	about := [zoneCount]struct {
		id, name string
		class    fettle.Class
		why      string
	}{
		show:  {"show", "Show face", fettle.Show, "outer surface that looks within 55° of up (" + s.upWhy + ")"},
		sides: {"sides", "Sides", fettle.Plain, "outer surface that looks neither up nor down"},
		back:  {"back", "Back", fettle.Hidden, "outer surface that looks within 55° of straight down"},
		inner: {"openings", "Openings", fettle.Hidden, "walls and floors of the openings"},
	}
	index := [zoneCount]int32{}
	interior := s.interior()
	var out []fettle.Zone
	for z := range zoneCount {
		if len(lists[z]) == 0 {
			continue
		}
		index[z] = int32(len(out))
		a := about[z]
		out = append(out, s.describeZone(fettle.Zone{ID: a.id, Name: a.name, Class: a.class, Why: a.why, Facets: lists[z], Count: len(lists[z])}, interior))
	}
	for t, z := range s.zone {
		s.zone[t] = index[z]
	}
	return out
}

// settle puts a face into show, sides or back, as a whole where most of it
// agrees, else facet by facet; the faces of openings into theirs.
func (s *surveyor) settle(f int32) {
	p := &s.p.Faces[f]
	if s.of[f] >= 0 {
		for _, t := range p.Tris {
			s.zone[t] = inner
		}
		return
	}
	var share [zoneCount]float64
	for _, t := range p.Tris {
		z := s.sideOf(t)
		s.zone[t] = z
		share[z] += s.p.Area[t]
	}
	whole := int32(-1)
	for z, a := range share {
		if a >= mostly*p.Area {
			whole = int32(z)
		}
	}
	if whole == show && s.hidden(f) {
		whole = sides
	}
	if whole < 0 {
		// What looks up from under an overhang is no show face.
		for _, t := range p.Tris {
			if s.zone[t] == show && s.covered(t) {
				s.zone[t] = sides
			}
		}
		return
	}
	for _, t := range p.Tris {
		s.zone[t] = whole
	}
}

// covered reports whether the part lies over the middle of a facet.
func (s *surveyor) covered(t int32) bool {
	a, b, c := s.m.Corners(int(t))
	p := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
	p = r3.Add(p, r3.Scale(1e-6*s.diag, s.p.Normal[t]))
	return s.tree.RayAny(p, s.up, 1e-6*s.diag, math.Inf(1))
}

func (s *surveyor) sideOf(t int32) int32 {
	switch c := r3.Dot(s.p.Normal[t], s.up); {
	case c > showCos:
		return show
	case c < -showCos:
		return back
	}
	return sides
}

// hidden reports whether most of a face is covered by the part as seen from
// above.
func (s *surveyor) hidden(f int32) bool {
	const n = 15
	covered := 0
	for i := range n {
		t, p := s.place(&s.p.Faces[f], i, n)
		p = r3.Add(p, r3.Scale(1e-6*s.diag, s.p.Normal[t]))
		if s.tree.RayAny(p, s.up, 1e-6*s.diag, math.Inf(1)) {
			covered++
		}
	}
	return covered > n/2
}

// interior marks vertices all of whose facets are of one face, without sharp
// edges between them: their curvature holds for every facet there.
func (s *surveyor) interior() []bool {
	in := make([]bool, len(s.m.Pos))
	for v := range in {
		around := s.tp.Around[s.tp.Start[v]:s.tp.Start[v+1]]
		in[v] = len(around) > 0
		for _, t := range around {
			in[v] = in[v] && s.p.Face[t] == s.p.Face[around[0]] &&
				!s.p.Sharp[t][0] && !s.p.Sharp[t][1] && !s.p.Sharp[t][2]
		}
	}
	return in
}

// bend is the curvature of a facet: of the surface that it lies on, else the
// mean of its inner corners, which is steadier than its own.
func (s *surveyor) bend(t int32, interior []bool) (hi, lo float64) {
	own := s.c.Facet[t]
	if s.p.Faces[s.p.Face[t]].Kind != geom.Free {
		return float64(own[0]), float64(own[1])
	}
	n := 0.0
	for _, v := range s.m.Tri[t] {
		if interior[v] {
			b := s.c.Vertex[v]
			hi, lo, n = hi+float64(b.Max), lo+float64(b.Min), n+1
		}
	}
	if n == 0 {
		return float64(own[0]), float64(own[1])
	}
	return hi / n, lo / n
}

// weighted is a value and the area that it holds for.
type weighted struct{ value, area float64 }

// describeZone fills in what is measured on a zone's facets.
func (s *surveyor) describeZone(z fettle.Zone, interior []bool) fettle.Zone {
	box := geom.EmptyBox() // in the frame in which the part lies on the mill
	right := geom.Perpendicular(s.up)
	ahead := r3.Cross(s.up, right)
	var up r3.Vec
	faces := map[int32]bool{}
	for _, t := range z.Facets {
		z.AreaMM2 += s.p.Area[t]
		up = r3.Add(up, r3.Scale(s.p.Area[t], s.p.Normal[t]))
		for _, v := range s.m.Tri[t] {
			p := s.m.Pos[v]
			box = box.Add(r3.Vec{X: r3.Dot(p, right), Y: r3.Dot(p, ahead), Z: r3.Dot(p, s.up)})
		}
		faces[s.p.Face[t]] = true
	}
	z.SizeMM = geom.Array(box.Size())
	up = s.meanUp(z.ID, up, z.AreaMM2)
	z.Up = geom.Array(up)
	for f := range faces {
		z.Faces = append(z.Faces, int(f))
	}
	slices.Sort(z.Faces)

	slope := make([]weighted, 0, len(z.Facets))
	hollow := make([]weighted, 0, len(z.Facets))
	bulge := make([]weighted, 0, len(z.Facets))
	for _, t := range z.Facets {
		a := s.p.Area[t]
		slope = append(slope, weighted{degrees(math.Acos(max(-1, min(1, r3.Dot(s.p.Normal[t], up))))), a})
		hi, lo := s.bend(t, interior)
		if lo < -flattest {
			hollow = append(hollow, weighted{-lo, a})
		}
		if hi > flattest {
			bulge = append(bulge, weighted{hi, a})
		}
	}
	z.SlopeDeg = fettle.Quantiles{P50: quantile(slope, 0.5), P95: quantile(slope, 0.95), Max: quantile(slope, 1)}
	z.ConcaveMM = tightRadius(hollow, tightest*z.AreaMM2)
	z.ConvexMM = tightRadius(bulge, tightest*z.AreaMM2)
	z.EdgeMM = s.zoneEdges(z.Facets)
	return z
}

// meanUp is a zone's mean normal. Sides stand round the part and take its up,
// so that an upright wall slopes by 90° whatever is missing from the ring; so
// does any zone whose normals cancel out.
func (s *surveyor) meanUp(id string, sum r3.Vec, area float64) r3.Vec {
	l := r3.Norm(sum)
	if id != "sides" && l > 0.05*area {
		return r3.Scale(1/l, sum)
	}
	if id == "back" {
		return r3.Scale(-1, s.up)
	}
	return s.up
}

// quantile is the value that the given share of the area does not exceed.
func quantile(ws []weighted, share float64) float64 {
	if len(ws) == 0 {
		return 0
	}
	slices.SortFunc(ws, func(a, b weighted) int { return cmp.Compare(a.value, b.value) })
	sum := 0.0
	for _, w := range ws {
		sum += w.area
	}
	run := 0.0
	for _, w := range ws {
		if run += w.area; run >= share*sum*(1-1e-12) {
			return w.value
		}
	}
	return ws[len(ws)-1].value
}

// tightRadius is the radius of the strongest curvature that, with all stronger,
// covers an area; 0 for none.
func tightRadius(ws []weighted, area float64) float64 {
	slices.SortFunc(ws, func(a, b weighted) int { return cmp.Compare(b.value, a.value) })
	run := 0.0
	for _, w := range ws {
		if run += w.area; run >= area {
			return 1 / w.value
		}
	}
	return 0
}

// zoneEdges is the length of sharp outside edges that have a facet of the zone
// on at least one side.
func (s *surveyor) zoneEdges(facets []int32) float64 {
	sum := 0.0
	for _, t := range facets {
		for k, sharp := range s.p.Sharp[t] {
			if !sharp || s.p.Turn[t][k] <= 0 {
				continue
			}
			l := s.arc(t, k)
			if s.zone[s.tp.Across[t][k]] == s.zone[t] {
				l /= 2 // met from both sides
			}
			sum += l
		}
	}
	return sum
}

// warnings are what a person should know, in whole sentences.
func (s *surveyor) warnings(out *fettle.Survey) []string {
	var all []string
	if s.tp.Borders > 0 || s.tp.Tangles > 0 {
		all = append(all, "The model has open or tangled edges, so openings may be missed or told wrongly.")
	}
	if _, n := s.tp.Bodies(); n > 1 {
		all = append(all, fmt.Sprintf("The model has %d separate shells; they are surveyed together as one part.", n))
	}
	sharp, tight := 0, math.Inf(1)
	for _, c := range out.Corners {
		if c.RadiusMM == 0 {
			sharp++
		} else {
			tight = min(tight, c.RadiusMM)
		}
	}
	for _, o := range out.Openings {
		if o.InsideMM == 0 {
			all = append(all, fmt.Sprintf("%s has sharp corners in plan: no round cutter makes them, and media stay out of them.", o.ID))
		}
	}
	switch {
	case sharp == 1:
		all = append(all, "One inside edge is sharp: a ball cutter and media leave it as it is.")
	case sharp > 1:
		all = append(all, fmt.Sprintf("%d inside edges are sharp: a ball cutter and media leave them as they are.", sharp))
	}
	if tight < 0.5 {
		all = append(all, fmt.Sprintf("The tightest rounded inside corner has a radius of %.2f mm, which asks for a cutter under %.1f mm.", tight, 2*tight))
	}
	for _, o := range out.Openings {
		if o.Kind == fettle.Slot && o.WidthMM < 2 && o.DepthMM > 2*o.WidthMM {
			all = append(all, fmt.Sprintf("%s is thin and deep (%.2f mm wide, %.2f mm deep): media may lodge in it and polish will not reach its floor.", o.ID, o.WidthMM, o.DepthMM))
		}
	}
	if len(s.p.Faces) > manyFaces {
		all = append(all, fmt.Sprintf("The surface falls into %d faces, more than a drawn part has; it may be a scan or a coarse export, and what is said of faces and openings is less sure.", len(s.p.Faces)))
	}
	if len(out.Zones) > 0 && out.Zones[0].ID != "show" {
		all = append(all, "No outer surface looks the way that was asked for as up, so there is no show face.")
	}
	return all
}
