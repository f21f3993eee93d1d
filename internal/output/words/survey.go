package words

import (
	"fmt"
	"sort"

	"fettle"
)

// Survey says what a part is.
func Survey(s fettle.Survey, sys fettle.System) string {
	var p page
	p.say("", "%s: %s, %s, %s.", s.File, s.Format, count(s.Triangles, "facet"), bodies(s))
	what := fmt.Sprintf("%s × %s × %s", number(s.SizeMM[0], sys), number(s.SizeMM[1], sys), sys.Length(s.SizeMM[2]))
	if s.Closed {
		what += fmt.Sprintf(", volume %s", sys.Volume(s.VolumeMM3))
	}
	p.say("", "%s, surface %s, %s of sharp edge.", what, sys.Area(s.AreaMM2), sys.About(s.SharpEdgeMM))

	if len(s.InFile) > 1 {
		section(&p, "Bodies in the file", s.InFile, func(b fettle.FileBody) string { return fileBody(b, sys) })
	}
	section(&p, "Openings", s.Openings, func(o fettle.Opening) string { return opening(o, sys) })
	section(&p, "Inside corners, tightest first", tightest(s.Corners, 8), func(c fettle.Corner) string { return corner(c, sys) })
	if n := len(s.Corners) - 8; n > 0 {
		p.item("and %d more.", n)
	}
	section(&p, "Zones", s.Zones, func(z fettle.Zone) string { return zone(z, sys) })
	if len(s.Faces) > 0 {
		p.head("Faces")
		p.item("%s.", faces(s.Faces))
	}
	section(&p, "In the file too, not measured", s.Beside, func(what string) string { return what + "." })
	section(&p, "Mended", s.Repairs, func(r fettle.Repair) string { return sentence(r.Says) })
	section(&p, "What to know", s.Warnings, sentence)
	return p.String()
}

// section writes a list under a head, or nothing for an empty list.
func section[T any](p *page, title string, items []T, say func(T) string) {
	if len(items) == 0 {
		return
	}
	p.head(title)
	for _, it := range items {
		p.item("%s", say(it))
	}
}

func bodies(s fettle.Survey) string {
	closed := "closed"
	if !s.Closed {
		closed = "not closed"
	}
	if s.Bodies == 1 {
		return "one body, " + closed
	}
	return fmt.Sprintf("%d bodies, %s", s.Bodies, closed)
}

// fileBody says one body of a model file: "2 lid, in hinge: 42.00 × 68.00 × 7.00
// mm, volume 12.1 cm³, measured here".
func fileBody(b fettle.FileBody, sys fettle.System) string {
	name := b.Name
	if name == "" {
		name = "without a name"
	}
	t := fmt.Sprintf("%d %s", b.Number, name)
	if len(b.In) > 0 {
		t += ", in " + b.In[len(b.In)-1]
	}
	box := b.Box
	t += fmt.Sprintf(": %s × %s × %s", number(box.X[1]-box.X[0], sys), number(box.Y[1]-box.Y[0], sys), sys.Length(box.Z[1]-box.Z[0]))
	if b.Solid {
		t += ", volume " + sys.Volume(b.VolumeMM3)
	} else {
		t += ", open surfaces"
	}
	if !b.Taken {
		t += ", left out"
	}
	return t + "."
}

// number is a length without its unit, for "42.00 × 68.00 × 7.00 mm".
func number(mm float64, sys fettle.System) string {
	s := sys.Length(mm)
	for i := range s {
		if s[i] == ' ' {
			return s[:i]
		}
	}
	return s
}

// opening says one opening: "hole-1: countersunk hole, 4.20 mm, 7.00 mm deep,
// through, opening to 8.40 mm; at 0.0, 25.0, 7.0".
func opening(o fettle.Opening, sys fettle.System) string {
	name := string(o.Kind)
	switch o.Form {
	case "":
	case "keyhole":
		name = "keyhole"
	default:
		name = o.Form + " " + name
	}
	t := fmt.Sprintf("%s: %s, %s wide", o.ID, name, sys.Length(o.WidthMM))
	if o.LengthMM > 1.02*o.WidthMM && o.Kind != fettle.Hole {
		t += fmt.Sprintf(", %s long", sys.Length(o.LengthMM))
	}
	if o.WidestMM > 1.02*o.WidthMM && o.Form != "" {
		t += fmt.Sprintf(", %s at its widest", sys.Length(o.WidestMM))
	}
	if o.Through {
		t += fmt.Sprintf(", through %s", sys.Length(o.DepthMM))
	} else {
		t += fmt.Sprintf(", blind, %s deep", sys.Length(o.DepthMM))
	}
	if o.Kind != fettle.Hole && o.InsideMM > 0 {
		t += fmt.Sprintf(", inside radius %s", sys.Length(o.InsideMM))
	}
	if len(o.Profile) > 1 && narrows(o.Profile) {
		t += "; clear " + profile(o.Profile, sys)
	}
	return t + fmt.Sprintf("; at %s.", at(o.At, sys))
}

func at(p [3]float64, sys fettle.System) string {
	return fmt.Sprintf("%s, %s, %s", number(p[0], sys), number(p[1], sys), number(p[2], sys))
}

func tightest(cs []fettle.Corner, n int) []fettle.Corner {
	sorted := append([]fettle.Corner(nil), cs...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].RadiusMM < sorted[j].RadiusMM })
	return sorted[:min(n, len(sorted))]
}

func corner(c fettle.Corner, sys fettle.System) string {
	t := "sharp"
	if c.RadiusMM > 0 {
		t = "radius " + sys.Length(c.RadiusMM)
	}
	t = fmt.Sprintf("%s: %s, %s long", c.ID, t, sys.Length(c.LengthMM))
	if c.Opening != "" {
		t += ", in " + c.Opening
	} else if c.Zone != "" {
		t += ", on " + c.Zone
	}
	return t + fmt.Sprintf("; at %s.", at(c.At, sys))
}

func zone(z fettle.Zone, sys fettle.System) string {
	t := fmt.Sprintf("%s (%s): %s", z.ID, z.Class, sys.Area(z.AreaMM2))
	if z.SlopeDeg.P95 >= 0.5 {
		t += fmt.Sprintf(", slope %.0f° (95 %% under %.0f°)", z.SlopeDeg.P50, z.SlopeDeg.P95)
	}
	if z.ConcaveMM > 0 {
		t += ", hollows down to radius " + sys.Length(z.ConcaveMM)
	}
	if z.ConvexMM > 0 {
		t += ", bulges down to radius " + sys.Length(z.ConvexMM)
	}
	return t + "."
}

// faces counts the faces by kind.
func faces(fs []fettle.Face) string {
	n := map[fettle.FaceKind]int{}
	for _, f := range fs {
		n[f.Kind]++
	}
	var parts []string
	for _, k := range []struct {
		kind fettle.FaceKind
		noun string
	}{
		{fettle.PlaneFace, "plane"}, {fettle.CylinderFace, "cylinder"}, {fettle.ConeFace, "cone"},
		{fettle.SphereFace, "sphere"}, {fettle.TorusFace, "torus"}, {fettle.FreeFace, "free-form face"},
	} {
		switch {
		case n[k.kind] > 1 && k.kind == fettle.TorusFace:
			parts = append(parts, fmt.Sprintf("%d tori", n[k.kind]))
		case n[k.kind] > 0:
			parts = append(parts, count(n[k.kind], k.noun))
		}
	}
	return list(parts)
}
