package reach

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// What is smaller than both is left out, sharp corners excepted.
	leastShare = 0.002
	leastArea  = 1.0 // mm²
)

// kind is what kind of place a facet is.
type kind int

const (
	corner kind = iota // squeezed between faces that meet at an angle, or in a fillet
	gap                // between faces that look at each other
	hollow             // of a surface of its own
	wall
	floor
	under // looks into the part, as an undercut does
	inside
)

// spot names a group of facets: where and what they are.
type spot struct {
	opening int32
	zone    int32
	other   int32 // zone on the other side of an inside corner out of openings, −1
	kind    kind
}

// spotOf is the group of a facet that media do not reach.
func (r *reacher) spotOf(f int32) spot {
	d := r.in.Detail
	t := r.skin.from[f]
	s := spot{opening: r.openingOf(t), zone: d.Zone[t], other: -1}
	if s.opening < 0 {
		if s.opening = r.gapAt(f); s.opening >= 0 {
			s.kind = wall
			return s
		}
	}
	n := d.Patches.Normal[t]
	by := r.skin.by[f]
	// The way in decides, not the place, where the touching sphere is larger than
	// what comes here.
	shut := r.radius[f] < 0.9*r.skin.touch[f]
	face, fillet := d.Patches.Face[t], false
	if p := &d.Patches.Faces[face]; p.Kind != geom.Plane && p.Hollow {
		fillet = r.isFillet(s.opening, p.Radius)
	}
	switch {
	case fillet && !shut:
		s.kind = corner
	case !shut && by >= 0 && d.Patches.Face[by] != face:
		c := r3.Dot(n, d.Patches.Normal[by])
		if s.opening < 0 && c <= -0.8 {
			s.kind = gap
			return s
		}
		if c > -0.8 {
			s.kind = corner
			if z := d.Zone[by]; s.opening < 0 && z != s.zone {
				s.other = z
			}
			if o := r.openingOf(by); s.opening < 0 && o >= 0 {
				s.opening = o
			}
			return s
		}
		s.kind = r.side(s.opening, n)
	case s.opening >= 0:
		s.kind = r.side(s.opening, n)
	case !shut:
		s.kind = hollow
	default:
		s.kind = inside
	}
	return s
}

// gapAt is the gap between features that a facet of the outside faces, −1 for
// none: only the void knows of it.
func (r *reacher) gapAt(f int32) int32 {
	v := r.in.Void
	if v == nil || len(v.Opening) == 0 {
		return -1
	}
	n := r.smooth.at(r.skin.from[f], r.skin.at[f])
	i, j, k, in := v.Nearest(r3.Add(r.skin.at[f], r3.Scale(max(v.Cell, float64(r.skin.touch[f])), n)))
	if !in {
		return -1
	}
	o := v.Opening[v.Index(i, j, k)]
	if o >= 0 && int(o) < len(r.in.Survey.Openings) && r.in.Survey.Openings[o].Kind == fettle.Gap {
		return o
	}
	return -1
}

// openingOf is the opening that a triangle belongs to, −1 for none.
func (r *reacher) openingOf(t int32) int32 {
	return r.in.Detail.Opening[r.in.Detail.Patches.Face[t]]
}

// side is wall, floor or underside of an opening.
func (r *reacher) side(o int32, n r3.Vec) kind {
	switch c := r3.Dot(n, geom.Vec(r.in.Survey.Openings[o].Axis)); {
	case c > 0.7:
		return floor
	case c < -0.7:
		return under
	}
	return wall
}

// isFillet reports whether the survey knows a rounded inside corner of that
// radius there.
func (r *reacher) isFillet(o int32, radius float64) bool {
	id := ""
	if o >= 0 {
		id = r.in.Survey.Openings[o].ID
	}
	for _, c := range r.in.Survey.Corners {
		if c.Opening == id && c.RadiusMM > 0 && math.Abs(c.RadiusMM-radius) < 0.02*radius {
			return true
		}
	}
	return false
}

// leaves groups what is not reached into places, the largest first.
func (r *reacher) leaves(v values, total float64) []fettle.LeftAsCut {
	groups := map[spot][]int32{}
	var order []spot
	most := r.mostly(v)
	for f, in := range v.new {
		if in || r.skin.area[f] == 0 {
			continue
		}
		s := r.spotOf(int32(f))
		if s.opening >= 0 && s.kind == corner {
			if k := (bank{s.opening, r.side(s.opening, r.in.Detail.Patches.Normal[r.skin.from[f]])}); most[k] {
				s.kind = k.kind
			}
		}
		if _, ok := groups[s]; !ok {
			order = append(order, s)
		}
		groups[s] = append(groups[s], int32(f))
	}
	var out []fettle.LeftAsCut
	for _, s := range order {
		l := r.left(s, groups[s])
		sharp := s.kind == corner && r.sharpAt(s)
		if l.AreaMM2 < leastShare*total && l.AreaMM2 < leastArea && !sharp {
			continue
		}
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(a, b fettle.LeftAsCut) int {
		return cmp.Or(cmp.Compare(b.AreaMM2, a.AreaMM2), cmp.Compare(a.Place, b.Place))
	})
	return out
}

// bank is the walls, the floor or the undersides of an opening.
type bank struct {
	opening int32
	kind    kind
}

