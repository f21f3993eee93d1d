package words

import (
	"sort"

	"fettle"
)

// Survey says what a part is.
func (l Voice) Survey(s fettle.Survey, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	facets := v.Count(s.Triangles, "1 facet", "%d facets")
	if s.Triangles == 0 {
		facets = v.Say("no facets")
	}
	p.say("", "%s: %s, %s, %s.", s.File, s.Format, facets, v.bodies(s))
	if s.Closed {
		p.say("", "%s, volume %s, surface %s, %s of sharp edge.", v.box(s.SizeMM), v.Volume(s.VolumeMM3), v.Area(s.AreaMM2), v.About(s.SharpEdgeMM))
	} else {
		p.say("", "%s, surface %s, %s of sharp edge.", v.box(s.SizeMM), v.Area(s.AreaMM2), v.About(s.SharpEdgeMM))
	}

	if len(s.InFile) > 1 {
		section(p, "Bodies in the file", s.InFile, v.fileBody)
	}
	section(p, "Openings", s.Openings, v.opening)
	section(p, "Inside corners, tightest first", tightest(s.Corners, 8), v.corner)
	if n := len(s.Corners) - 8; n > 0 {
		p.item("%s", v.more(n))
	}
	section(p, "Zones", s.Zones, v.zone)
	if len(s.Faces) > 0 {
		p.head("Faces")
		p.item("%s.", v.faces(s.Faces))
	}
	section(p, "In the file too, not measured", s.Beside, func(what string) string { return v.Say("%s.", what) })
	section(p, "Mended", s.Repairs, func(r fettle.Repair) string { return v.Sentence(r.Says) })
	section(p, "What to know", s.Warnings, v.Sentence)
	return p.String()
}

// more says that a list was cut short.
func (v voice) more(n int) string { return v.Count(n, "and 1 more.", "and %d more.") }

func (v voice) bodies(s fettle.Survey) string {
	switch {
	case s.Closed:
		return v.Count(s.Bodies, "one body, closed", "%d bodies, closed")
	}
	return v.Count(s.Bodies, "one body, not closed", "%d bodies, not closed")
}

// fileBody says one body of a model file: "2 lid, in hinge: 42.00 × 68.00 × 7.00
// mm, volume 12.1 cm³, measured here".
func (v voice) fileBody(b fettle.FileBody) string {
	name := b.Name
	if name == "" {
		name = v.Say("without a name")
	}
	if len(b.In) > 0 {
		name = v.Say("%s, in %s", name, b.In[len(b.In)-1])
	}
	x := b.Box
	said := []string{v.box([3]float64{x.X[1] - x.X[0], x.Y[1] - x.Y[0], x.Z[1] - x.Z[0]})}
	if b.Solid {
		said = append(said, v.Say("volume %s", v.Volume(b.VolumeMM3)))
	} else {
		said = append(said, v.Say("open surfaces"))
	}
	if !b.Taken {
		said = append(said, v.Say("left out"))
	}
	return v.Say("%d %s: %s.", b.Number, name, commas(said...))
}

// openingName is what an opening is, in a word or two.
func (v voice) openingName(o fettle.Opening) string {
	switch {
	case o.Form == "keyhole":
		return v.Say("keyhole")
	case o.Form == "groove":
		return v.Say("groove")
	case o.Form == "countersunk":
		return v.Say("countersunk hole")
	case o.Form == "counterbored":
		return v.Say("counterbored hole")
	case o.Form != "":
		return o.Form + " " + string(o.Kind)
	}
	switch o.Kind {
	case fettle.Hole:
		return v.Say("hole")
	case fettle.Slot:
		return v.Say("slot")
	case fettle.Pocket:
		return v.Say("pocket")
	case fettle.Gap:
		return v.Say("gap")
	}
	return string(o.Kind)
}

// opening says one opening: "hole-1: countersunk hole, 4.20 mm wide, 8.40 mm at its
// widest, through 7.00 mm; at X 0.00, Y 25.00, Z 7.00 mm".
func (v voice) opening(o fettle.Opening) string {
	said := []string{v.openingName(o), v.Say("%s wide", v.Length(o.WidthMM))}
	if o.LengthMM > 1.02*o.WidthMM && o.Kind != fettle.Hole {
		said = append(said, v.Say("%s long", v.Length(o.LengthMM)))
	}
	if o.WidestMM > 1.02*o.WidthMM && o.Form != "" {
		said = append(said, v.Say("%s at its widest", v.Length(o.WidestMM)))
	}
	if o.Through {
		said = append(said, v.Say("through %s", v.Length(o.DepthMM)))
	} else {
		said = append(said, v.Say("blind, %s deep", v.Length(o.DepthMM)))
	}
	if o.Kind != fettle.Hole && o.InsideMM > 0 {
		said = append(said, v.Say("inside radius %s", v.Length(o.InsideMM)))
	}
	is, at := commas(said...), v.place(o.At)
	if len(o.Profile) > 1 && narrows(o.Profile) {
		return v.Say("%s: %s; clear %s; at %s.", o.ID, is, v.profile(o.Profile), at)
	}
	return v.Say("%s: %s; at %s.", o.ID, is, at)
}

func tightest(cs []fettle.Corner, n int) []fettle.Corner {
	sorted := append([]fettle.Corner(nil), cs...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].RadiusMM < sorted[j].RadiusMM })
	return sorted[:min(n, len(sorted))]
}

func (v voice) corner(c fettle.Corner) string {
	said := []string{v.Say("sharp")}
	if c.RadiusMM > 0 {
		said[0] = v.Say("radius %s", v.Length(c.RadiusMM))
	}
	said = append(said, v.Say("%s long", v.Length(c.LengthMM)))
	if c.Opening != "" {
		said = append(said, v.Say("in %s", c.Opening))
	} else if c.Zone != "" {
		said = append(said, v.Say("on %s", c.Zone))
	}
	return v.Say("%s: %s; at %s.", c.ID, commas(said...), v.place(c.At))
}

// classOf is how a zone is judged.
func (v voice) classOf(c fettle.Class) string {
	switch c {
	case fettle.Show:
		return v.Say("show")
	case fettle.Plain:
		return v.Say("plain")
	case fettle.Hidden:
		return v.Say("hidden")
	}
	return string(c)
}

func (v voice) zone(z fettle.Zone) string {
	said := []string{v.Area(z.AreaMM2)}
	if z.SlopeDeg.P95 >= 0.5 {
		said = append(said, v.Say("slope %.0f° (95 %% under %.0f°)", z.SlopeDeg.P50, z.SlopeDeg.P95))
	}
	if z.ConcaveMM > 0 {
		said = append(said, v.Say("hollows down to radius %s", v.Length(z.ConcaveMM)))
	}
	if z.ConvexMM > 0 {
		said = append(said, v.Say("bulges down to radius %s", v.Length(z.ConvexMM)))
	}
	return v.Say("%s (%s): %s.", z.ID, v.classOf(z.Class), commas(said...))
}

// faces counts the faces by kind.
func (v voice) faces(fs []fettle.Face) string {
	n := map[fettle.FaceKind]int{}
	for _, f := range fs {
		n[f.Kind]++
	}
	var parts []string
	for _, k := range []fettle.FaceKind{fettle.PlaneFace, fettle.CylinderFace, fettle.ConeFace, fettle.SphereFace, fettle.TorusFace, fettle.FreeFace} {
		if n[k] > 0 {
			parts = append(parts, v.faceCount(k, n[k]))
		}
	}
	return v.List(parts)
}

func (v voice) faceCount(k fettle.FaceKind, n int) string {
	switch k {
	case fettle.PlaneFace:
		return v.Count(n, "1 plane", "%d planes")
	case fettle.CylinderFace:
		return v.Count(n, "1 cylinder", "%d cylinders")
	case fettle.ConeFace:
		return v.Count(n, "1 cone", "%d cones")
	case fettle.SphereFace:
		return v.Count(n, "1 sphere", "%d spheres")
	case fettle.TorusFace:
		return v.Count(n, "1 torus", "%d tori")
	}
	return v.Count(n, "1 free-form face", "%d free-form faces")
}