// mostly marks the walls and floors of openings of which hardly anything is
// reached: there it is not the corners that are left.
func (r *reacher) mostly(v values) map[bank]bool {
	area := map[bank][2]float64{}
	for f, t := range r.skin.from {
		if o := r.openingOf(t); o >= 0 {
			k := bank{o, r.side(o, r.in.Detail.Patches.Normal[t])}
			a := area[k]
			a[0] += r.skin.area[f]
			if !v.new[f] {
				a[1] += r.skin.area[f]
			}
			area[k] = a
		}
	}
	out := map[bank]bool{}
	for k, a := range area {
		out[k] = a[1] > 0.8*a[0]
	}
	return out
}

// left describes a group.
func (r *reacher) left(s spot, facets []int32) fettle.LeftAsCut {
	l := fettle.LeftAsCut{Place: r.place(s), Zone: r.in.Survey.Zones[s.zone].ID}
	if s.opening >= 0 {
		l.Opening = r.in.Survey.Openings[s.opening].ID
	}
	var mid r3.Vec
	for _, f := range facets {
		l.AreaMM2 += r.skin.area[f]
		mid = r3.Add(mid, r3.Scale(r.skin.area[f], r.skin.at[f]))
	}
	mid = r3.Scale(1/l.AreaMM2, mid)
	best := math.Inf(1)
	for _, f := range facets {
		if d := r3.Norm2(r3.Sub(r.skin.at[f], mid)); d < best {
			best, l.At = d, geom.Array(r.skin.at[f])
		}
	}
	slices.SortFunc(facets, func(a, b int32) int {
		return cmp.Or(cmp.Compare(r.radius[a], r.radius[b]), cmp.Compare(a, b))
	})
	run := 0.0
	for _, f := range facets {
		if run += r.skin.area[f]; run >= 0.05*l.AreaMM2 {
			l.RadiusMM = float64(r.radius[f])
			break
		}
	}
	l.Says = r.says(s, l, facets)
	return l
}

// says is one sentence on what is left there and what would reach it.
func (r *reacher) says(s spot, l fettle.LeftAsCut, facets []int32) string {
	says := fmt.Sprintf("%s: %sabout %s mm² stay as cut; ", capital(l.Place), r.cornersSay(s, l.Opening), two(l.AreaMM2))
	f := facets[len(facets)/2]
	shut := r.radius[f] < 0.9*r.skin.touch[f]
	switch {
	case l.RadiusMM < 0.05 && s.kind == corner && r.sharpAt(s):
		return says + "the corner is sharp, and no media reach right into it."
	case l.RadiusMM < 0.05 && shut:
		return says + "nothing comes in there."
	case l.RadiusMM < 0.05:
		return says + "no ball worth naming reaches all of it."
	case shut:
		return says + fmt.Sprintf("the way in lets a ball of %s mm through.", two(2*l.RadiusMM))
	}
	return says + fmt.Sprintf("a ball of %s mm reaches nearly all of it.", two(2*l.RadiusMM))
}

// cornersSay names the radii of the inside corners of a place: "1.2 mm radius and
// sharp, ".
func (r *reacher) cornersSay(s spot, opening string) string {
	if s.kind != corner {
		return ""
	}
	var radii []float64
	sharp := false
	for _, c := range r.in.Survey.Corners {
		switch {
		case c.Opening != opening || opening == "" && c.Zone != r.in.Survey.Zones[s.zone].ID:
		case c.RadiusMM == 0:
			sharp = true
		case !slices.ContainsFunc(radii, func(o float64) bool { return math.Abs(o-c.RadiusMM) < 0.02*o }):
			radii = append(radii, c.RadiusMM)
		}
	}
	slices.Sort(radii)
	var parts []string
	for _, x := range radii[:min(3, len(radii))] {
		parts = append(parts, two(x)+" mm")
	}
	if len(parts) > 0 {
		parts[len(parts)-1] += " radius"
	}
	if sharp {
		parts = append(parts, "sharp")
	}
	switch n := len(parts); n {
	case 0:
		return ""
	case 1:
		return parts[0] + ", "
	default:
		return strings.Join(parts[:n-1], ", ") + " and " + parts[n-1] + ", "
	}
}

// two shows a number to two figures, never with an exponent.
func two(x float64) string {
	if x >= 99.5 {
		p := math.Pow(10, math.Floor(math.Log10(x))-1)
		return strconv.FormatFloat(math.Round(x/p)*p, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 2, 64)
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// sharpAt reports whether the survey has a sharp inside corner there.
func (r *reacher) sharpAt(s spot) bool {
	for _, c := range r.in.Survey.Corners {
		if c.RadiusMM > 0 {
			continue
		}
		if s.opening >= 0 && c.Opening == r.in.Survey.Openings[s.opening].ID ||
			s.opening < 0 && c.Opening == "" && (c.Zone == r.in.Survey.Zones[s.zone].ID || s.other >= 0 && c.Zone == r.in.Survey.Zones[s.other].ID) {
			return true
		}
	}
	return false
}

// place names a group as a machinist would.
func (r *reacher) place(s spot) string {
	if s.opening >= 0 {
		id := r.in.Survey.Openings[s.opening].ID
		switch s.kind {
		case corner:
			return "inside corners of " + id
		case floor:
			return "bottom of " + id
		case under:
			return "underside in " + id
		}
		return "walls of " + id
	}
	zone := r.zoneName(s.zone)
	switch s.kind {
	case corner:
		if s.other >= 0 {
			return "inside edge between " + zone + " and " + r.zoneName(s.other)
		}
		return "inside corners of " + zone
	case gap:
		return "gaps of " + zone
	case hollow:
		return "hollow of " + zone
	}
	return "inside of " + zone
}

// zoneName is a zone's name within a sentence: "the show face".
func (r *reacher) zoneName(z int32) string {
	return "the " + strings.ToLower(r.in.Survey.Zones[z].Name)
}
